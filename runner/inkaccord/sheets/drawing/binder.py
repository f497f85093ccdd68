"""Keeping a deck in a binder: a margin for the holes, and guides where the punch goes.

Two holes: ISO 838:1974, 'Paper — Holes for general filing purposes': diameter 6 mm, centres
80 mm apart and 12 mm from the edge, even about the middle of the sheet (read in an online
encyclopedia's article on hole punching, which gives ± 0.5, ± 0.5 and ± 1 mm; the standard's own
text was not seen). Four holes, two more at 80 mm: widely used with it, same article. Three holes
for letter paper, centres 4¼ in (108 mm) apart: same article, which knows of no standard for it;
the distance from the edge and the diameter vary.
"""

import io
from enum import StrEnum
from typing import Annotated

import pikepdf
from pydantic import Field

from inkaccord.colour.builds import Drive
from inkaccord.drawing.canvas import Drawing
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.pdf.writing import save_drawn
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_IN, PT_PER_MM, mm

_SPREAD = {2: (-0.5, 0.5), 3: (-1.0, 0.0, 1.0), 4: (-1.5, -0.5, 0.5, 1.5)}
_GUIDE_PT = 2 * PT_PER_MM


class Holes(StrEnum):
    """Which holes a binder wants."""

    TWO = "two"
    """ISO 838."""
    FOUR = "four"
    """ISO 838 with one more hole at either end."""
    THREE = "three"
    """The usual one for letter paper."""

    @property
    def number(self) -> int:
        """How many holes."""
        return {Holes.TWO: 2, Holes.THREE: 3, Holes.FOUR: 4}[self]

    @property
    def spacing_pt(self) -> float:
        """From centre to centre."""
        return 4.25 * PT_PER_IN if self is Holes.THREE else 80 * PT_PER_MM


class Binder(Frozen):
    """How pages are punched. They are printed on one side, so the holes are always at the left."""

    holes: Holes = Holes.TWO
    edge_pt: Annotated[float, Field(gt=0)] = 12 * PT_PER_MM
    """From the left edge of the trim to the centres."""
    margin_pt: Annotated[float, Field(gt=0)] = 20 * PT_PER_MM
    """Nothing but the guides stands closer to the left edge than this."""

    def centres(self, size: Size) -> tuple[tuple[float, float], ...]:
        """Return the centres of the holes on a trimmed page, from the lowest.

        Raises OrderError when the page is too short for them.
        """
        ends = (self.holes.number - 1) * self.holes.spacing_pt
        if ends + 2 * PT_PER_MM * 10 > size.height_pt:
            raise OrderError.of(
                "too-short-to-punch",
                f"a page of {size} is too short for {self.holes} holes, "
                f"{mm(self.holes.spacing_pt):.0f} mm apart",
                hint="choose a taller page, or cards on a ring",
            )
        middle = size.height_pt / 2
        return tuple(
            (self.edge_pt, middle + step * self.holes.spacing_pt)
            for step in _SPREAD[self.holes.number]
        )

    def page(self, page: SheetFormat) -> SheetFormat:
        """Return the page with its left margin widened for the holes."""
        self.centres(page.size)
        left = max(page.unprintable.left, self.margin_pt)
        return page.model_copy(
            update={"unprintable": page.unprintable.model_copy(update={"left": left})}
        )


def with_guides(deck: bytes, binder: Binder, page: SheetFormat, drive: Drive) -> bytes:
    """Return a deck's PDF with a small cross at each hole's centre; the punch takes it away."""
    guides = Drawing(page.media, title="punch guides")
    guides.page(page.media, trim_pt=page.trim_pt, bleed_pt=page.bleed_pt)
    _draw_guides(Pen(guides.canvas, drive), binder, page)
    guides.canvas.showPage()
    with pikepdf.open(io.BytesIO(deck)) as whole, pikepdf.open(io.BytesIO(guides.bytes())) as over:
        crosses = over.pages[0].Contents.read_bytes()
        for leaf in whole.pages:
            leaf.contents_add(b"q", prepend=True)
            leaf.contents_add(b"Q\n" + crosses)
        return save_drawn(whole)


def _draw_guides(pen: Pen, binder: Binder, page: SheetFormat) -> None:
    pen.black()
    for x, y in binder.centres(page.size):
        x_media, y_media = x + page.bleed_pt, y + page.bleed_pt
        pen.line(x_media - _GUIDE_PT, y_media, x_media + _GUIDE_PT, y_media, 0.3)
        pen.line(x_media, y_media - _GUIDE_PT, x_media, y_media + _GUIDE_PT, 0.3)
