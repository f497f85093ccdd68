"""Whether soft masks are still what they were: they hold no colour of the print.

Every mask is followed from where it is set, with the resources of its surroundings where it has
none of its own, and all that it leads to is compared by value.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.errors import FileError
from inkaccord.pdf.entries import entry, holds_names, objgen
from inkaccord.pdf.page_objects import inherited
from inkaccord.pdf.streams import StreamReader

_PACKING = frozenset({"/Length", "/Filter", "/DecodeParms", "/Resources"})
_NOT_FOLLOWED = frozenset(
    {"/Parent", "/P", "/SMask", "/Metadata", "/PieceInfo", "/OC", "/StructParents"}
)
_NAME = re.compile(rb"/[^\s()<>\[\]{}/%]+")
_CODE = re.compile(rb"#([0-9A-Fa-f]{2})")

Number = tuple[int, int]
_Around = tuple[tuple[Any, ...], object]
"""The resources round a content stream, from outside in, and what tells them from others."""


class Masks:
    """The masks of one file, page by page."""

    def __init__(self, streams: StreamReader) -> None:
        self._streams = streams
        self._seen: set[object] = set()
        self._known: dict[object, bytes] = {}

    def on(self, page: Any) -> frozenset[bytes]:
        """Return the digests of a page's masks: pages with the same have the same masks."""
        self._seen.clear()
        digests = set(self._of_resources(inherited(page, "/Resources"), page))
        for annotation in _values(page.get("/Annots")):
            for look in _values(entry(annotation, "/AP")):
                for one in [look] if isinstance(look, pikepdf.Stream) else _values(look):
                    digests.update(self._of_resources(entry(one, "/Resources"), one))
        return frozenset(digests)

    def _of_resources(self, resources: Any, owner: Any) -> Iterator[bytes]:
        number = objgen(resources)
        if not isinstance(resources, pikepdf.Dictionary) or number in self._seen:
            return
        if number != (0, 0):
            self._seen.add(number)
        for state in _values(resources.get("/ExtGState")):
            group = entry(entry(state, "/SMask"), "/G")
            if isinstance(group, pikepdf.Stream):
                key = number if number != (0, 0) else objgen(owner)
                yield self._digest(group, ((resources,), key), ())
        for category in ("/XObject", "/Pattern", "/Font"):
            for one in _values(resources.get(category)):
                if objgen(one) not in self._seen:
                    self._seen.add(objgen(one))
                    yield from self._of_resources(entry(one, "/Resources"), one)

    # -- digests ----------------------------------------------------------------------------

    def _digest(
        self, thing: Any, around: _Around, active: tuple[Number, ...], key: str = ""
    ) -> bytes:
        """Return the digest of an object and of all that it leads to, each object once."""
        number = objgen(thing)
        if number == (0, 0):
            return hashlib.sha256(b"".join(self._parts(thing, around, active, key))).digest()
        if number in active:
            return b"itself"
        place = (number, around[1])
        if place not in self._known:
            parts = self._parts(thing, around, (*active, number), key)
            self._known[place] = hashlib.sha256(b"".join(parts)).digest()
        return self._known[place]

    def _parts(
        self, thing: Any, around: _Around, active: tuple[Number, ...], key: str
    ) -> Iterator[bytes]:
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            named = holds_names(thing, key)
            without = frozenset() if named else _NOT_FOLLOWED
            if isinstance(thing, pikepdf.Stream):
                without |= _PACKING
            for name in sorted(set(thing.keys()) - without):
                yield name.encode()
                yield self._digest(entry(thing, name), around, active, "" if named else name)
        if isinstance(thing, pikepdf.Stream):
            data = self._read(thing)
            yield b"stream %d " % len(data) + data
            if thing.get("/Subtype") == "/Form" or thing.get("/PatternType") == 1:
                yield from self._resources(thing, data, around, active)
        elif isinstance(thing, pikepdf.Array):
            yield b"array %d" % len(thing)
            for one in thing:
                yield self._digest(one, around, active)
        elif not isinstance(thing, pikepdf.Dictionary):
            yield repr(thing).encode()

    def _resources(
        self, thing: Any, data: bytes, around: _Around, active: tuple[Number, ...]
    ) -> Iterator[bytes]:
        """Yield what content names in its own resources, or in those around it that they lack."""
        own = entry(thing, "/Resources")
        if isinstance(own, pikepdf.Dictionary):
            around = ((*around[0], own), (objgen(thing), around[1]))
        names = {
            _CODE.sub(lambda code: bytes([int(code[1], 16)]), name).decode("utf-8", "replace")
            for name in _NAME.findall(data)
        }
        named = {
            (category, name): value
            for resources in around[0]
            for category, table in resources.items()
            if isinstance(table, pikepdf.Dictionary)
            for name, value in table.items()
            if name in names or (name.startswith("/Default") and resources is around[0][-1])
        }
        for (category, name), value in sorted(named.items(), key=lambda one: one[0]):
            yield f"{category}{name}".encode()
            yield self._digest(value, around, active)

    def _read(self, stream: Any) -> bytes:
        try:
            return self._streams.read(stream)
        except FileError:
            return bytes(stream.read_raw_bytes())


def _values(table: Any) -> list[Any]:
    if isinstance(table, pikepdf.Array):
        return list(table)
    return (
        [one for _, one in sorted(table.items())] if isinstance(table, pikepdf.Dictionary) else []
    )
