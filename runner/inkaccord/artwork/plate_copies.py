"""Copies of an artwork for pictures of its plates: without some of them, or with all but one white.

A plate's colorant is renamed to ``None``, which paints nothing (ISO 32000-2, 8.6.6.4).
"""

import io
from collections.abc import Collection, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import plain, word
from inkaccord.pdf.writing import save_as_packed

_NAMES = {"/Separation", "/DeviceN"}


def without_plates(data: bytes, plates: Collection[str]) -> bytes:
    """Return a PDF in which nothing is painted on some plates."""
    if not plates:
        return data
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for space in _named_spaces(pdf):
            names = space[1]
            if isinstance(names, pikepdf.Array):
                space[1] = pikepdf.Array(
                    [pikepdf.Name("/None") if _is_one(it, plates) else it for it in names]
                )
            elif _is_one(names, plates):
                space[1] = pikepdf.Name("/None")
        return save_as_packed(pdf)


def multiplied(data: bytes) -> bytes:
    """Return a PDF whose pages begin in the blend mode Multiply, so that white hides nothing."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            mode = pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, BM=pikepdf.Name.Multiply)
            name = page.add_resource(mode, pikepdf.Name.ExtGState)
            page.contents_add(f"{name} gs\n".encode(), prepend=True)
        return save_as_packed(pdf)


def _is_one(name: Any, plates: Collection[str]) -> bool:
    return isinstance(name, pikepdf.Name) and plain(name) in plates


def _named_spaces(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Array]:
    """Yield every colour space of named inks, wherever it stands in an object."""
    for thing in pdf.objects:
        yield from _within(thing)


def _within(thing: Any) -> Iterator[pikepdf.Array]:
    if isinstance(thing, pikepdf.Array):
        if len(thing) >= 4 and isinstance(thing[0], pikepdf.Name) and word(thing[0]) in _NAMES:
            yield thing
        parts = list(thing)
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        parts = [part for _, part in thing.items()]
    else:
        return
    for part in parts:
        if not getattr(part, "is_indirect", True):
            yield from _within(part)
