"""Lists and counts as people read them, the same on paper and on the screen."""

from collections.abc import Sequence


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
