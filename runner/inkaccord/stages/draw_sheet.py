"""The built-in way to draw sample sheets: rows of labelled swatches, controls at the foot."""

from collections.abc import Sequence

from inkaccord.hooks import hookimpl
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import SampleSheet


@hookimpl
def inkaccord_draw_sheet(sheet: SampleSheet, notes: Sequence[str]) -> bytes:
    """Return the PDF of a sheet."""
    return draw_sheet(sheet, notes=notes)
