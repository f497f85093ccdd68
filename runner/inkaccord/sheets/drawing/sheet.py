"""Drawing a sample sheet: exact builds, black type, nothing that touches a swatch."""

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from inkaccord.colour.builds import Build, Drive
from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, text_width
from inkaccord.sheets.code import code_modules, code_text
from inkaccord.sheets.drawing.heading import draw_foot, draw_head, numbers_text
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.frame import (
    MARK_DOT_PT,
    MARK_PT,
    MARK_RING_PT,
    PageFrame,
    frames_of,
)
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.planning.placing import CAPTION_GAP_PT, TITLE_PT, titles_of
from inkaccord.sheets.settings import SheetFormat, SheetSettings

_SMALLEST_PT = 4.2
_SMALLEST_TITLE_PT = 5.5
_FAINT_INK = 8.0
_FAINT_LIGHT = 240.0


def draw_sheet(sheet: SampleSheet, *, notes: Sequence[str] = ()) -> bytes:
    """Return the PDF of a sheet: the same bytes for the same sheet and notes.

    Swatches are filled in DeviceCMYK or DeviceRGB with the builds' own numbers. The first of
    the ``notes`` that fits stands at the foot.
    Raises OrderError for a sheet that was not drawn here.
    """
    return draw_sheets([sheet], notes=notes)


def draw_sheets(
    sheets: Sequence[SampleSheet],
    *,
    notes: Sequence[str] = (),
    decorate: Callable[[Pen, SampleSheet, int], None] | None = None,
) -> bytes:
    """Return one PDF of several sheets: a deck and its additions.

    ``decorate`` may draw more on each page (sheet, page number from 1), such as punch guides.
    """
    first = sheets[0]
    kind = "Deck" if first.purpose is Purpose.DECK else "Sample sheet"
    drawing = Drawing(
        SheetFormat(size=first.size, bleed_pt=first.bleed_pt).media,
        title=f"{kind} " + ", ".join(sheet.id for sheet in sheets),
        subject=f"{first.pair}, {first.purpose}",
    )
    for sheet in sheets:
        page = SheetFormat(size=sheet.size, bleed_pt=sheet.bleed_pt)
        pen = Pen(drawing.canvas, sheet.drive)
        for number, frame in enumerate(frames_of(sheet), start=1):
            drawing.page(page.media, trim_pt=page.trim_pt, bleed_pt=page.bleed_pt)
            draw_page(pen, sheet, frame, number, notes=notes)
            if decorate is not None:
                decorate(pen, sheet, number)
            drawing.canvas.showPage()
    return drawing.bytes()


def draw_page(
    pen: Pen,
    sheet: SampleSheet,
    frame: PageFrame,
    number: int,
    *,
    notes: Sequence[str] = (),
) -> None:
    """Draw one page of a sheet where the pen stands."""
    draw_marks(pen, frame)
    draw_code(pen, frame, code_text(sheet.id, number))
    draw_head(pen, sheet, frame, number)
    draw_foot(pen, sheet, frame, notes)
    draw_swatches(pen, [s for s in sheet.swatches if s.page == number], sheet.settings)


def draw_marks(pen: Pen, frame: PageFrame) -> None:
    """Draw the corner marks: a dot in a ring, whose middles agree however the page is turned."""
    pen.black()
    for x, y in frame.marks:
        pen.ring(x, y, MARK_PT / 2 - MARK_RING_PT / 2, MARK_RING_PT)
        pen.dot(x, y, MARK_DOT_PT / 2)


def draw_code(pen: Pen, frame: PageFrame, text: str) -> None:
    """Draw the 2D code as one filled path, so that no hairline shows between its modules."""
    rows = code_modules(text)
    left, _, right, top = frame.code
    side = (right - left) / len(rows)
    boxes = []
    for number, row in enumerate(rows):
        column = 0
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                boxes.append((left + column * side, top - (number + 1) * side, length * side, side))
            column += length
    pen.black()
    pen.fill_boxes(boxes)


def draw_swatches(pen: Pen, swatches: Iterable[Swatch], settings: SheetSettings) -> None:
    """Draw the swatches of one page with captions, and the titles of their groups."""
    placed = [(swatch, swatch.box_pt) for swatch in swatches if swatch.box_pt is not None]
    controls = [(swatch, box) for swatch, box in placed if swatch.control]
    if controls:
        left, top = min(box[0] for _, box in controls), max(box[3] for _, box in controls)
        size = settings.label_pt + 0.7
        pen.text(left, top + 3.5, "Controls, the same on every sheet", size, BOLD)
        right = max(box[2] for _, box in controls)
        told = f"All numbers: {numbers_text(controls[0][0].build.drive)}"
        pen.text_right(right, top + 3.5, told, settings.label_pt)
    for title in titles_of([swatch for swatch, _ in placed]):
        y, width = title.bottom + TITLE_PT * 0.35, title.right - title.left
        size = settings.label_pt + 1.7
        pen.text_within(title.left, y, title.text, width, size, _SMALLEST_TITLE_PT, BOLD)
    for swatch, box in placed:
        _draw_swatch(pen, swatch, box, settings)


def _draw_swatch(
    pen: Pen, swatch: Swatch, box: tuple[float, float, float, float], settings: SheetSettings
) -> None:
    left, bottom, right, top = box
    pen.build(swatch.build)
    pen.fill_boxes([(left, bottom, right - left, top - bottom)])
    pen.black()
    if is_faint(swatch.build):
        pen.corners(box)
    label, width = settings.label_pt, right - left
    text = build_text(swatch.build)
    id_size = min(label + 1, (label + 1) * width / max(1.0, text_width(swatch.id, label + 1, BOLD)))
    y = bottom - CAPTION_GAP_PT - 0.72 * (label + 1)
    pen.text(left, y, swatch.id, id_size, BOLD)
    pen.text(left, y - label - 0.6, text, fitted_size(text, width, label))


def fitted_size(text: str, width_pt: float, size_pt: float) -> float:
    """Return a type size at which numbers fit: they are never cut short."""
    wide = text_width(text, size_pt, REGULAR)
    return size_pt if wide <= width_pt else max(_SMALLEST_PT, size_pt * width_pt / wide)


def build_text(build: Build) -> str:
    """Return the numbers of a build as they stand below its swatch."""
    return "  ".join(f"{round(value, 2):g}" for value in build.values)


def is_faint(build: Build) -> bool:
    """Tell whether a swatch can hardly be told from white paper, so its corners are marked."""
    if build.drive is Drive.CMYK:
        return sum(build.values) <= _FAINT_INK
    return min(build.values) >= _FAINT_LIGHT
