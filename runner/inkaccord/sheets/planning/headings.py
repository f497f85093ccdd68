"""What stands above swatches: which colour they serve, and whether the eye or the instrument."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple, Protocol

from inkaccord.sheets.model import Swatch
from inkaccord.units import PT_PER_MM

TITLE_PT = 11.0
"""Height of the line that names the colour of the swatches below it."""
WINDOW_PT = 6 * PT_PER_MM
"""Height of the window above swatches for the eye. Cut out, it lets the thing be seen right beside
them."""
_APART_PT = 4.0
"""Clear paper between two of them."""
OVERRUN_PT = 2 * PT_PER_MM
"""How far such swatches run on into their window, so that a cut that wanders shows no paper."""

LOOK_LINES = 3
"""Lines on how to look, above the first swatches for the eye."""
_LEADING = 1.22
"""From one of them to the next, as a share of their type size."""
_LOOK_GAP_PT = 4.5
"""Clear paper below them."""


def look_leading(label_pt: float) -> float:
    """Return how far the lines on how to look stand apart."""
    return _LEADING * label_pt


def look_height(label_pt: float) -> float:
    """Return the height of all of them, with the gap below."""
    return LOOK_LINES * look_leading(label_pt) + _LOOK_GAP_PT


def ways_height(label_pt: float) -> float:
    """Return the height of the line below a ladder's captions that says which way it runs."""
    return label_pt + 3.0


class Serving(Protocol):
    """What says whom it serves: a swatch, or a group of them."""

    @property
    def colour(self) -> str | None:
        """The brand colour, if one."""

    @property
    def for_eye(self) -> bool:
        """Whether it is held against the thing."""


def heading(one: Serving, *, both: bool) -> str:
    """Return what stands above swatches: their colour, and whom they are for.

    ``both`` tells that the sheet has swatches for the eye and others for the instrument.
    """
    if one.for_eye:
        return f"{one.colour}: to hold against the thing"
    if not both:
        return one.colour or ""
    return f"{one.colour}: for the instrument" if one.colour else "For the instrument"


def serves_both(swatches: Iterable[Serving]) -> bool:
    """Tell whether some are for the eye and others for the instrument."""
    return len({one.for_eye for one in swatches}) == 2


class Title(NamedTuple):
    """What stands above the first of a group's swatches on a row."""

    text: str
    left: float
    right: float
    bottom: float


def titles_of(
    page: Sequence[Swatch], *, both: bool, ranges: Mapping[str, str] | None = None
) -> tuple[Title, ...]:
    """Return the titles of one page's swatches: where a group begins, and first on the page.

    ``both`` tells that the sheet serves the eye and the instrument; ``ranges`` what a swatch set's
    swatches stand under, by their ids.
    """
    ranges = ranges or {}
    found: list[Title] = []
    shown, above = "", set[tuple[str, float]]()
    placed = [(swatch, swatch.box_pt) for swatch in page if swatch.box_pt and not swatch.control]
    right = max((box[2] for _, box in placed), default=0.0)
    for _, line in groupby(placed, key=lambda one: one[1][3]):
        row, starts = list(line), set[tuple[str, float]]()
        ends = [*(box[0] - _APART_PT for _, box in row[1:]), right]
        for text, run in groupby(
            zip(row, ends, strict=True),
            key=lambda one: ranges.get(one[0][0].id) or heading(one[0][0], both=both),
        ):
            ones = list(run)
            (swatch, (left, _, _, top)), end = ones[0][0], ones[-1][1]
            # Ladders of two colours side by side go on below themselves.
            if text not in ("", shown) and not (swatch.for_eye and (text, left) in above):
                bottom = top + (WINDOW_PT if swatch.for_eye else 0.0)
                found.append(Title(text, left, end, bottom))
            shown = text
            starts.add((text, left))
        above = starts
    return tuple(found)
