"""Numbers and dates as people write them, and values shown back to them.

What can be meant in one way only is read. What can't is an error that says both ways: a wrong
guess at a date or a thousand would be printed before anyone sees it.
"""

import datetime
import re
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

_NUMBER = re.compile(r"[-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(?:[,' \u00a0\u2009\u202f]\d{3})+")
_DATE_PARTS = re.compile(r"(\d{1,4})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{1,4})")
_DAY_FIRST = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]+)\.?,?\s+(\d{4})", re.I)
_MONTH_FIRST = re.compile(r"([a-z]+)\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", re.I)
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_LARGEST = 1e9
EXPECTED_DATE = "write a date as year-month-day, such as 2026-11-27"


def plain(text: str) -> str:
    """Return a text without what pasting brings along: curly quotes round it, long minus signs."""
    return text.replace("\u2212", "-").strip(" \t\n\u00a0\u2009\u202f“”„‟‘’‚\"'")


def number(text: str) -> float:
    """Read ``2.5``, ``2,5`` or ``−3``. Raises ValueError for what can be read in two ways."""
    given = plain(text)
    if _THOUSANDS.fullmatch(given) and given.count(",") == 1 and not re.search(r"[^-+\d,]", given):
        raise ValueError(
            f"'{given}' can be {given.replace(',', '')} or {given.replace(',', '.')}: "
            "write it without the comma, or with a point"
        )
    if not _NUMBER.fullmatch(given):
        raise ValueError(f"{shown(text)} is not a number: expected one such as 2.5")
    return _sensible(given)


def whole(text: str) -> int:
    """Read ``60``, ``1,000`` or ``1 000``. Raises ValueError for anything between two numbers."""
    given = plain(text)
    if _THOUSANDS.fullmatch(given):
        given = re.sub(r"[^-+\d]", "", given)
    if re.fullmatch(r"[-+]?\d+", given):
        return int(_sensible(given))
    if re.fullmatch(r"[-+]?[1-9]\d{0,2}\.000", given):
        raise ValueError(f"'{given}' can be {given.replace('.', '')} or {given[:-4]}: write which")
    raise ValueError(f"{shown(text)} is not a whole number: expected one such as 60")


def percent(text: str) -> float:
    """Read ``5%``, ``5 %`` or ``5``, in percent. Raises ValueError."""
    return number(plain(text).removesuffix("%"))


def numbers(text: str, count: int) -> tuple[float, ...]:
    """Read ``42 58 30``, ``42, 58, 30``, ``42,5 58,0 30`` or ``42/58/30``.

    A comma between digits parts two numbers or stands in one: whichever gives ``count`` of them.
    Gives more or fewer where neither does. Raises ValueError for what holds no numbers.
    """
    given = plain(text).replace("%", " ")
    decimal = [part for part in re.split(r"[\s/;|]+|,(?=\s|$)", given) if part]
    if len(decimal) != count or not all(_NUMBER.fullmatch(part) for part in decimal):
        decimal = [part for part in re.split(r"[\s/;|,]+", given) if part]
    if not decimal or not all(_NUMBER.fullmatch(part) for part in decimal):
        raise ValueError(f"{shown(text)} holds more than numbers")
    return tuple(map(_sensible, decimal))


def _sensible(given: str) -> float:
    """Return the number that a text of figures is. Raises ValueError for one beyond all measure."""
    found = float(given.replace(",", "."))
    if abs(found) > _LARGEST:
        raise ValueError(f"{shown(given)} is more than anything here is counted or measured in")
    return found


def date(text: str) -> datetime.date:
    """Read ``2026-11-27``, ``27.11.2026``, ``11/27/2026``, ``27 Nov 2026`` or ``Nov 27, 2026``.

    Raises ValueError for what is no date, and for days that can be two, such as ``05.11.2026``.
    """
    given = plain(text)
    if re.fullmatch(r"\d{8}", given):
        given = f"{given[:4]}-{given[4:6]}-{given[6:]}"
    days = list(dict.fromkeys(_days(given)))
    if len(days) == 1:
        return days[0]
    if days:
        ways = " or ".join(f"{day.day} {_MONTHS[day.month - 1].title()} {day.year}" for day in days)
        raise ValueError(
            f"'{given}' can be {ways}: write {' or '.join(day.isoformat() for day in days)}"
        )
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", given):
        raise ValueError(f"'{given}' is a day that no calendar has: {EXPECTED_DATE}")
    raise ValueError(f"{shown(text)} is not a date: {EXPECTED_DATE}")


def _days(given: str) -> Iterator[datetime.date]:
    """Yield the days that a text can mean."""
    spelt = _DAY_FIRST.fullmatch(given)
    if spelt:
        yield from _day(int(spelt[3]), _month(spelt[2]), int(spelt[1]))
    spelt = _MONTH_FIRST.fullmatch(given)
    if spelt:
        yield from _day(int(spelt[3]), _month(spelt[1]), int(spelt[2]))
    parts = _DATE_PARTS.fullmatch(given)
    if parts:
        first, second, third = int(parts[1]), int(parts[3]), int(parts[4])
        if len(parts[1]) == 4:
            yield from _day(first, second, third)
        elif len(parts[4]) == 4:
            yield from _day(third, second, first)
            yield from _day(third, first, second)


def _month(word: str) -> int:
    """Return the number of a month by its name or the first three letters of it, else 0."""
    found = [
        n for n, month in enumerate(_MONTHS, 1) if len(word) >= 3 and month.startswith(word.lower())
    ]
    return found[0] if len(found) == 1 else 0


def _day(year: int, month: int, day: int) -> Iterator[datetime.date]:
    with suppress(ValueError):
        yield datetime.date(year, month, day)


_SHOWN = 40


def shown(value: Any) -> str:
    """Return a value of an order as its writer knows it, cut to a length."""
    text = _shown(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f"'{value}'"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_bare(it)}" for key, it in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_bare(it) for it in value) + "]"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _bare(value: Any) -> str:
    return value if isinstance(value, str) else _shown(value)
