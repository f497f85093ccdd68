"""Drawing a sample sheet: exact builds, black type, nothing that touches a swatch."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise

from inkaccord.cautions import KNIFE_IN_BRIEF
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
from inkaccord.sheets.model import Berth, Purpose, SampleSheet, Swatch, range_titles
from inkaccord.sheets.planning.grid import CAPTION_GAP_PT, build_text, caption_height
from inkaccord.sheets.planning.headings import (
    OVERRUN_PT,
    TITLE_PT,
    WINDOW_PT,
    look_height,
    look_leading,
    serves_both,
    titles_of,
)
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Box

_CONTROLS = "Controls, the same on every sheet"
_WINDOW_TEXTS = (
    f"Cut this window out ({KNIFE_IN_BRIEF[0]}) or fold back along its lower edge, and hold the "
    "row against the thing",
    f"Cut out ({KNIFE_IN_BRIEF[1]}), or fold back at the lower edge",
    f"Cut out ({KNIFE_IN_BRIEF[2]}), or fold back below",
    f"Cut out: {KNIFE_IN_BRIEF[3]}",
)
"""What stands in a window, the longest that fits."""
_WINDOW_TEXT_PT = 6.4
_LOOK_TEXTS = (
    (
        "Light: one even light, that of the lamp that the suite will be seen under, or of a north "
        "window by day; nothing bright-coloured near.",
        "Light: the lamp that the suite will be seen under, or a north window by day.",
        "Light: the suite's own lamp, or a north window.",
    ),
    (
        "Hold: the thing right beside a row, flat, at arm's length, both seen through a mask of "
        "grey card ('inkaccord mask {sheet}' prints one).",
        "Hold: the thing right beside a row, at arm's length, with a mask of grey card.",
        "Hold: beside a row, through a mask of grey card.",
    ),
    (
        "Look: take what you see first; rest your eyes on grey, and look again. Let a second "
        "person look as well, and record both.",
        "Look: rest your eyes on grey, look again. Let a second person look, too.",
        "Look: rest your eyes; ask a second person.",
    ),
)
"""How to look, in three lines; of each the longest that fits."""
_ARROW_PT = 7.0
_CLEAR_WORD_PT = 4.0
_CLEAR_PT = 1.0  # nothing comes nearer to a swatch
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
    page = SheetFormat(size=sheet.size, bleed_pt=sheet.bleed_pt)
    kind = "Swatch set" if sheet.purpose is Purpose.SWATCH_SET else "Sample sheet"
    drawing = Drawing(
        page.media, title=f"{kind} {sheet.id}", subject=f"{sheet.pair}, {sheet.purpose}"
    )
    pen = Pen(drawing.canvas, sheet.drive)
    ranges = range_titles(sheet.swatches, sheet.ranges)
    for number, frame in enumerate(frames_of(sheet), start=1):
        drawing.page(page.media, trim_pt=page.trim_pt, bleed_pt=page.bleed_pt)
        _draw_page(pen, sheet, frame, number, notes, ranges)
        drawing.canvas.showPage()
    return drawing.bytes()


def _draw_page(
    pen: Pen,
    sheet: SampleSheet,
    frame: PageFrame,
    number: int,
    notes: Sequence[str],
    ranges: Mapping[str, str],
) -> None:
    if sheet.settings.white_under:  # under the type too, which is not to be read on a dark stock
        pen.under(sheet.settings.white_under, frame.live)
    draw_marks(pen, frame)
    _draw_holes(pen, sheet)
    draw_code(pen, frame, code_text(sheet.id, number))
    draw_head(pen, sheet, frame, number)
    draw_foot(pen, sheet, frame, notes)
    here = [swatch for swatch in sheet.swatches if swatch.page == number]
    both = serves_both(swatch for swatch in sheet.swatches if not swatch.control)
    draw_swatches(pen, here, sheet.settings, both=both, ranges=ranges)
    if sheet.settings.how_to_look and number == min(s.page for s in sheet.swatches if s.for_eye):
        _draw_how_to_look(pen, sheet, here)
    for berth in sheet.berths:
        if berth.page == number:
            _draw_berth(pen, berth, sheet)


def draw_marks(pen: Pen, frame: PageFrame) -> None:
    """Draw the corner marks: a dot in a ring, whose middles agree however the page is turned."""
    pen.black()
    for x, y in frame.marks:
        pen.ring(x, y, MARK_PT / 2 - MARK_RING_PT / 2, MARK_RING_PT)
        pen.dot(x, y, MARK_DOT_PT / 2)


def _draw_holes(pen: Pen, sheet: SampleSheet) -> None:
    """Draw a small cross at each hole's centre."""
    pen.black()
    for hole in sheet.holes:
        pen.cross(hole.x_pt + sheet.bleed_pt, hole.y_pt + sheet.bleed_pt, hole.guide_pt, 0.3)


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


