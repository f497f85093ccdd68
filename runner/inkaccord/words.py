"""Lists, counts, dates and strange text as people read them, on paper as on the screen."""

import datetime
import os
import re
import shlex
from collections.abc import Sequence

_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Controls, marks of direction, and what is no character: a terminal may obey them."""

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

_ON_ORDER = re.compile(r"\binkaccord [a-z]+ ORDER\b")


def joined(words: Sequence[str], last: str = "and") -> str:
    """Return ``a, b and c``; with another word before the last one where it is given.

    >>> joined(["kelp", "slate", "butter"])
    'kelp, slate and butter'
    >>> joined(["kelp", "slate"], "or")
    'kelp or slate'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def day(date: datetime.date, *, weekday: bool = False) -> str:
    """Return ``6 November 2026``, the same in every locale; with the weekday where asked for."""
    text = f"{date.day} {_MONTHS[date.month - 1]} {date.year}"
    return f"{_DAYS[date.weekday()]}, {text}" if weekday else text


def thousands(number: int) -> str:
    """Return ``12 500`` with a thin gap that doesn't break."""
    return f"{number:,}".replace(",", "\u202f")


def plural(number: int, one: str, many: str = "") -> str:
    """Return a noun for a number of things, ``many`` where it isn't formed as usual.

    >>> plural(1, "page"), plural(3, "page"), plural(2, "swatch"), plural(0, "copy", "copies")
    ('page', 'pages', 'swatches', 'copies')
    """
    return one if number == 1 else many or one + ("es" if one.endswith("ch") else "s")


def counted(number: int, one: str, many: str = "") -> str:
    """Return ``1 page`` or ``3 pages``, thousands set apart."""
    return f"{thousands(number)} {plural(number, one, many)}"


def visible(text: str) -> str:
    r"""Return text in which what a terminal would obey, or not show, can be seen.

    >>> print(visible("red\x1b[31m"))
    red\x1b[31m
    """
    return _UNSEEN.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


def quoted(*arguments: str) -> str:
    """Return words as a command for the shell in use.

    >>> quoted("inkaccord", "run", "my order")
    "inkaccord run 'my order'"
    """
    quote = _for_windows if os.name == "nt" and "MSYSTEM" not in os.environ else shlex.quote
    return " ".join(quote(word) for word in arguments)


_PLAIN = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.:/\\=+-]*|--?[a-z][a-z-]*|\.{1,2}")
"""What both shells of Windows take as written."""


def about_order(text: str, words: Sequence[str]) -> str:
    """Return text whose commands name an order where they said ORDER, as in a record.

    >>> about_order("then: inkaccord sent ORDER studio", ["my order", "--out", "made"])
    "then: inkaccord sent 'my order' --out made studio"
    """
    named = quoted(*words)
    return _ON_ORDER.sub(lambda found: f"{found[0].removesuffix('ORDER')}{named}", text)


def _for_windows(word: str) -> str:
    """Return a word for the command prompt or, which sets no PROMPT (from memory), PowerShell.

    The prompt puts a variable's value in the place of %ITS NAME% even in quotes, and has no means
    against it that works in a line typed by hand.
    """
    if _PLAIN.fullmatch(word):
        return word
    if "PROMPT" in os.environ:
        inner = re.sub(r'(\\*)("|$)', lambda found: found[1] * 2 + found[2] * 2, word)
        return f'"{inner}"'
    return "'" + re.sub("(['\u2018-\u201b])", r"\1\1", word) + "'"
