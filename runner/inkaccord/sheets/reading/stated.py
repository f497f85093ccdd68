"""What a readings file says about itself: which sheet, under which conditions, when."""

import datetime
import re
from collections.abc import Sequence
from typing import Literal, NamedTuple, cast

from inkaccord.colour.conditions import Backing, Conditions, MeasurementMode
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.cgats import ORIGINATOR, SHEET_KEYWORD
from inkaccord.sheets.reading.columns import Table
from inkaccord.today import today

# The header entries of ISO 28178 that describe the measurement, and names that are met beside them.
_ABOUT_MODE = (
    "MEASUREMENT_CONDITION",
    "MEASUREMENT_CONDITIONS",
    "MEASUREMENT_SOURCE",
    "MEASUREMENT_MODE",
    "FILTER",
    "INSTRUMENTATION",
    "PRINT_CONDITIONS",
)
_ABOUT_BACKING = ("SAMPLE_BACKING", "BACKING")
_ABOUT_LIGHT = (
    "WEIGHTING_FUNCTION",
    "ILLUMINANT",
    "OBSERVER",
    "INSTRUMENTATION",
    "MEASUREMENT_SOURCE",
    "MEASUREMENT_CONDITION",
    "PRINT_CONDITIONS",
)
_ELSEWHERE = datetime.timedelta(days=1)
"""How far ahead a day may be in another part of the world."""
_DATES = ("READ_ON", "MEASUREMENT_DATE", "DATE")

_ISO_DATE = re.compile(r"\b(?P<year>\d{4})-(?P<month>\d{2})-(?P<day>\d{2})\b")
_WORDY_DATE = re.compile(
    r"\b(?P<month>[A-Z][a-z]{2})[a-z]*\.?\s+(?P<day>\d{1,2})\b.*\b(?P<year>\d{4})\b"
)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MODE = re.compile(r"\bM([0-3])\b")
_UV_EXCLUDED = re.compile(r"\b(?:uv[- ]?cut|uv[- ]?excluded|no[- ]?uv)\b", re.I)
_POLARISED = re.compile(r"\bpol(?:ari[sz]ed|ari[sz]ation)?\b", re.I)
_NAMED_LIGHT = re.compile(r"\billuminant\W+([A-Z]\w*)", re.I)
_BARE_LIGHT = re.compile(r"\b(D50|D55|D65|D75|FL?\d{1,2})\b", re.I)
_OBSERVER = re.compile(r"\b(2|10)\s*(?:°|deg)|\bobserver\W+(2|10)\b", re.I)
_BACKING = re.compile(r"\b(black|white)\s+back", re.I)


class Stated(NamedTuple):
    """What the headers of a file's tables say, None or empty where they are silent."""

    sheet: str | None
    conditions: Conditions
    device: str
    read_on: datetime.date | None
    findings: tuple[Diagnostic, ...] = ()


def stated(tables: Sequence[Table]) -> Stated:
    """Return what a file says about itself.

    Raises OrderError when its tables, or two entries of one, state different conditions:
    such readings can't stand beside each other.
    """
    sheet = next((id_ for table in tables if (id_ := _sheet_id(table))), None)
    device = next((d for table in tables if (d := table.keyword("INSTRUMENTATION"))), "")
    # CREATED is the day of reading, except in our own file, where it is the sheet's date.
    ours = any(table.keyword("ORIGINATOR") == ORIGINATOR for table in tables)
    names = _DATES if ours else (*_DATES, "CREATED")
    dates = (parse_date(table.keyword(name)) for name in names for table in tables)
    read_on = next((date for date in dates if date), None)
    findings: tuple[Diagnostic, ...] = ()
    if read_on is not None and read_on > today() + _ELSEWHERE:
        findings = (_day_to_come(read_on, tables[0].file),)
        read_on = None
    return Stated(sheet, _conditions(tables), device, read_on, findings)


def _day_to_come(day: datetime.date, file: str) -> Diagnostic:
    return warning(
        "day-to-come",
        f"the file says that it was read on {day}, which is still to come: that day is not used",
        place=Place(file=file or None),
        hint="set the clock of the instrument or its computer; '--on DAY' tells when it was read",
    )