def draw_swatches(
    pen: Pen,
    swatches: Sequence[Swatch],
    settings: SheetSettings,
    *,
    both: bool,
    ranges: Mapping[str, str] | None,
) -> None:
    """Draw the swatches of one page with captions, and what stands above their groups.

    ``both`` and ``ranges`` are as for :func:`~inkaccord.sheets.planning.headings.titles_of`.
    """
    pen.black()
    controls = [swatch for swatch in swatches if swatch.control]
    if controls:
        _draw_control_heading(pen, controls, settings)
    for title in titles_of(swatches, both=both, ranges=ranges):
        y, width = title.bottom + TITLE_PT * 0.35, title.right - title.left
        size, text = settings.label_pt + 1, title.text
        if text_width(text, _SMALLEST_TITLE_PT, BOLD) > width:
            text = text.partition(":")[0]
        pen.text_within(title.left, y, text, width, size, _SMALLEST_TITLE_PT, BOLD)
    for swatch in swatches:
        if swatch.box_pt is not None:
            _draw_swatch(pen, swatch, swatch.box_pt, settings)
    for row in _rows_for_eye(swatches):
        _draw_window(pen, [box for _, box in row])
        _draw_ways(pen, row, settings)


def _draw_control_heading(pen: Pen, controls: Sequence[Swatch], settings: SheetSettings) -> None:
    """Draw what the controls are above the first of them, and what all numbers are."""
    boxes = [swatch.box_pt for swatch in controls if swatch.box_pt is not None]
    left, _, _, top = boxes[0]
    right, base = max(box[2] for box in boxes), top + 4.4
    size, told = settings.label_pt + 0.7, f"All numbers: {numbers_text(controls[0].build.drive)}"
    long, room = _CONTROLS, max(box[2] for box in boxes if box[3] == top) - left
    if text_width(long, size, BOLD) > room:
        long = long.partition(",")[0]
    pen.text(left, base, long, size, BOLD)
    if text_width(long, size, BOLD) + text_width(told, settings.label_pt) + 12 <= room:
        pen.text_right(right, base, told, settings.label_pt)


def _rows_for_eye(swatches: Iterable[Swatch]) -> Iterator[list[tuple[Swatch, Box]]]:
    """Yield each row that is held against one thing."""
    placed = ((s, s.box_pt) for s in swatches if s.for_eye and s.box_pt is not None)
    for _, row in groupby(placed, key=lambda one: (one[1][3], one[0].colour)):
        yield list(row)


def _how_to_look(sheet: SampleSheet) -> Iterator[list[str]]:
    """Yield what each line on how to look may say, the longest first."""
    for texts in _LOOK_TEXTS:
        yield [text.format(sheet=sheet.id) for text in texts]


def _draw_how_to_look(pen: Pen, sheet: SampleSheet, here: Sequence[Swatch]) -> None:
    """Draw three lines on how to look, above the heading of the first swatches for the eye."""
    _, box = next(_rows_for_eye(here))[0]
    left, _, right, _ = sheet.live_pt or box
    label, font = sheet.settings.label_pt, BOLD if sheet.settings.label_bold else REGULAR
    bottom = box[3] + WINDOW_PT + TITLE_PT
    base = bottom + look_height(label) - label
    for number, texts in enumerate(_how_to_look(sheet)):
        fits = [text for text in texts if text_width(text, label, font) <= right - left]
        y = base - number * look_leading(label)
        pen.text_within(left, y, (*fits, texts[-1])[0], right - left, label, _SMALLEST_PT, font)


def _draw_ways(pen: Pen, row: Sequence[tuple[Swatch, Box]], settings: SheetSettings) -> None:
    """Draw which way a ladder runs, below its captions: words at its ends, a line between."""
    label, font = settings.label_pt, BOLD if settings.label_bold else REGULAR
    (first, (left, bottom, _, _)), (last, (_, _, right, _)) = row[0], row[-1]
    room = (right - left) / 2 - _ARROW_PT
    start, end = (
        _ways_text(swatch, room, label, font) if number == 0 or len(row) > 1 else ""
        for number, swatch in enumerate((first, last))
    )
    y = bottom - caption_height(label) - label * 0.72
    middle = y + label * 0.24
    pen.black()
    if start:
        pen.arrow(left, middle, pointing=-1)
        pen.text(left + _ARROW_PT, y, start, label, font)
        left += _ARROW_PT + text_width(start, label, font) + _CLEAR_WORD_PT
    if end:
        pen.arrow(right, middle, pointing=1)
        pen.text_right(right - _ARROW_PT, y, end, label, font)
        right -= _ARROW_PT + text_width(end, label, font) + _CLEAR_WORD_PT
    if (start or end) and right > left:
        pen.line(left, middle, right, middle, 0.3)


