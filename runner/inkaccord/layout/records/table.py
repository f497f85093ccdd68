"""A table of records: a CSV file with a line for each copy, and every mistake in it in one go."""

import codecs
import csv
import io
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inkaccord.beginnings import head_of, what_begins
from inkaccord.diagnostics import Diagnostic, Place, error, first_few
from inkaccord.errors import OrderError
from inkaccord.words import counted, joined, thousands
from inkaccord.written import shown

MOST_RECORDS = 100_000
"""Lines that are taken. Common practice, no source: more is a job for a mailing house."""
TOLD = 20
"""Mistakes of a table that are told one by one."""
_SEPARATORS = "\t,;"
"""The first stands for none: a table of one column may have commas in its cells."""
_SAVE_AGAIN = "save it from the spreadsheet as 'CSV UTF-8'"


@dataclass(frozen=True)
class Record:
    """One line of a table: what stands in which column, and where in the file."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True)
class RecordTable:
    """A table of records, as its file's name says."""

    name: str
    columns: tuple[str, ...]
    records: tuple[Record, ...]


def read_table(data: bytes, name: str) -> RecordTable:
    """Read a CSV file: names of columns first, then a line for each record.

    It is in UTF-8, or in UTF-16 with its mark. Commas, semicolons or tabs part the cells, whichever
    the first line has most of. Empty lines are left out. Letters are composed (Unicode normal form
    C), so that an é is one letter however it was typed.

    Raises
    ------
    OrderError
        With every mistake, each with its line.
    """
    lines = _rows(_text(data, name), name)
    line, head = next(lines, (1, []))
    columns = _columns(line, head, name)
    findings: list[Diagnostic] = []
    records: list[Record] = []
    for line, cells in lines:
        if not any(cells):
            continue
        # A spreadsheet adds empty cells.
        row = cells if any(cells[len(columns) :]) else cells[: len(columns)]
        if len(row) != len(columns):
            findings.append(_ragged(len(row), len(columns), Place(file=name, line=line)))
        elif len(records) < MOST_RECORDS:
            records.append(Record(line, dict(zip(columns, row, strict=True))))
        else:
            findings.append(_too_many(Place(file=name, line=line)))
            break
    if findings:
        raise OrderError(first_few(findings, TOLD, "mistakes"))
    return RecordTable(name, columns, tuple(records))


def _text(data: bytes, name: str) -> str:
    marked = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))  # as spreadsheets mark it
    try:
        text = data.decode("utf-16" if marked else "utf-8-sig")
        return unicodedata.normalize("NFC", text)
    except UnicodeDecodeError as problem:
        if other := what_begins(head_of(data)):
            raise OrderError.of(
                "table-encoding",
                f"it is {other}, and no table",
                place=Place(file=name),
                hint=_SAVE_AGAIN,
            ) from problem
        line = data.count(b"\n", 0, problem.start) + 1
        raise OrderError.of(
            "table-encoding",
            "is not in UTF-8: a letter with an accent would come out wrong",
            place=Place(file=name, line=line),
            hint=_SAVE_AGAIN,
        ) from problem


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield every row with the line that it begins on, blanks round its cells taken off."""
    first = text.partition("\n")[0]
    counts = Counter(letter for letter in first if letter in _SEPARATORS)
    separator = max(_SEPARATORS, key=lambda it: counts[it])
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    try:
        for row in rows:
            yield line, [cell.strip() for cell in row]
            line = rows.line_num + 1
    except csv.Error as problem:
        raise OrderError.of(
            "table-row",
            "a cell that begins here can't be read: its quotation marks don't close, something "
            "stands behind the second of them, or it is longer than any cell",
            place=Place(file=name, line=line),
            hint='a quotation mark inside a cell is written twice: "the ""Heron"" boat"',
        ) from problem


def _columns(line: int, head: list[str], name: str) -> tuple[str, ...]:
    while head and not head[-1]:
        head = head[:-1]  # columns that a spreadsheet adds
    place = Place(file=name, line=line)
    twice = [column for column, times in Counter(head).items() if times > 1]
    if not head or "" in head:
        raise OrderError.of(
            "table-head",
            "the first line has to name every column",
            place=place,
            hint="such as: name,street,town",
        )
    if twice:
        raise OrderError.of(
            "table-head",
            f"{joined([shown(it) for it in twice])} names more than one column",
            place=place,
            hint="give every column a name of its own",
        )
    return tuple(head)


def _ragged(cells: int, columns: int, place: Place) -> Diagnostic:
    return error(
        "table-row",
        f"has {counted(cells, 'cell')}, and the table {counted(columns, 'column')}",
        place=place,
        hint="a cell that holds the character that parts cells goes in quotation marks",
    )


def _too_many(place: Place) -> Diagnostic:
    return error(
        "table-too-long",
        f"more than {thousands(MOST_RECORDS)} records",
        place=place,
        hint="split the table, and order a piece for each part",
    )