def _sheet_id(table: Table) -> str | None:
    column = table.index(SHEET_KEYWORD)
    if column is not None and table.rows:
        ids = {row[column].text for row in table.rows}
        if len(ids) > 1:
            raise OrderError.of(
                "wrong-sheet",
                f"the rows are of several sheets: {', '.join(sorted(ids))}",
                place=Place(file=table.file or None),
                hint="record one sheet at a time",
            )
        return ids.pop() or None
    return table.keyword(SHEET_KEYWORD)


def _conditions(tables: Sequence[Table]) -> Conditions:
    file = tables[0].file
    mode = _one(file, "measurement condition", [m for t in tables for m in _modes(t)])
    backing = _one(file, "backing", [b for t in tables for b in _backings(t)])
    light = _one(file, "illuminant", [i for t in tables for i in _lights(t)])
    observer = _one(file, "observer", [o for t in tables for o in _observers(t)])
    return Conditions(
        illuminant=light or "D50",
        observer=cast("Literal['2', '10']", observer or "2"),
        mode=cast("MeasurementMode | None", mode),
        backing=cast("Backing | None", backing),
    )


def _one(file: str, what: str, said: list[str]) -> str | None:
    different = sorted(set(said))
    if len(different) > 1:
        raise OrderError.of(
            "mixed-conditions",
            f"the file states more than one {what}: {' and '.join(different)}; readings under "
            "different conditions cannot be compared",
            place=Place(file=file or None),
            hint="export one measurement at a time",
        )
    return different[0] if different else None


def _texts(table: Table, names: tuple[str, ...]) -> list[str]:
    return [entry.value for entry in table.keywords if entry.name in names]


def _modes(table: Table) -> list[str]:
    found: list[str] = []
    for text in _texts(table, _ABOUT_MODE):
        found += [f"M{digit}" for digit in _MODE.findall(text)]
    for text in _texts(table, ("FILTER",)):
        # ISO 13655: M2 shuts ultraviolet out, M3 adds polarisation.
        if _UV_EXCLUDED.search(text):
            found.append("M2")
        elif _POLARISED.search(text):
            found.append("M3")
    return found


def _backings(table: Table) -> list[str]:
    found = [text.strip().lower() for text in _texts(table, _ABOUT_BACKING)]
    short = {"wb": "white", "bb": "black"}
    named = [short.get(text, text.removesuffix("backing").strip()) for text in found]
    for text in _texts(table, ("INSTRUMENTATION", "PRINT_CONDITIONS", *_ABOUT_BACKING)):
        named += [word.lower() for word in _BACKING.findall(text)]
    return [word for word in named if word in {"white", "black"}]


def _lights(table: Table) -> list[str]:
    found: list[str] = []
    for text in _texts(table, _ABOUT_LIGHT):
        named = _NAMED_LIGHT.search(text)
        found += [named[1].upper()] if named else [w.upper() for w in _BARE_LIGHT.findall(text)]
    alone = (text.strip().upper() for text in _texts(table, ("ILLUMINANT",)))
    found += [text for text in alone if text and text not in found]
    return found


def _observers(table: Table) -> list[str]:
    found = [
        one or two for text in _texts(table, _ABOUT_LIGHT) for one, two in _OBSERVER.findall(text)
    ]
    alone = (text.strip() for text in _texts(table, ("OBSERVER",)))
    return found + [text for text in alone if text in {"2", "10"}]


def parse_date(text: str | None) -> datetime.date | None:
    """Return a date written as ``2026-03-14`` or ``Sat Mar 14 16:12:41 2026``, or None.

    Dates in figures alone (3/4/26) are left unread: which is the month differs by country.
    """
    for pattern in (_ISO_DATE, _WORDY_DATE):
        if match := pattern.search(text or ""):
            month = match["month"]
            number = _MONTHS.index(month) + 1 if month in _MONTHS else 0
            try:
                return datetime.date(int(match["year"]), number or int(month), int(match["day"]))
            except ValueError:
                return None
    return None