def _ways_text(swatch: Swatch, room: float, size: float, font: str) -> str:
    """Return the ways of a swatch, as many as fit, the one that tells most first."""
    for count in range(len(swatch.ways), 0, -1):
        text = ", ".join(swatch.ways[:count])
        if text_width(text, size, font) <= room:
            return text
    return ""


def _draw_window(pen: Pen, row: Sequence[Box]) -> None:
    """Draw the window above a row: its lower edge runs through the swatches, between the ticks.

    What stands in it is cut away with it.
    """
    left, right, bottom = row[0][0], row[-1][2], row[0][3]
    top, above = bottom + WINDOW_PT, bottom + OVERRUN_PT + _CLEAR_PT
    pen.black()
    pen.dashed(left, top, right, top)
    for x in (left, right):
        pen.dashed(x, above, x, top)
    for (_, _, before, _), (after, _, _, _) in pairwise(row):
        pen.line(before + _CLEAR_PT, bottom, after - _CLEAR_PT, bottom, 0.35)
    room = right - left - 8
    fits = [text for text in _WINDOW_TEXTS if text_width(text, _WINDOW_TEXT_PT) <= room]
    if fits:
        pen.text(
            (left + right - text_width(fits[0], _WINDOW_TEXT_PT)) / 2,
            above + 1.6,
            fits[0],
            _WINDOW_TEXT_PT,
        )


def _draw_berth(pen: Pen, berth: Berth, sheet: SampleSheet) -> None:
    """Draw the frame where a thing is laid; above it whose, below it what to do then."""
    left, bottom, right, top = berth.box_pt
    pen.black()
    for x0, y0, x1, y1 in (
        (left, bottom, right, bottom),
        (right, bottom, right, top),
        (right, top, left, top),
        (left, top, left, bottom),
    ):
        pen.line(x0, y0, x1, y1, 0.35)
    size, text = sheet.settings.label_pt + 1, f"{berth.colour}: lay the thing here"
    if text_width(text, _SMALLEST_TITLE_PT, BOLD) > right - left:
        text = berth.colour
    pen.text_within(left, top + 4.4, text, right - left, size, _SMALLEST_TITLE_PT, BOLD)
    told = f"record {sheet.id} SCAN --thing {berth.colour}"
    pen.text_within(left, bottom - 8.0, told, right - left, sheet.settings.label_pt, _SMALLEST_PT)


def _draw_swatch(pen: Pen, swatch: Swatch, box: Box, settings: SheetSettings) -> None:
    left, bottom, right, top = box
    overrun = OVERRUN_PT if swatch.for_eye else 0.0
    pen.build(swatch.build)
    pen.fill_boxes([(left, bottom, right - left, top + overrun - bottom)])
    pen.black()
    if is_faint(swatch.build):
        pen.corners(Box(left, bottom, right, top + overrun))
    label, width = settings.label_pt, right - left
    font = BOLD if settings.label_bold else REGULAR
    id_size = min(label + 1, (label + 1) * width / max(1.0, text_width(swatch.id, label + 1, BOLD)))
    y = bottom - CAPTION_GAP_PT - 0.72 * (label + 1)
    pen.text(left, y, swatch.id, id_size, BOLD)
    _draw_numbers(pen, swatch.build, left, y - label - 0.6, width, label, font)


def _draw_numbers(
    pen: Pen, build: Build, x: float, y: float, width: float, label: float, font: str
) -> None:
    """Set the numbers of a build apart by two spaces, or by what the width leaves."""
    text = build_text(build)
    spaced = text.replace(" ", "  ")
    if text_width(spaced, label, font) <= width:
        pen.text(x, y, spaced, label, font)
        return
    size = fitted_size(text, width, label, font)
    words = text.split(" ")
    widths = [text_width(word, size, font) for word in words]
    gap = (width - sum(widths)) / (len(words) - 1)
    for word, wide in zip(words, widths, strict=True):
        pen.text(x, y, word, size, font)
        x += wide + gap


def fitted_size(text: str, width_pt: float, size_pt: float, font: str) -> float:
    """Return a type size at which numbers fit: they are never cut short.

    Columns are wide enough for the size that was asked for, save on sheets of earlier versions.
    """
    wide = text_width(text, size_pt, font)
    return size_pt if wide <= width_pt else max(_SMALLEST_PT, size_pt * width_pt / wide)


def is_faint(build: Build) -> bool:
    """Tell whether a swatch can hardly be told from white paper, so its corners are marked."""
    if build.drive is Drive.CMYK:
        return sum(build.values) <= _FAINT_INK
    return min(build.values) >= _FAINT_LIGHT
