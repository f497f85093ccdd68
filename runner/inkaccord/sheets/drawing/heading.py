"""The head and foot of a sheet: what it is, what to fill in, how to record, how to check size."""

from collections.abc import Sequence

from inkaccord.colour.builds import Drive
from inkaccord.drawing.canvas import BOLD, fit_text, text_width
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.frame import MARK_PT, PageFrame
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sizes import Box, Size
from inkaccord.units import PT_PER_IN, PT_PER_MM, inch, mm

_LABEL_PT = 5.6
_VALUE_PT = 8.4
_SMALLEST_VALUE_PT = 6.2
_RUNNING_PT = 9.5
_NOTE_PT = 6.6
_SMALL_NOTE_PT = 5.4
_INDENT_PT = MARK_PT + 6
_ROOM_FOR_ALL = 7

_NOTE = (
    "Print at 100 %, without colour conversion.",
    "The ruler tells whether the size is right.",
)
_SHORT_NOTE = ("Print at 100 %,", "no colour conversion.")
_SHORTEST_NOTE = "Print at 100 %."

_INSTEAD_OF_PICKS = "To be read with an instrument: the eye can't tell drift."

_PURPOSES = {
    Purpose.SCOUTING: "Scouting: the first look at this pair",
    Purpose.CLOSING_IN: "Closing in: a few steps round each colour",
    Purpose.PROOF: "Proof: the build chosen for each colour",
    Purpose.CONTROLS: "Controls: has this pair drifted?",
    Purpose.SWATCH_SET: "Swatch set: this pair's whole range",
    Purpose.IMPORTED: "",
}


def _cells(sheet: SampleSheet, room: int) -> tuple[tuple[str, str], ...]:
    """Return labels and values; a cell without a value gets a line to write on."""
    white = sheet.settings.white_under
    told = (
        ("Device", sheet.pair.device),
        ("Stock", f"{sheet.pair.stock}, plate {white} under all" if white else sheet.pair.stock),
        ("Driver setting", sheet.pair.setting or "the device's own"),
        (
            "Swatch set" if sheet.purpose is Purpose.SWATCH_SET else "Order",
            sheet.order or str(sheet.date),
        ),
    )
    if room < _ROOM_FOR_ALL:
        return (*told, ("Printed on", ""), ("Picked by, under which light", ""))
    return (
        *told,
        ("Printed on", ""),
        ("Picked by", ""),
        ("Under which light", ""),
        ("Read with", ""),
    )


def numbers_text(drive: Drive) -> str:
    """Return what the numbers below the swatches are."""
    return "C M Y K in percent" if drive is Drive.CMYK else "R G B from 0 to 255"


def size_text(size: Size) -> str:
    """Return a page's size the way metric users and inch users read it."""
    inches = f"{_inches(size.width_pt)} × {_inches(size.height_pt)} in"
    return f"{mm(size.width_pt):.0f} × {mm(size.height_pt):.0f} mm, {inches}"


def _inches(length_pt: float) -> str:
    """Return inches in full where they are whole eighths, else to a hundredth."""
    length = inch(length_pt)
    exact = abs(length * 8 - round(length * 8)) < 1e-3
    return f"{round(length, 3 if exact else 2):g}"


def draw_head(pen: Pen, sheet: SampleSheet, frame: PageFrame, page: int) -> None:
    """Draw the running line between the upper marks, the cells and the rule below them."""
    left, _, right, top = frame.live
    base = top - MARK_PT / 2 - _RUNNING_PT * 0.33
    pen.black()
    pen.text(left + _INDENT_PT, base, sheet.id, _RUNNING_PT, BOLD)
    start = left + _INDENT_PT + text_width(sheet.id, _RUNNING_PT, BOLD) + 10
    pages = f"page {page} of {sheet.pages}" if sheet.pages > 1 else size_text(sheet.size)
    end = right - _INDENT_PT - text_width(pages, _VALUE_PT) - 10
    titles = sheet.page_titles
    title = titles[page - 1] if page <= len(titles) else _PURPOSES[sheet.purpose]
    for mark in (",", ",", ":"):  # a shorter title is better than one cut short
        if text_width(title, _SMALLEST_VALUE_PT) > end - start:
            title = title.rpartition(mark)[0]
    pen.text_within(start, base, title, end - start, _VALUE_PT, _SMALLEST_VALUE_PT)
    pen.text_right(right - _INDENT_PT, base, pages, _VALUE_PT)
    for cell, (label, value) in zip(frame.cells, _cells(sheet, len(frame.cells)), strict=False):
        _draw_cell(pen, cell, label, value)
    pen.line(left, frame.rule_y, right, frame.rule_y)


