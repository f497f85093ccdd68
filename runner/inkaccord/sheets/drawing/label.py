"""Labels for what printed sample sheets are kept in."""

import datetime
from collections.abc import Sequence

from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, text_width
from inkaccord.drawing.qr import QUIET_MODULES
from inkaccord.errors import OrderError
from inkaccord.sheets.code import code_modules
from inkaccord.sheets.model import SampleSheet
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_MM, mm
from inkaccord.words import counted

LABEL = "70mm x 37mm"
"""A usual size: 24 of them on an A4 page of labels (common practice, no source)."""
LEAST_WIDE_PT, LEAST_HIGH_PT = 45 * PT_PER_MM, 22 * PT_PER_MM
_RIM_PT = 2.5 * PT_PER_MM
_CODE_PT, _MOST_CODE_PT = 15 * PT_PER_MM, 24 * PT_PER_MM
_MOST_SCALE = 1.6
_NAME_PT, _TEXT_PT, _LEADING = 13.0, 7.0, 1.25


def draw_labels(sheets: Sequence[tuple[SampleSheet, datetime.date | None]], size: Size) -> bytes:
    """Return a PDF with a label for each sheet, a page each; the same bytes each time.

    Parameters
    ----------
    sheets
        Each with the day after which it is to be replaced, where that is known.
    size
        Of a label. Raises OrderError ``label-too-small`` below 45 x 22 mm.
    """
    if size.width_pt < LEAST_WIDE_PT or size.height_pt < LEAST_HIGH_PT:
        raise OrderError.of(
            "label-too-small",
            f"a label of {mm(size.width_pt):.0f} x {mm(size.height_pt):.0f} mm has no room for "
            "what must stand on it",
            hint=f"give one of at least {mm(LEAST_WIDE_PT):.0f}x{mm(LEAST_HIGH_PT):.0f}mm",
        )
    drawing = Drawing(size, title="Labels " + ", ".join(sheet.id for sheet, _ in sheets))
    for sheet, replace_after in sheets:
        _draw(drawing, size, sheet, replace_after)
        drawing.canvas.showPage()
    return drawing.bytes()


def _draw(
    drawing: Drawing, size: Size, sheet: SampleSheet, replace_after: datetime.date | None
) -> None:
    canvas = drawing.canvas
    canvas.setFillColorCMYK(0, 0, 0, 1)
    top = size.height_pt - _RIM_PT
    code = min(max(_CODE_PT, size.width_pt / 3), size.height_pt - 2 * _RIM_PT, _MOST_CODE_PT)
    left = code + 2 * _RIM_PT
    room = size.width_pt - left - _RIM_PT
    _code(drawing, sheet.id, (_RIM_PT, top - code), code)
    lines = [
        (sheet.id, BOLD, _NAME_PT),
        (str(sheet.pair), BOLD, _TEXT_PT),
        (f"{counted(len(sheet.swatches), 'swatch')}, {sheet.purpose}", REGULAR, _TEXT_PT),
        (f"for {sheet.order}, {sheet.date}" if sheet.order else str(sheet.date), REGULAR, _TEXT_PT),
        ("Keep in the dark, flat, dry", REGULAR, _TEXT_PT),
        (f"Replace after {replace_after}" if replace_after else "", REGULAR, _TEXT_PT),
    ]
    wanted = [(words, face, high) for words, face, high in lines if words]
    scale = min(_MOST_SCALE, (top - _RIM_PT) / sum(high * _LEADING for _, _, high in wanted))
    y = top
    for words, face, high in wanted:
        points = min(high * scale, high * scale * room / text_width(words, high * scale, face))
        y -= high * scale
        canvas.setFont(face, points)
        canvas.drawString(left, y, words)
        y -= high * scale * (_LEADING - 1)


def _code(drawing: Drawing, sheet_id: str, corner: tuple[float, float], side: float) -> None:
    """Draw the code of a sheet's first page: it names the sheet to whatever reads codes."""
    rows = code_modules(f"{sheet_id}/1")
    x, y = corner
    module = side / (len(rows) + 2 * QUIET_MODULES)
    for down, row in enumerate(rows):
        for along, dark in enumerate(row):
            if dark:
                drawing.canvas.rect(
                    x + (along + QUIET_MODULES) * module,
                    y + side - (down + 1 + QUIET_MODULES) * module,
                    module,
                    module,
                    stroke=0,
                    fill=1,
                )
