"""Tables in other dress: CSV and JSON with the columns of ISO 28178, and telling them apart."""

import json
import re
from typing import Any

from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.cgats import (
    LINE_END,
    MOST_CELLS,
    decode,
    lines_of,
    parse_cgats,
    too_much,
)
from inkaccord.sheets.reading.columns import (
    BUILD_COLUMNS,
    HOW_TO_NAME,
    ID_COLUMNS,
    LAB_COLUMNS,
    NO_COLUMNS,
    XYZ_COLUMNS,
    ColumnsTold,
    Keyword,
    Table,
    TableCell,
    check_told,
    column_names,
    digits,
    wavelength_of,
)

_MOST_FIGURES = 18
_SEPARATORS = ";\t,"
_KNOWN = {*ID_COLUMNS, *LAB_COLUMNS, *XYZ_COLUMNS, *(n for c in BUILD_COLUMNS.values() for n in c)}
_BEGIN = re.compile(r"^\s*BEGIN_DATA\b", re.M)


def read_tables(
    data: bytes, *, file: str = "", columns: ColumnsTold = NO_COLUMNS
) -> tuple[Table, ...]:
    """Read the tables of a CGATS text, CSV or JSON file, told apart by what is in it.

    ``columns`` are those that a person named. Raises OrderError with the place of the first
    mistake.
    """
    text = decode(data, file=file)
    if text.lstrip()[:1] in {"{", "["}:
        tables: tuple[Table, ...] = (parse_json(text, file=file, told=columns),)
    elif _BEGIN.search(LINE_END.sub("\n", text)):
        tables = parse_cgats(text, file=file, told=columns)
    else:
        tables = (parse_csv(text, file=file, told=columns),)
    for table in tables:
        check_told(table.columns, columns, file)
    return tables


def parse_csv(data: str | bytes, *, file: str, told: ColumnsTold) -> Table:
    """Read CSV: a row of column names, then one row a swatch.

    Semicolons, tabs or commas, or spaces where there are none; decimal commas beside all but
    commas. Lines before the names that
    begin with ``#`` may hold header entries, ``# SHEET_ID: K7Q-XM3``. Raises OrderError.
    """
    keywords: list[Keyword] = []
    lines = lines_of(data, file=file)
    for at, line in enumerate(lines):
        if line.lstrip().startswith("#"):
            name, colon, value = line.lstrip("# \t").partition(":")
            if colon:
                keywords.append(Keyword(name.strip().upper(), value.strip().strip('"')))
        elif line.strip(" \t;,"):
            return _csv_table(file, keywords, lines, at, told)
    raise OrderError.of("no-data", "the file is empty", place=Place(file=file or None))


def _csv_table(
    file: str, keywords: list[Keyword], lines: list[str], start: int, told: ColumnsTold
) -> Table:
    separator = next((mark for mark in _SEPARATORS if mark in lines[start]), None)
    if separator is None:  # spaces part them, as in what is copied off a screen
        separator, lines = "\t", ["\t".join(line.split()) for line in lines]
    names = _fields(lines[start], start + 1, separator)
    columns = column_names(tuple(cell.text for cell in names), told)
    if not any(name in _KNOWN or wavelength_of(name) for name in columns):
        raise OrderError.of(
            "no-header",
            "the first row names no column that is known; expected SAMPLE_ID, LAB_L LAB_A LAB_B, "
            "XYZ_X XYZ_Y XYZ_Z or SPECTRAL_NM380 and so on",
            place=Place(file=file or None, line=start + 1),
            hint=f"put the column names into the first row, or {HOW_TO_NAME}",
        )
    rows: list[tuple[TableCell, ...]] = []
    for number, line in enumerate(lines[start + 1 :], start=start + 2):
        if not line.strip(" \t;,"):
            continue
        cells = _fields(line, number, separator)
        spare = cells[len(columns) :]
        if len(cells) < len(columns) or any(cell.text for cell in spare):
            raise OrderError.of(
                "set-length",
                f"this row has {len(cells)} values, the first row names {len(columns)} columns",
                place=Place(file=file or None, line=number),
                hint="with decimal commas, separate the columns by semicolons or tabs",
            )
        rows.append(tuple(cells[: len(columns)]))
    return Table(file, columns, tuple(rows), tuple(keywords))


def _fields(line: str, number: int, separator: str) -> list[TableCell]:
    """Split one line, keeping the column at which each field begins."""
    mark = re.escape(separator)
    pattern = rf"\s*\"(?P<quoted>(?:[^\"]|\"\")*)\"\s*(?={mark}|$)|(?P<bare>[^{mark}]*)"
    cells: list[TableCell] = []
    at = 0
    while at <= len(line):
        match = re.compile(pattern).match(line, at)
        assert match is not None  # noqa: S101 -- the bare form matches anything, even nothing
        quoted = match["quoted"]
        text = match["bare"] if quoted is None else quoted.replace('""', '"')
        cells.append(TableCell(text.strip(), number, at + 1))
        at = match.end() + 1
    return cells


def parse_json(data: str | bytes, *, file: str, told: ColumnsTold) -> Table:
    """Read JSON: a list of rows, or an object with the rows in ``readings``.

    A row is an object with the columns of ISO 28178 as names. The other entries of the outer
    object are header entries (``"SHEET_ID": "K7Q-XM3"``). Raises OrderError.
    """
    try:
        content = json.loads(decode(data, file=file), parse_int=_whole)
    except RecursionError:
        raise OrderError.of(
            "bad-json", "its brackets stand in each other too deep", place=Place(file=file or None)
        ) from None
    except json.JSONDecodeError as problem:
        raise OrderError.of(
            "bad-json",
            f"this is not JSON: {problem.msg}",
            place=Place(file=file or None, line=problem.lineno, column=problem.colno),
        ) from None
    entries = content if isinstance(content, list) else content.get("readings")
    if not isinstance(entries, list) or not all(isinstance(row, dict) for row in entries):
        raise OrderError.of(
            "no-data",
            'expected a list of rows, or an object with a list called "readings", each row an '
            'object such as {"SAMPLE_ID": "B7", "LAB_L": 41.2, "LAB_A": -22.5, "LAB_B": 9.1}',
            place=Place(file=file or None),
        )
    names: list[str] = list(dict.fromkeys(name for row in entries for name in row))
    if len(names) * len(entries) > MOST_CELLS:
        raise too_much(f"{len(names):,} columns and {len(entries):,} rows", file)
    keywords = (
        [Keyword(str(key).upper(), str(value)) for key, value in content.items()]
        if isinstance(content, dict)
        else []
    )
    return Table(
        file,
        column_names(tuple(names), told),
        tuple(tuple(TableCell(_json_text(row.get(name))) for name in names) for row in entries),
        tuple(word for word in keywords if word.name != "READINGS"),
    )


def _whole(figures: str) -> int | float:
    """Return a whole number; one that nothing is counted in is not worth its figures."""
    return int(figures) if len(figures) < _MOST_FIGURES else float(figures)


def _json_text(value: Any) -> str:
    if value is None:
        return ""
    return digits(value) if isinstance(value, float) else str(value)
