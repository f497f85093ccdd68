"""ISO 28178 (CGATS.17) text that instruments export, as tables.

The reader takes the shapes that are met in practice: any line ending, tabs or spaces, quoted
text, decimal commas, comments, sets that run over several lines, empty cells between tabs,
several tables in one file, and header entries that no standard names.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.columns import (
    NO_COLUMNS,
    SPECTRAL_NM,
    SPECTRAL_VALUES,
    ColumnsTold,
    Keyword,
    Table,
    TableCell,
    column_names,
)

ORIGINATOR = "inkaccord"
SHEET_KEYWORD = "SHEET_ID"
PAIR_KEYWORD = "PAIR"
BOOK_KEYWORD = "BOOK_OF_COLOURS"
"""Marks a page of the studio's book."""

LINE_END = re.compile(r"\r\n|\r|\n")
_TOKEN = re.compile(r"\"(?P<double>[^\"]*)\"|'(?P<single>[^']*)'|(?P<comment>\#.*)|(?P<bare>\S+)")
_MARKS = re.compile(r"[\"'#]")
_BARE = re.compile(r"\S+")
_REPEATABLE = {SPECTRAL_NM, *SPECTRAL_VALUES}


MOST_BYTES = 8_000_000
MOST_LINES = 20_000
MOST_IN_LINE = 20_000
MOST_CELLS = 500_000
"""What a file of readings holds at most: a target of 5,000 patches with spectra is half of it."""


def decode(data: str | bytes, *, file: str = "") -> str:
    """Return a readings file's text: UTF-8 or UTF-16 by its mark, else as Western European.

    Raises OrderError for more than readings can be.
    """
    if len(data) > MOST_BYTES:
        raise too_much(f"it has {len(data) / 1e6:,.0f} MB", file)
    text = _text(data)
    if (cells := len(text.split()) + text.count(",") + text.count(";")) > MOST_CELLS:
        raise too_much(f"it has some {cells:,} values", file)
    return text


def lines_of(data: str | bytes, *, file: str = "") -> list[str]:
    """Return the lines of a readings file. Raises OrderError for more than readings can be."""
    lines = LINE_END.split(decode(data, file=file).rstrip("\0"))
    if len(lines) > MOST_LINES:
        raise too_much(f"it has {len(lines):,} lines", file)
    if (longest := max(map(len, lines))) > MOST_IN_LINE:
        raise too_much(f"one of its lines has {longest:,} characters", file)
    return lines


def too_much(what: str, file: str) -> OrderError:
    """Return the refusal of a file that holds more than readings can be."""
    return OrderError.of(
        "too-much",
        f"the file holds more than readings can be: {what}",
        place=Place(file=file or None),
        hint="is it the right file? Else cut it into one for each sheet",
    )


def _text(data: str | bytes) -> str:
    if isinstance(data, str):
        return data.removeprefix("\ufeff")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def parse_cgats(
    data: str | bytes, *, file: str = "", told: ColumnsTold = NO_COLUMNS
) -> tuple[Table, ...]:
    """Read every table of a CGATS text file.

    Raises OrderError with file, line and column when the text is no such file, when a count
    does not match, or when a set is not complete.
    """
    lines = lines_of(data, file=file)
    tables: list[Table] = []
    reader = _Lines(file, lines, told=told)
    while (table := _read_table(reader)) is not None:
        tables.append(table)
    if not tables:
        raise OrderError.of(
            "no-data",
            "there is no BEGIN_DATA in this file; expected ISO 28178 (CGATS.17) text",
            place=Place(file=file or None),
            hint="export the readings as CGATS text, or as CSV with the same columns",
        )
    return tuple(tables)


@dataclass
class _Lines:
    """The lines that are still to be read."""

    file: str
    lines: list[str]
    at: int = 0
    told: ColumnsTold = field(default_factory=dict)

    def __iter__(self) -> Iterator[tuple[str, list[TableCell]]]:
        while self.at < len(self.lines):
            self.at += 1
            text = self.lines[self.at - 1]
            if cells := self._cells(text, self.at):
                yield text, cells

    def _cells(self, text: str, line: int) -> list[TableCell]:
        if not _MARKS.search(text):  # nearly every line, and much faster
            return [TableCell(match[0], line, match.start() + 1) for match in _BARE.finditer(text)]
        cells: list[TableCell] = []
        for match in _TOKEN.finditer(text):
            kind = match.lastgroup
            if kind == "comment":
                break
            if kind == "bare" and match["bare"][0] in "\"'" and len(match["bare"]) > 1:
                raise self.wrong(
                    "open-quote",
                    "a quotation mark is opened and not closed on this line",
                    TableCell(text, line, match.start() + 1),
                )
            cells.append(TableCell(match[kind or 0], line, match.start() + 1))
        return cells

    def wrong(
        self, code: str, message: str, cell: TableCell, hint: str | None = None
    ) -> OrderError:
        place = Place(file=self.file or None, line=cell.line, column=cell.column)
        return OrderError.of(code, message, place=place, hint=hint)


