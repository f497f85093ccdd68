"""The built-in way to draw sample sheets."""

from collections.abc import Sequence

from inkaccord.hooks import SheetLayout, hookimpl
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import SampleSheet


class PlainLayout:
    """Our own sheet: rows of labelled swatches, controls at the foot."""

    name = "plain"

    def draw(self, sheet: SampleSheet, *, notes: Sequence[str]) -> bytes:
        """Return the PDF of a sheet."""
        return draw_sheet(sheet, notes=notes)


@hookimpl
def inkaccord_sheet_layouts() -> Sequence[SheetLayout]:
    """Offer the layout ``plain``."""
    return [PlainLayout()]
