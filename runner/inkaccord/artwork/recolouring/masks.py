"""Keep soft masks as they are, also where they share objects with what is printed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pikepdf

from inkaccord.pdf.entries import entry, objgen

_NOT_FOLLOWED = frozenset({"/Font", "/Parent", "/P", "/SMask", "/Metadata", "/PieceInfo", "/OC"})
_PACKING = frozenset({"/Length", "/Filter", "/DecodeParms"})

Number = tuple[int, int]


def masks_in(states: Any) -> list[Any]:
    """Return the soft-mask dictionaries of an ``/ExtGState`` resource table."""
    if not isinstance(states, pikepdf.Dictionary):
        return []
    found = [entry(state, "/SMask") for _, state in sorted(states.items())]
    return [one for one in found if isinstance(entry(one, "/G"), pikepdf.Stream)]


def reachable(roots: Iterable[Any]) -> set[Number]:
    """Return the numbers of the objects that content, resources or colour spaces lead to."""
    found: set[Number] = set()
    pending = list(roots)
    while pending:
        thing = pending.pop()
        number = objgen(thing)
        if number != (0, 0):
            if number in found:
                continue
            found.add(number)
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            pending += [value for key, value in thing.items() if key not in _NOT_FOLLOWED]
        elif isinstance(thing, pikepdf.Array):
            pending += list(thing)
    return found


def isolate(pdf: pikepdf.Pdf, masks: Iterable[Any], printed: Iterable[Any]) -> int:
    """Give each mask that shares objects with what is printed its own copies of them.

    Returns how many masks were. Afterwards whatever is printed can be rewritten in place.
    """
    ordinary = reachable(printed)
    copies: dict[Number, Any] = {}
    count = 0
    for mask in masks:
        if reachable([mask["/G"]]) & ordinary:
            mask["/G"] = _copied(pdf, mask["/G"], ordinary, copies)
            count += 1
    return count


def _copied(pdf: pikepdf.Pdf, thing: Any, shared: set[Number], copies: dict[Number, Any]) -> Any:
    """Return a deep copy; what is not shared, even below, stays the same object."""
    number = objgen(thing)
    if number != (0, 0):
        if number in copies:
            return copies[number]
        if not reachable([thing]) & shared:
            return thing
    if isinstance(thing, pikepdf.Stream):
        copy = pdf.make_stream(b"")
        copies[number] = copy
        packing: dict[str, Any] = {
            "filter": thing.get("/Filter"),
            "decode_parms": thing.get("/DecodeParms"),
        }
        copy.write(thing.read_raw_bytes(), **packing)
        for key, value in thing.items():
            if key not in _PACKING and value is not None:
                copy[key] = value if key in _NOT_FOLLOWED else _copied(pdf, value, shared, copies)
        return copy
    if isinstance(thing, pikepdf.Dictionary):
        whole = pikepdf.Dictionary()
        target = pdf.make_indirect(whole) if number != (0, 0) else whole
        if number != (0, 0):
            copies[number] = target
        for key, value in thing.items():
            if value is None:
                continue
            target[key] = value if key in _NOT_FOLLOWED else _copied(pdf, value, shared, copies)
        return target
    if isinstance(thing, pikepdf.Array):
        array = pikepdf.Array([_copied(pdf, one, shared, copies) for one in thing])
        if number == (0, 0):
            return array
        copies[number] = pdf.make_indirect(array)
        return copies[number]
    return thing
