"""Looking into objects that may not be what the standard says they are."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Any

import pikepdf

BAD_OBJECT = (
    pikepdf.PdfError, RuntimeError,  # what qpdf can't follow, or was handed wrongly
    LookupError,  # an entry that is missing
    AttributeError, TypeError,  # an entry of another type
    ArithmeticError, ValueError,  # numbers that are none
)  # fmt: skip
"""What pikepdf and arithmetic raise on objects that are not what they should be."""

_CODE = re.compile(rb"#([0-9A-Fa-f]{2})")


def unescaped(name: bytes) -> bytes:
    """Return a written name with bytes in the place of their codes (ISO 32000-2, 7.3.5)."""
    return _CODE.sub(lambda code: bytes.fromhex(code[1].decode()), name)


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


_OF_NAMES = frozenset(
    {"/ColorSpace", "/ExtGState", "/Font", "/Pattern", "/Properties", "/Shading", "/XObject"}
)
"""Entries whose dictionaries hold resources under names that anybody may choose."""


def holds_names(thing: Any, key: str) -> bool:
    """Tell whether an object that was met by a key holds resources by their names."""
    is_plain = isinstance(thing, pikepdf.Dictionary) and not isinstance(thing, pikepdf.Stream)
    return key in _OF_NAMES and is_plain and "/ShadingType" not in thing


def links(thing: Any, key: str, without: Collection[str]) -> Iterator[tuple[str, Any]]:
    """Return the objects that one leads to, each with its key; not by the keys ``without``.

    Numbers are none: of a typeface's widths there are hundreds.

    ``key`` is the one by which the object itself was met: in a table of resources keys are names,
    and a pattern may well be called ``/P``.
    """
    below: Iterable[tuple[str, Any]] = ()
    if isinstance(thing, pikepdf.Array):
        below = ((key, one) for one in thing)
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        named = holds_names(thing, key)
        below = (
            ("" if named else name, value)
            for name, value in thing.items()
            if named or name not in without
        )
    return ((name, value) for name, value in below if isinstance(value, pikepdf.Object))


def reached(
    roots: Iterable[Any],
    without: Collection[str],
    seen: set[tuple[int, int]],
    ends: Callable[[Any], bool] = lambda _: False,
) -> Iterator[tuple[str, Any]]:
    """Yield objects and all that they lead to by :func:`links`, each with its key.

    Those with a number come once: not what was ``seen`` before, which takes them in. What ``ends``
    a way does not come, nor what it leads to.
    """
    pending = [("", root) for root in roots]
    while pending:
        key, thing = pending.pop()
        number = objgen(thing)
        if number in seen or ends(thing):
            continue
        if number != (0, 0):
            seen.add(number)
        yield key, thing
        pending += links(thing, key, without)
