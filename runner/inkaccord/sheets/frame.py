"""The frame of a page: where marks, code, head, swatches and foot go.

All of it follows from the live area, so a scan's reader can work it out from the sheet alone.
"""

from inkaccord.drawing.qr import QUIET_MODULES
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sheets.code import CODE_MODULES
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.settings import SheetSettings, rounded
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM

MARK_PT = 4 * PT_PER_MM
"""Outer diameter of a corner mark."""
MARK_RING_PT = 0.7 * PT_PER_MM
"""Width of its ring."""
MARK_DOT_PT = 1.5 * PT_PER_MM
"""Diameter of the dot in its middle."""

_GAP_PT = 6.0
_ROW_PT = 19.0
_CELLS_WIDE = 8
_CELLS_NARROW = 6
_CELLS_LATER = 4
_WIDE_PT = 430.0
_MEDIUM_PT = 330.0


class PageFrame(Frozen):
    """The parts of one page, in points from the lower left corner of the media."""

    live: Box
    marks: tuple[tuple[float, float], ...]
    """Centres: lower left, lower right, upper right, upper left."""
    code: Box
    """The dark part of the 2D code; its quiet zone lies outside."""
    head: Box
    """Between the upper marks and the rule, left of the code."""
    columns: int
    """Cells side by side in the head."""
    row_pt: float
    """Height of a row of cells."""
    rule_y: float
    body: Box
    """Where swatches and their labels may stand."""
    foot: Box
    """The ruler's strip, above the lower marks; without height on narrow pages."""

    @property
    def cells(self) -> tuple[Box, ...]:
        """The cells of the head, row by row from the top left."""
        left, bottom, right, top = self.head
        width = (right - left) / self.columns
        rows = round((top - bottom) / self.row_pt)
        return tuple(
            rounded(
                (
                    left + column * width,
                    top - (row + 1) * self.row_pt,
                    left + (column + 1) * width - _GAP_PT,
                    top - row * self.row_pt,
                )
            )
            for row in range(rows)
            for column in range(self.columns)
        )


def page_frame(live: Box, settings: SheetSettings, *, first: bool) -> PageFrame:
    """Return the frame of a page. Raises OrderError when nothing is left for swatches.

    Parameters
    ----------
    live
        The area that all print stays within.
    first
        Whether it is the sheet's first page, which has fields to fill in.
    """
    left, bottom, right, top = live
    width = right - left
    columns = 4 if width >= _WIDE_PT else 3 if width >= _MEDIUM_PT else 2
    code_side = CODE_MODULES * settings.code_module_mm * PT_PER_MM
    quiet = QUIET_MODULES * settings.code_module_mm * PT_PER_MM
    head_top = top - MARK_PT - max(quiet, _GAP_PT)
    cells = _CELLS_WIDE if width >= _WIDE_PT else _CELLS_NARROW
    rows = -(-(cells if first else _CELLS_LATER) // columns)
    head_bottom = head_top - rows * _ROW_PT
    rule = min(head_bottom, head_top - code_side - quiet) - 2
    ruler = 26.0 if width >= _MEDIUM_PT and not settings.dense else 0.0
    foot_bottom = bottom + MARK_PT + 3
    half = MARK_PT / 2
    frame = PageFrame(
        live=live,
        marks=tuple(
            (round(x, 2), round(y, 2))
            for x, y in (
                (left + half, bottom + half),
                (right - half, bottom + half),
                (right - half, top - half),
                (left + half, top - half),
            )
        ),
        code=rounded((right - code_side, head_top - code_side, right, head_top)),
        head=rounded((left, head_bottom, right - code_side - quiet, head_top)),
        columns=columns,
        row_pt=_ROW_PT,
        rule_y=round(rule, 2),
        body=rounded((left, foot_bottom + ruler + _GAP_PT, right, rule - 9)),
        foot=rounded((left, foot_bottom, right, foot_bottom + ruler)),
    )
    if frame.body[3] - frame.body[1] < settings.smallest_side_pt:
        raise OrderError.of(
            "sheet-too-small",
            "a sample sheet of this size has no room for swatches below its head",
            hint="choose a larger size for the sample sheets",
        )
    return frame


class SheetGeometry(Frozen):
    """Where everything that a scan's reader looks for stands, page by page (from 1)."""

    marks: tuple[tuple[tuple[float, float], ...], ...]
    """For each page the centres lower left, lower right, upper right, upper left."""
    mark_pt: float
    codes: tuple[Box, ...]
    """For each page the dark part of the 2D code."""
    swatches: tuple[dict[str, Box], ...]
    """For each page the boxes by swatch id."""


def frames_of(sheet: SampleSheet) -> tuple[PageFrame, ...]:
    """Return the frame of each page of a drawn sheet. Raises OrderError for an imported one."""
    if sheet.live_pt is None:
        raise OrderError.of(
            "not-drawn-here",
            f"the sheet {sheet.id} was not drawn here, so nothing is known of its layout",
            hint="record it from an instrument's file instead",
        )
    return tuple(
        page_frame(sheet.live_pt, sheet.settings, first=page == 1)
        for page in range(1, sheet.pages + 1)
    )


def sheet_geometry(sheet: SampleSheet) -> SheetGeometry:
    """Return where marks, codes and swatches of a sheet stand.

    Raises OrderError for a sheet that was not drawn here.
    """
    frames = frames_of(sheet)
    return SheetGeometry(
        marks=tuple(frame.marks for frame in frames),
        mark_pt=MARK_PT,
        codes=tuple(frame.code for frame in frames),
        swatches=tuple(
            {
                swatch.id: swatch.box_pt
                for swatch in sheet.swatches
                if swatch.page == page and swatch.box_pt is not None
            }
            for page in range(1, sheet.pages + 1)
        ),
    )
