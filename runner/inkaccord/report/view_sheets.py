"""The report's fifth part: sheets, how many, how much paper and how much ink."""

from dataclasses import dataclass

from markupsafe import Markup

from inkaccord.colour.builds import Build
from inkaccord.knowledge.values import Translation
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.gallery import translations_on
from inkaccord.report.graphics import svg
from inkaccord.report.impressions import translated
from inkaccord.report.sheet_picture import sheet_chart
from inkaccord.run.collected import FoundAs, PieceArtwork
from inkaccord.run.imposed import SheetRun
from inkaccord.run.record import Run
from inkaccord.sheets.savings import coverage
from inkaccord.words import joined

_MM2_PER_M2 = 1e6


@dataclass(frozen=True)
class SheetView:
    """One imposed sheet."""

    sheet: SheetRun
    up: str
    picture: Markup
    paper_m2: float
    """Of the whole run."""


@dataclass(frozen=True)
class InkView:
    """What one piece takes, all copies together."""

    piece: str
    printed: int
    area_m2: float
    """Trim area of all copies and sides."""
    ink_m2: float | None
    """Brand colours, as if each ink were laid solid; None while a build isn't known."""


def sheet_views(run: Run) -> tuple[SheetView, ...]:
    """Return every imposed sheet."""
    return tuple(
        SheetView(
            sheet=sheet,
            up=joined([f"{number} × {piece}" for piece, number in sheet.pieces.items()]),
            picture=svg(sheet_chart(sheet, 320, 320, size=10)),
            paper_m2=sheet.run * sheet.width_mm * sheet.height_mm / _MM2_PER_M2,
        )
        for sheet in run.sheets
    )


def ink_views(run: Run, order: Order) -> tuple[InkView, ...]:
    """Return what each piece takes in printed area and ink."""
    artworks = {it.piece: it for it in run.artworks}
    views = []
    for piece in run.pieces:
        copies = wording.printed(run, piece)
        width, height = piece.trim_mm
        known = translations_on(run, order, piece.pair)
        artwork = artworks.get(piece.name)
        each = _ink_mm2(artwork, order, known)
        # An artwork with records shows many copies.
        shown = artwork.pages / piece.sides if artwork and piece.records else 1
        views.append(
            InkView(
                piece=piece.name,
                printed=copies,
                area_m2=copies * piece.sides * width * height / _MM2_PER_M2,
                ink_m2=None if each is None else copies * each / shown / _MM2_PER_M2,
            )
        )
    return tuple(views)


def _ink_mm2(
    artwork: PieceArtwork | None, order: Order, known: dict[str, Translation]
) -> float | None:
    """Return the ink of an artwork's brand colours, as solid area."""
    if artwork is None:
        return None
    total = 0.0
    for found in artwork.colours:
        if found.found_as is not FoundAs.BRAND or found.colour is None:
            continue
        if found.colour not in known:
            return None
        total += found.area_mm2 * coverage(_build_at(known[found.colour], order, found.tint))
    return total


def _build_at(translation: Translation, order: Order, tint: float) -> Build:
    paint = order.colours[translation.colour].in_artwork[0]
    tints = translated(
        paint, translation.build, [(step.tint, step.build) for step in translation.tints]
    ).tints
    return tints[min(max(round(tint / 10), 0), 10)]
