"""Pieces, artwork and independent checkers for the tests of imposition."""

from collections.abc import Callable, Sequence

import pytest

from inkaccord.drawing.canvas import BOLD, Drawing
from inkaccord.layout.model import Item
from inkaccord.sizes import Box, Size

Draw = Callable[..., bytes]


@pytest.fixture(scope="session")
def draw_art() -> Draw:
    """Draw artwork: a field of colour over trim and bleed, and a square at the lower left."""

    def draw(
        size: Size,
        *,
        bleed_pt: float = 9.0,
        label: str = "art",
        cmyk: tuple[float, float, float, float] = (0.8, 0.2, 0.6, 0.3),
        pages: int = 1,
    ) -> bytes:
        full = Size(width_pt=size.width_pt + 2 * bleed_pt, height_pt=size.height_pt + 2 * bleed_pt)
        drawing = Drawing(full, title=label)
        trim = (bleed_pt, bleed_pt, bleed_pt + size.width_pt, bleed_pt + size.height_pt)
        for number in range(pages):
            drawing.page(full, trim_pt=trim, bleed_pt=bleed_pt)
            canvas = drawing.canvas
            canvas.setFillColorCMYK(*cmyk)
            canvas.rect(0, 0, full.width_pt, full.height_pt, stroke=0, fill=1)
            canvas.setFillColorCMYK(0, 0, 0, 0)
            canvas.rect(bleed_pt, bleed_pt, 36, 36, stroke=0, fill=1)
            canvas.setFont(BOLD, 14)
            canvas.drawString(bleed_pt + 40, bleed_pt + 40, f"{label} {number + 1}")
            canvas.showPage()
        return drawing.bytes()

    return draw


@pytest.fixture(scope="session")
def piece() -> Callable[..., Item]:
    """Make an item from a size in words."""

    def make(name: str, size: str, quantity: int = 1, **more: object) -> Item:
        fields = {"bleed_pt": 9.0, **more}
        return Item.model_validate({"name": name, "trim": size, "quantity": quantity, **fields})

    return make


def _cuttable(boxes: Sequence[Box], tolerance_pt: float = 1e-6) -> bool:
    """Tell by trying every line whether edge-to-edge cuts can part boxes."""
    if len(boxes) <= 1:
        return True
    for low, high in (("left", "right"), ("bottom", "top")):
        for edge in {getattr(box, high) for box in boxes}:
            before = [box for box in boxes if getattr(box, high) <= edge + tolerance_pt]
            after = [box for box in boxes if getattr(box, low) >= edge - tolerance_pt]
            if before and after and len(before) + len(after) == len(boxes):
                return _cuttable(before) and _cuttable(after)
    return False


@pytest.fixture(scope="session")
def cuttable() -> Callable[[Sequence[Box]], bool]:
    """An independent check that straight cuts from edge to edge part all boxes."""
    return _cuttable
