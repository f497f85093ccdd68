"""Keep soft masks as they are, also where they share objects with what is printed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import entry, holds_names, objgen, reached, unescaped

_NOT_FOLLOWED = frozenset({"/Parent", "/P", "/SMask", "/Metadata", "/PieceInfo", "/OC"})
_COLOURLESS = frozenset({"/Type0", "/Type1", "/MMType1", "/TrueType", "/OCG", "/OCMD"})
"""Kinds of typefaces that hold no colour, and of layers."""
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
    things = reached(roots, _NOT_FOLLOWED, set(), _is_colourless)
    return {objgen(thing) for _, thing in things} - {(0, 0)}


def _is_colourless(thing: Any) -> bool:
    return not {entry(thing, "/Subtype"), entry(thing, "/Type")}.isdisjoint(_COLOURLESS)


def give_resources(
    pdf: pikepdf.Pdf, mask: Any, resources: Any, read: Callable[[Any], bytes]
) -> None:
    """Give a mask's group that takes resources, or names, from its surroundings what it uses.

    So what is printed there can be rewritten, and names in it forgotten, without the mask.
    """
    group = mask["/G"]
    own = group.get("/Resources")
    lacks = used_of(resources, read(group), read, own)
    if isinstance(own, pikepdf.Dictionary):
        lacks = _lacking(own, lacks)
        if not lacks.keys():
            return
    # What has no number stands in the resources around it too, and will be rewritten there.
    lacks = _copied(pdf, lacks, set(), {})
    own = _merged(own, lacks) if isinstance(own, pikepdf.Dictionary) else lacks
    packing = {"filter": group.get("/Filter"), "decode_parms": group.get("/DecodeParms")}
    copy = pdf.make_stream(b"")
    copy.write(group.read_raw_bytes(), **packing)
    for key, value in group.items():
        if key not in _PACKING and value is not None:
            copy[key] = value
    copy["/Resources"] = own
    mask["/G"] = copy


def _lacking(own: pikepdf.Dictionary, used: pikepdf.Dictionary) -> pikepdf.Dictionary:
    """Return what of the resources around content is used in it and not in its own."""
    found = pikepdf.Dictionary()
    for category, table in used.items():
        known = entry(own, category)
        names = set(known.keys()) if isinstance(known, pikepdf.Dictionary) else set()
        lacks = {
            name: value
            for name, value in table.items()
            if name not in names and not name.startswith("/Default")
        }
        if lacks:
            found[category] = pikepdf.Dictionary(lacks)
    return found


def _merged(own: pikepdf.Dictionary, more: pikepdf.Dictionary) -> pikepdf.Dictionary:
    """Return resources with others added, whose names they lack."""
    found = pikepdf.Dictionary(dict(own.items()))
    for category, table in more.items():
        known = entry(own, category)
        tables = [*(known.items() if isinstance(known, pikepdf.Dictionary) else ()), *table.items()]
        found[category] = pikepdf.Dictionary(dict(tables))
    return found


def used_of(
    resources: Any, content: bytes, read: Callable[[Any], bytes], own: Any
) -> pikepdf.Dictionary:
    """Return the entries of resources whose names content uses, with the forms that it draws.

    ``own`` are the content's own resources, if any, in which names are looked for first.
    """
    pending, names = [(content, [own, resources])], set[str]()
    followed: set[Number] = set()
    while pending:
        text, chain = pending.pop()
        for name in set(names_in(text)):
            names.add(name)
            found = (entry(entry(one, "/XObject"), name) for one in chain)
            drawn = next((one for one in found if one is not None), None)
            if entry(drawn, "/Subtype") == "/Form" and objgen(drawn) not in followed:
                followed.add(objgen(drawn))
                pending.append((read(drawn), [entry(drawn, "/Resources"), *chain]))
    used = pikepdf.Dictionary()
    for category, table in sorted(resources.items()):
        if isinstance(table, pikepdf.Dictionary):
            kept = {name: table[name] for name in sorted(table.keys()) if name in names}
            if kept or category == "/ColorSpace":
                # Default colour spaces hold without being named.
                kept |= {n: table[n] for n in sorted(table.keys()) if n.startswith("/Default")}
                used[category] = pikepdf.Dictionary(kept)
    return used


_NAME = re.compile(rb"/[^\s()<>\[\]{}/%]+")


def names_in(content: bytes) -> Iterator[str]:
    """Yield everything in content that looks like a name."""
    for found in _NAME.findall(content):
        yield unescaped(found).decode("utf-8", "replace")


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


def _copied(
    pdf: pikepdf.Pdf, thing: Any, shared: set[Number], copies: dict[Number, Any], key: str = ""
) -> Any:
    """Return a deep copy; what is not shared, even below, stays the same object."""
    if _is_colourless(thing):
        return thing
    number = objgen(thing)
    if number != (0, 0):
        if number in copies:
            return copies[number]
        if not shared or not reachable([thing]) & shared:
            return thing
    if isinstance(thing, pikepdf.Stream):
        copy = pdf.make_stream(b"")
        copies[number] = copy
        packing: dict[str, Any] = {
            "filter": thing.get("/Filter"),
            "decode_parms": thing.get("/DecodeParms"),
        }
        copy.write(thing.read_raw_bytes(), **packing)
        for name, value in thing.items():
            if name not in _PACKING and value is not None:
                copy[name] = (
                    value if name in _NOT_FOLLOWED else _copied(pdf, value, shared, copies, name)
                )
        return copy
    if isinstance(thing, pikepdf.Dictionary):
        whole = pikepdf.Dictionary()
        target = pdf.make_indirect(whole) if number != (0, 0) else whole
        if number != (0, 0):
            copies[number] = target
        named = holds_names(thing, key)
        for name, value in thing.items():
            if value is not None:
                stays = name in _NOT_FOLLOWED and not named
                inner = "" if named else name
                target[name] = value if stays else _copied(pdf, value, shared, copies, inner)
        return target
    if isinstance(thing, pikepdf.Array):
        array = pikepdf.Array([_copied(pdf, one, shared, copies) for one in thing])
        if number == (0, 0):
            return array
        copies[number] = pdf.make_indirect(array)
        return copies[number]
    return thing