@dataclass
class _Header:
    """What was said before the data of a table."""

    keywords: list[Keyword] = field(default_factory=list)
    columns: list[TableCell] = field(default_factory=list)
    fields: tuple[int, TableCell] | None = None
    sets: tuple[int, TableCell] | None = None


def _read_table(lines: _Lines) -> Table | None:
    header = _Header()
    begun: list[TableCell] | None = None
    for text, cells in lines:
        word = cells[0].text.upper()
        if word == "BEGIN_DATA_FORMAT":
            header.columns += _until(lines, cells, "END_DATA_FORMAT")
        elif word == "BEGIN_DATA":
            begun = cells
            break
        elif word in {"END_DATA", "END_DATA_FORMAT"}:
            raise lines.wrong("stray-end", f"{word} without its beginning", cells[0])
        elif word in {"NUMBER_OF_FIELDS", "NUMBER_OF_SETS"}:
            count = _count(lines, cells)
            if word == "NUMBER_OF_FIELDS":
                header.fields = count, cells[0]
            else:
                header.sets = count, cells[0]
        elif word != "KEYWORD" and len(cells) > 1:
            value = cells[1].text if len(cells) == 2 else text.split(maxsplit=1)[1].strip()
            header.keywords.append(Keyword(word, value))
    if begun is None:
        if header.columns:
            raise lines.wrong(
                "no-data",
                "the data format is given but BEGIN_DATA is missing",
                header.columns[0],
                hint="the file may have been cut short; export it again",
            )
        return None
    return _table(lines, header, begun)


def _count(lines: _Lines, cells: list[TableCell]) -> int:
    if len(cells) != 2 or not re.fullmatch(r"\d{1,9}", cells[1].text):
        raise lines.wrong("bad-count", f"{cells[0].text} needs one whole number", cells[0])
    return int(cells[1].text)


def _until(lines: _Lines, begun: list[TableCell], end: str) -> list[TableCell]:
    found = begun[1:]
    for _, cells in lines:
        for cell in cells:
            if cell.text.upper() == end:
                return found
            found.append(cell)
    raise lines.wrong(
        "no-end",
        f"{begun[0].text} is not closed by {end}",
        begun[0],
        hint="the file may have been cut short; export it again",
    )


def _table(lines: _Lines, header: _Header, begun: list[TableCell]) -> Table:
    columns = column_names(tuple(cell.text for cell in header.columns), lines.told)
    if not columns:
        raise lines.wrong("no-format", "data without BEGIN_DATA_FORMAT before it", begun[0])
    for cell, name in zip(header.columns, columns, strict=True):
        if name not in _REPEATABLE and columns.count(name) > 1:
            raise lines.wrong("column-twice", f"the column {name} is given twice", cell)
    if header.fields and header.fields[0] != len(columns):
        raise lines.wrong(
            "field-count",
            f"NUMBER_OF_FIELDS says {header.fields[0]}, the data format has {len(columns)}",
            header.fields[1],
        )
    rows = _sets(lines, begun, len(columns))
    if header.sets and header.sets[0] != len(rows):
        raise lines.wrong(
            "set-count",
            f"NUMBER_OF_SETS says {header.sets[0]}, the data hold {len(rows)}",
            header.sets[1],
            hint="the file may have been cut short or edited; export it again",
        )
    return Table(lines.file, columns, tuple(rows), tuple(header.keywords))


def _sets(lines: _Lines, begun: list[TableCell], width: int) -> list[tuple[TableCell, ...]]:
    """Read the data sets: one a line as a rule, else a stream of cells, ``width`` at a time."""
    by_line: list[list[TableCell]] = [begun[1:]] if begun[1:] else []
    for text, cells in lines:
        if cells[0].text.upper() == "END_DATA":
            break
        ended = cells[-1].text.upper() == "END_DATA"
        found = cells[:-1] if ended else _tabbed(text, cells[0].line, width) or cells
        by_line.append(found)
        if ended:
            break
    else:
        raise lines.wrong(
            "no-end",
            "BEGIN_DATA is not closed by END_DATA",
            begun[0],
            hint="the file may have been cut short; export it again",
        )
    if all(len(row) == width for row in by_line):
        return [tuple(row) for row in by_line]
    stream = [cell for row in by_line for cell in row]
    # A set that is merely wrapped fills whole sets; anything else is a line gone wrong.
    if len(stream) % width == 0 and all(len(row) < width for row in by_line):
        return [tuple(stream[at : at + width]) for at in range(0, len(stream), width)]
    odd = next(row for row in by_line if len(row) != width)
    raise lines.wrong(
        "set-length",
        f"this set has {len(odd)} values, the data format has {width} fields",
        odd[0],
    )


def _tabbed(text: str, line: int | None, width: int) -> list[TableCell] | None:
    """Split a line at its tabs, so that empty cells and names with spaces keep their place."""
    if text.count("\t") != width - 1 or width == 1 or "#" in text:
        return None
    parts = text.split("\t")
    cells: list[TableCell] = []
    column = 1
    for part in parts:
        cells.append(TableCell(part.strip().strip('"'), line, column))
        column += len(part) + 1
    return cells
