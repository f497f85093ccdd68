"""Looking into objects that may not be what the standard says they are."""

from __future__ import annotations

from typing import Any

import pikepdf

BAD_OBJECT = (
    pikepdf.PdfError, RuntimeError,  # what qpdf can't follow, or was handed wrongly
    LookupError,  # an entry that is missing
    AttributeError, TypeError,  # an entry of another type
    ArithmeticError, ValueError,  # numbers that are none
)  # fmt: skip
"""What pikepdf and arithmetic raise on objects that are not what they should be."""


def word(name: Any) -> str:
    """Return a name object's text; its own spelling where that is no UTF-8."""
    try:
        return str(name)
    except UnicodeDecodeError:
        return str(name.unparse().decode("latin-1"))


def plain(name: Any) -> str:
    """Return a name object without its slash."""
    return word(name).removeprefix("/")


def objgen(thing: Any) -> tuple[int, int]:
    """Return the object number of an indirect object; (0, 0) for a direct one."""
    number: tuple[int, int] = getattr(thing, "objgen", (0, 0))
    return number


def entry(dictionary: Any, key: str) -> Any:
    """Return an entry of what should be a dictionary; None when it is missing or is not one."""
    if isinstance(dictionary, (pikepdf.Dictionary, pikepdf.Stream)):
        try:
            return dictionary.get(key)
        except TypeError:  # a key that is no UTF-8, which pikepdf lists but does not look up
            return dict(dictionary.items()).get(key)
    return None