def _draw_cell(pen: Pen, cell: Box, label: str, value: str) -> None:
    left, _, right, top = cell
    pen.text(left, top - _LABEL_PT * 0.75, label, _LABEL_PT)
    base = top - _LABEL_PT * 0.75 - _VALUE_PT
    if value:
        pen.text_within(left, base, value, right - left, _VALUE_PT, _SMALLEST_VALUE_PT)
    else:
        pen.line(left, base - 1, right, base - 1, 0.3)


def draw_foot(
    pen: Pen,
    sheet: SampleSheet,
    frame: PageFrame,
    notes: Sequence[str],
) -> None:
    """Draw how to record between the lower marks, and the ruler above where there is room.

    Of the notes the first stands there, or on narrow pages the first that fits.
    """
    notes = [note[:1].upper() + note[1:] for note in notes]
    left, bottom, right, _ = frame.live
    room = right - left - 2 * _INDENT_PT
    middle = bottom + MARK_PT / 2
    reading = f"Readings:  inkaccord record {sheet.id} FILE"
    pick = _INSTEAD_OF_PICKS
    if sheet.purpose is not Purpose.CONTROLS:
        # Where nothing was made for the eye, the person says for which colour to look at all.
        named = "" if any(it.for_eye for it in sheet.swatches) else " --colour NAME"
        pick = f"By eye:  inkaccord look {sheet.id}{named}"
    pen.black()
    ruled = frame.foot[3] > frame.foot[1]
    if ruled and text_width(reading + pick, _NOTE_PT) + 20 <= room:
        base = middle - _NOTE_PT * 0.33
        pen.text(left + _INDENT_PT, base, reading, _NOTE_PT)
        pen.text_right(right - _INDENT_PT, base, pick, _NOTE_PT)
    else:
        size = min(_SMALL_NOTE_PT, _SMALL_NOTE_PT * room / text_width(pick, _SMALL_NOTE_PT))
        lines = (middle + 1.1, middle - size + 1.0)
        pen.text(left + _INDENT_PT, lines[0], reading, size)
        pen.text(left + _INDENT_PT, lines[1], pick, size)
        if not ruled:
            free = room - text_width(pick, size) - 8
            fitting = [note for note in notes if text_width(note, size) <= free]
            short = (fitting[0], _SHORTEST_NOTE) if fitting else _SHORT_NOTE
            for line, base in zip(short, lines, strict=True):
                pen.text_right(right - _INDENT_PT, base, fit_text(line, free, size), size)
    if ruled:
        _draw_ruler(pen, frame.foot, notes)


def _draw_ruler(pen: Pen, box: Box, notes: Sequence[str]) -> None:
    """Draw a scale in millimetres above the line and in inches below it."""
    left, bottom, right, top = box
    left += 0.2  # the first tick's own width
    line = (bottom + top) / 2 + 1
    whole_in = 4 if right - left >= 6 * PT_PER_IN else 2
    length_mm = whole_in * 25
    length = max(length_mm * PT_PER_MM, whole_in * PT_PER_IN)
    pen.line(left, line, left + length, line, 0.3)
    for step in range(length_mm + 1):
        tall = 5.0 if step % 10 == 0 else 3.6 if step % 5 == 0 else 2.2
        x = left + step * PT_PER_MM
        pen.line(x, line, x, line + tall, 0.25)
    pen.text(left + length + 4, line + 1.6, f"{length_mm} mm", _LABEL_PT)
    for step in range(whole_in * 8 + 1):
        tall = 5.0 if step % 8 == 0 else 3.6 if step % 4 == 0 else 2.2
        x = left + step * PT_PER_IN / 8
        pen.line(x, line, x, line - tall, 0.25)
    pen.text(left + length + 4, line - 5.2, f"{whole_in} in", _LABEL_PT)
    start = left + length + 40
    for number, text in enumerate((*notes[:1], *_NOTE)):
        base = top - _NOTE_PT * 0.8 - number * (_NOTE_PT + 1.4)
        pen.text_right(right, base, fit_text(text, right - start, _NOTE_PT), _NOTE_PT)
