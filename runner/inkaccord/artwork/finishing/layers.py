"""Taking the layers out of a file, where that changes nothing that prints.

Optional content (ISO 32000-2, 8.11) that is shown stays as plain content: only the entries that
tie it to a layer go, no content is rewritten. A file in which something painted is switched off,
or is shown by more than a plain switch, is left as it is, and said.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.artwork.marks.reader import marks_of
from inkaccord.artwork.proof.likeness import looks_the_same
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.pdf.entries import entry
from inkaccord.pdf.layers import Layers
from inkaccord.pdf.opening import open_artwork, pdf_bytes
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import counted

_TURNS_ROUND = frozenset({"/AllOff", "/AnyOff"})
"""Policies by which something shows because a layer is off (ISO 32000-2, table 97)."""
_STATES = (("/Print", "/PrintState"), ("/View", "/ViewState"), ("/Export", "/ExportState"))


def flatten_layers(
    source: Path | bytes, *, name: str | None = None
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """Return a file without layers, and what is to be said; no file where nothing was done.

    The result is compared with the file it was made of, on renderings by PDFium, which heeds
    layers: not one pixel may differ.

    Raises
    ------
    FileError
        When the file can't be read or may not be changed.
    """
    before = pdf_bytes(source)
    with open_artwork(before, name=name, changing=True) as pdf:
        if "/OCProperties" not in pdf.Root:
            return None, ()
        refused = _obstacle(pdf)
        if refused is not None:
            return None, (_kept(*refused),)
        count = len(Layers(pdf).names)
        del pdf.Root["/OCProperties"]
        for thing in _all_of(pdf):
            if "/OC" in thing:
                del thing["/OC"]
        after = save_as_packed(pdf)
    if not looks_the_same(before, after):
        return None, (_kept("the pages would look different without them", Place()),)
    layers = f"{counted(count, 'layer')} {'was' if count == 1 else 'were'}"
    return after, (
        note("layers-flattened", f"{layers} taken out; what they hold prints as before"),
    )


def _obstacle(pdf: pikepdf.Pdf) -> tuple[str, Place] | None:
    """Return why the layers have to stay, and where; None when they can go."""
    hidden = next((mark for mark in marks_of(pdf) if not mark.layer_shown), None)
    if hidden is not None:
        where = Place(page=hidden.page, box_mm=hidden.box.in_mm)
        return f"the layer {hidden.layer!r} is switched off and would print", where
    if any(_has_conditions(thing) for thing in _all_of(pdf)):
        return "some layers show by conditions, not by a plain switch", Place()
    return None


def _kept(why: str, place: Place) -> Diagnostic:
    return warning(
        "layers-kept",
        f"the layers stay in the file: {why}",
        place=place,
    )


def _has_conditions(thing: Any) -> bool:
    """Whether layers show by a policy, an expression, or the use that is made of the file."""
    if entry(thing, "/Type") == "/OCMD":
        return "/VE" in thing or str(entry(thing, "/P") or "") in _TURNS_ROUND
    usage = entry(thing, "/Usage") if entry(thing, "/Type") == "/OCG" else None
    return any(entry(entry(usage, use), state) == "/OFF" for use, state in _STATES)


def _all_of(pdf: pikepdf.Pdf) -> Iterator[Any]:
    """Yield every dictionary and stream of a file, those inside others too."""
    for thing in pdf.objects:
        pending: list[Any] = [thing]
        while pending:
            one = pending.pop()
            if isinstance(one, (pikepdf.Dictionary, pikepdf.Stream)):
                yield one
                below = [value for _, value in one.items()]
            elif isinstance(one, pikepdf.Array):
                below = list(one)
            else:
                continue
            pending += [
                value
                for value in below
                if isinstance(value, (pikepdf.Dictionary, pikepdf.Array)) and not value.is_indirect
            ]
