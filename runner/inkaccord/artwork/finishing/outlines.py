"""Turning type into outlines, where Ghostscript is installed, and proving what came of it.

Ghostscript writes the whole file anew. Its numbers come back a few hundredths of a percent off,
so every colour is then given the numbers that it had; and the copy is kept only if colours, boxes
and ink-exact renderings agree with the file that it was made of.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pikepdf

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.proof.likeness import strange_pixels
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import OverprintMode, Swap, TintMode
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.errors import FileError
from inkaccord.files import working_folder
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.ghostscript import ghostscript_path, run_ghostscript
from inkaccord.pdf.opening import open_artwork, pdf_bytes
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import counted

_ARGUMENTS = (
    "-sDEVICE=pdfwrite", "-dNoOutputFonts", "-dCompatibilityLevel=1.7",
    "-sColorConversionStrategy=LeaveColorUnchanged", "-dPreserveOverprintSettings=true",
    "-dPreserveSeparation=true", "-dPreserveDeviceN=true", "-dAutoRotatePages=/None",
    "-dDownsampleColorImages=false", "-dDownsampleGrayImages=false",
    "-dDownsampleMonoImages=false", "-dAutoFilterColorImages=false",
    "-dAutoFilterGrayImages=false", "-dColorImageFilter=/FlateEncode",
    "-dGrayImageFilter=/FlateEncode", "-dPassThroughJPEGImages=true",
)  # fmt: skip
_OFF = 0.001
"""Of full: how far Ghostscript moves a number in writing it anew, 1 in 1,024 measured."""
_SAME = 0.005
"""Percent or 255ths that are one number: files hold six decimals or so."""
_NUMBERS = frozenset({PaintKind.CMYK, PaintKind.RGB, PaintKind.GRAY})
"""Colours that a swap can give other numbers; tints of spots stay as Ghostscript writes them."""


def outline_type(
    source: Path | bytes, *, name: str | None = None
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """Return a file whose type is outlines, and what is to be said; no file where it has no type.

    Where it can't be done, or the result does not hold, there is no file either, and a finding
    says why.

    Raises
    ------
    FileError
        When the file can't be read or may not be changed.
    """
    before = pdf_bytes(source)
    old = _facts(before, name, changing=True)
    if not old.has_type:
        return None, ()
    if ghostscript_path() is None:
        return None, (_kept("Ghostscript, which makes outlines, is not installed"),)
    try:
        after = _with_old_numbers(_rewritten(before), old)
        trouble = _difference(before, after, old, _facts(after, name))
    except FileError as problem:
        trouble, after = problem.findings[0].message, b""
    if trouble:
        return None, (_kept(trouble),)
    return after, (
        note(
            "type-outlined",
            "type was turned into outlines by Ghostscript; colours, boxes and renderings agree "
            "with the artwork",
            hint="look at small type on a proof: outlines carry no hints for coarse printers",
        ),
    )


def _kept(why: str) -> Diagnostic:
    return warning("type-kept", f"type stays type: {why}")


# -- what must stay ---------------------------------------------------------------------------


@dataclass(frozen=True)
class _Facts:
    """What outlining must not change, and whether there is type at all."""

    has_type: bool
    boxes: tuple[object, ...]
    paints: frozenset[tuple[int, Paint, bool]]
    """Page and colour of everything that is painted in a colour with a name; if it overprints."""
    seen: frozenset[tuple[int, Paint, bool]]
    """The same of what leaves a mark: no blanks, nothing that is clipped away."""
    others: frozenset[tuple[int, str]]
    """Page and space of what is painted in any other."""
    pictures: tuple[tuple[int, int, int], ...]
    """Page and size in pixels of the pictures."""


def _facts(data: bytes, name: str | None, *, changing: bool = False) -> _Facts:
    marks: list[Mark] = []
    boxes: list[object] = []
    with open_artwork(data, name=name, changing=changing) as pdf:
        reader = PageReader(pdf, marks.append)
        for page in pdf.pages:
            found = page_boxes(page)
            reader.read_page(page, found)
            edges = [found.of(box) for box in ("media", "crop", "bleed", "trim")]
            boxes.append(
                [[round(corner, 2) for corner in corners] for corners in edges] + [found.rotation]
            )
        uses = [
            use
            for use in walk(pdf)
            if use.page is not None and use.role not in (Role.UNUSED, Role.FIELD, Role.GRADIENT)
        ]
    shown = [mark for mark in marks if mark.layer_shown]
    return _Facts(
        has_type=any(mark.role is Role.TEXT and mark.typeface is not None for mark in shown),
        boxes=tuple(map(str, boxes)),
        paints=frozenset(
            (use.page, use.colour.paint, use.overprint.fill or use.overprint.stroke)
            for use in uses
            if use.page and use.colour.paint
        ),
        seen=frozenset(
            (mark.page, mark.colour.paint, mark.overprint)
            for mark in shown
            if mark.colour.paint is not None
        ),
        others=frozenset(
            (use.page, str(use.colour.other))
            for use in uses
            if use.page and use.colour.paint is None
        ),
        pictures=tuple(
            sorted(
                (mark.page, mark.picture.width_px, mark.picture.height_px)
                for mark in shown
                if mark.picture is not None
            )
        ),
    )


def _difference(before: bytes, after: bytes, old: _Facts, new: _Facts) -> str:
    """Return what is wrong with the copy; nothing when it holds."""
    if new.has_type:
        return "some of it could not be turned into outlines"
    if old.boxes != new.boxes:
        return "the boxes of the pages would change"
    if old.pictures != new.pictures:
        return "the pictures would change"
    if old.others != new.others:
        return "colours with a profile would change"
    strays = [paint for paint in new.paints if not _holds(old.paints, *paint)]
    lost = [paint for paint in old.seen if not _kept_paint(old, new, *paint)]
    if strays or lost:
        page, paint, _ = (strays or lost)[0]
        return f"the colour {paint} on page {page}, or its overprint, would change"
    for page, count in strange_pixels(before, after):
        return f"{counted(count, 'pixel')} of page {page} would print another ink"
    return ""


def _holds(
    paints: frozenset[tuple[int, Paint, bool]], page: int, paint: Paint, overprints: bool
) -> bool:
    return (page, paint, overprints) in paints or any(
        (number, on) == (page, overprints) and _close(one, paint) for number, one, on in paints
    )


def _kept_paint(old: _Facts, new: _Facts, page: int, paint: Paint, overprints: bool) -> bool:
    if _holds(new.paints, page, paint, overprints):
        return True
    # Overprint that was on for the other side, fill or stroke, may be told of this one too.
    beside = _holds(old.paints, page, paint, overprints=True)
    return not overprints and beside and _holds(new.paints, page, paint, overprints=True)


def _close(one: Paint, other: Paint) -> bool:
    # Colours that could be given their old numbers again have them: builds stay exact.
    limit = _SAME if one.kind in _NUMBERS else _off(one.kind)
    return (one.kind, one.name) == (other.kind, other.name) and all(
        abs(a - b) <= limit for a, b in zip(one.values, other.values, strict=True)
    )


def _off(kind: PaintKind) -> float:
    return _OFF * (255 if kind is PaintKind.RGB else 100)


# -- making it --------------------------------------------------------------------------------


def _rewritten(data: bytes) -> bytes:
    """Return the file as Ghostscript writes it, without what differs from run to run."""
    with working_folder() as folder:
        (folder / "in.pdf").write_bytes(data)
        run_ghostscript([*_ARGUMENTS, "-o", "out.pdf", "in.pdf"], folder, makes="out.pdf")
        with pikepdf.open(folder / "out.pdf") as pdf:
            if "/Metadata" in pdf.Root:
                del pdf.Root["/Metadata"]
            for key in ("/Info", "/ID"):  # dates, and a number made of them
                if key in pdf.trailer:
                    del pdf.trailer[key]
            return save_as_packed(pdf)


def _with_old_numbers(data: bytes, old: _Facts) -> bytes:
    """Give each colour, a little off from being written anew, the numbers that it had."""
    exact = sorted({paint for _, paint, _ in old.paints if paint.kind in _NUMBERS}, key=str)
    swaps = [Swap(old=paint, new=paint, tolerance=_off(paint.kind)) for paint in exact]
    if not swaps:
        return data
    options = RecolourOptions(tints=TintMode.OFF, overprint=OverprintMode.REPORT, near=0.0)
    return recolour(data, swaps, options=options).data
