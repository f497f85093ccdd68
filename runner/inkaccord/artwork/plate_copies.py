"""Copies of an artwork to draw its plates from: without some of them, over white, or all whole."""

from collections.abc import Collection, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import plain, word
from inkaccord.pdf.qpdf import opened
from inkaccord.pdf.writing import save_as_packed

_NAMES = {"/Separation", "/DeviceN"}
_ON = pikepdf.Name("/AllOverprints")


def without_plates(data: bytes, plates: Collection[str]) -> bytes:
    """Return a PDF in which nothing is painted on some plates.

    A plate's colorant is renamed to ``None``, which paints nothing (ISO 32000-2, 8.6.6.4).
    """
    if not plates:
        return data
    with opened(data) as pdf:
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
    with opened(data) as pdf:
        for page in pdf.pages:
            mode = pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, BM=pikepdf.Name.Multiply)
            name = page.add_resource(mode, pikepdf.Name.ExtGState)
            page.contents_add(f"{name} gs\n".encode(), prepend=True)
        return save_as_packed(pdf)


def overprinting(data: bytes) -> bytes:
    """Return a PDF in which all overprints, so that each spot's plate is whole.

    In mode 0, in which process colours leave only the plates of spots (ISO 32000-2, 8.6.7).
    """
    with opened(data) as pdf:
        own = [it for it in _parts_of(pdf) if isinstance(it, pikepdf.Dictionary)]
        for settings in own:
            for key in ("/OP", "/op", "/OPM"):
                if key in settings:
                    del settings[key]
        on = pdf.make_indirect(pikepdf.Dictionary(OP=True, op=True, OPM=0))
        for page in pdf.pages:
            page.add_resource(on, pikepdf.Name.ExtGState, _ON)
            page.contents_add(f"{_ON} gs\n".encode(), prepend=True)
        for stream in [it for it in pdf.objects if isinstance(it, pikepdf.Stream)]:
            if "/PatternType" in stream or stream.get("/Subtype") == "/Form":
                if "/Resources" in stream:
                    resources = stream.Resources
                    if "/ExtGState" not in resources:
                        resources.ExtGState = pikepdf.Dictionary()
                    resources.ExtGState[str(_ON)] = on
                stream.write(f"{_ON} gs\n".encode() + stream.read_bytes())
        return save_as_packed(pdf)


def _is_one(name: Any, plates: Collection[str]) -> bool:
    return isinstance(name, pikepdf.Name) and plain(name) in plates


def _named_spaces(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Array]:
    """Yield every colour space of named inks, wherever it stands in an object."""
    for thing in _parts_of(pdf):
        if not isinstance(thing, pikepdf.Array) or len(thing) < 4:
            continue
        if isinstance(thing[0], pikepdf.Name) and word(thing[0]) in _NAMES:
            yield thing


def _parts_of(pdf: pikepdf.Pdf) -> Iterator[Any]:
    """Yield every object, and all that stands in one."""
    for thing in pdf.objects:
        yield from _within(thing)


def _within(thing: Any) -> Iterator[Any]:
    yield thing
    if isinstance(thing, pikepdf.Array):
        parts = list(thing)
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        parts = [part for _, part in thing.items()]
    else:
        return
    for part in parts:
        if not getattr(part, "is_indirect", True):
            yield from _within(part)
