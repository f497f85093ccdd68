"""Lists, counts and strange text as people read them, the same on paper and on the screen."""

import os
import re
import shlex
import subprocess
from collections.abc import Sequence

_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Controls, marks of direction, and what is no character: a terminal may obey them."""


def joined(words: Sequence[str]) -> str:
    """Return ``a, b and c``.

    >>> joined(["kelp", "slate", "butter"])
    'kelp, slate and butter'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


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
    """Return words as a command for the shell of this system.

    >>> quoted("inkaccord", "run", "my order")
    "inkaccord run 'my order'"
    """
    return subprocess.list2cmdline(arguments) if os.name == "nt" else shlex.join(arguments)
