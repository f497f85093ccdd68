"""Which pages of two files are the same to the byte, with all that they draw."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import objgen
from inkaccord.pdf.page_objects import content_streams, inherited
from inkaccord.pdf.page_source import PageSource, in_pairs

_INHERITED = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
"""What a page may have from the nodes above it (ISO 32000-2, 7.7.3.4)."""


def same_pages(old: PageSource, new: PageSource, without: Collection[int] = ()) -> Iterator[int]:
    """Yield the numbers, from 1, of the pages that are the same in two files, but for some.

    What can't be told in a moment, such as objects that hold each other, counts as different.
    """
    before, after = _Digests(old), _Digests(new)
    for number, one, other in in_pairs(old, new):
        if number in without:
            continue
        digest = before.of_page(one.obj)
        if digest is not None and digest == after.of_page(other.obj):
            yield number


class _Digests:
    """Digests of one file's objects; None for what holds itself."""

    def __init__(self, source: PageSource) -> None:
        self._pages = source.numbers()
        self._known: dict[tuple[int, int], bytes | None] = {}

    def of_page(self, page: Any) -> bytes | None:
        """Return the digest of a page and of all that it draws with."""
        own = {key: page[key] for key in page if key not in {"/Parent", "/Contents"}}
        drawn = content_streams(page.get("/Contents"))
        try:
            # Contents are not kept: hardly a page has those of another.
            contents = _digest_of_all(b"contents", [self._anew(one) for one in drawn])
            entries = {**own, **{key: inherited(page, key) for key in _INHERITED}}
            return _digest_of_all(b"page", [contents, self._of_entries(entries)])
        except RecursionError:
            return None

    def _of(self, thing: Any) -> bytes | None:
        number = objgen(thing)
        if number in self._pages:
            return b"a page"  # that a link or an annotation names, and nothing draws
        if number == (0, 0):
            return self._anew(thing)
        if number not in self._known:
            self._known[number] = None  # as long as it is being looked into
            self._known[number] = self._anew(thing)
        return self._known[number]

    def _anew(self, thing: Any) -> bytes | None:
        if isinstance(thing, pikepdf.Stream):
            entries = self._of_entries(dict(thing.items()))
            return entries and _digest(b"stream", entries, thing.read_raw_bytes())
        if isinstance(thing, pikepdf.Dictionary):
            return self._of_entries(dict(thing.items()))
        if isinstance(thing, pikepdf.Array):
            return _digest_of_all(b"array", [self._of(item) for item in thing])
        plain = thing.unparse() if isinstance(thing, pikepdf.Object) else repr(thing).encode()
        return _digest(b"plain", plain)

    def _of_entries(self, entries: dict[str, Any]) -> bytes | None:
        keys = sorted(entries)
        values = [self._of(entries[key]) for key in keys]
        names = _digest(*(key.encode() for key in keys))
        return _digest_of_all(b"entries" + names, values)


def _digest_of_all(kind: bytes, parts: list[bytes | None]) -> bytes | None:
    known = [part for part in parts if part is not None]
    return _digest(kind, *known) if len(known) == len(parts) else None


def _digest(*parts: bytes) -> bytes:
    whole = hashlib.blake2b(digest_size=32)
    for part in parts:
        whole.update(len(part).to_bytes(8, "big"))
        whole.update(part)
    return whole.digest()
