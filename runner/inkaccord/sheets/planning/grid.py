"""The grid of a page: how wide its columns are, and how high its rows with their captions."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inkaccord.colour.builds import Build
from inkaccord.diagnostics import error
from inkaccord.errors import OrderError
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.units import PT_PER_MM

CAPTION_GAP_PT = 2.8
"""Clear paper between a swatch and the type below it."""
ROW_GAP_PT = 6.5
"""Clear paper between a caption and the next row."""

_CONTROL_GUTTER_PT = 5.67  # 2 mm
_HALF_GUTTER_PT = 2 * PT_PER_MM
_AISLE_PT = 6 * PT_PER_MM
"""Clear paper between the ladders of two colours that stand side by side, and between swatches
there."""
_NARROWEST_PT = 17.5 * PT_PER_MM
"""Swatches for the eye that stand so are at least so wide: at half a metre that is two degrees."""
_FEWEST_COLUMNS = 4
"""Swatches for the eye are no wider than so many of them fill the measure."""
_DIGIT_EM, _SPACE_EM, _POINT_EM = 0.513, 0.2, 0.275
"""Widths in our bold typeface; the regular one is no wider."""


@dataclass(frozen=True)
class Grid:
    """Columns of equal width over the measure, and the height of a row with its caption."""

    columns: int
    swatch_width: float
    swatch_height: float
    gutter: float
    caption: float
    aisle: float = 0.0
    """What is wider in the middle, where the ladders of two colours stand side by side."""

    def column_left(self, column: int) -> float:
        """Return how far a column begins from the left of the measure."""
        across = self.aisle if column >= self.columns // 2 else 0.0
        return column * (self.swatch_width + self.gutter) + across

    @property
    def pitch(self) -> float:
        """Distance from one row to the next."""
        return self.swatch_height + self.caption + ROW_GAP_PT


def build_text(build: Build) -> str:
    """Return the numbers of a build as they stand below its swatch."""
    return " ".join(f"{round(value, 2):g}" for value in build.values)


def numbers_width(text: str, size_pt: float) -> float:
    """Return the room that numbers take at a type size, in either weight."""
    spaces, points = text.count(" "), text.count(".")
    digits = len(text) - spaces - points
    return size_pt * (digits * _DIGIT_EM + spaces * _SPACE_EM + points * _POINT_EM)


def caption_height(label_pt: float) -> float:
    """Return the height of a swatch's caption of two lines, with the gap above it."""
    return CAPTION_GAP_PT + 2 * label_pt + 1.7


def too_small(page: SheetFormat, what: str) -> OrderError:
    """Return what to raise for a page that has no room for something."""
    return OrderError(
        error(
            "sheet-too-small",
            f"a sample sheet of {page.size} has no room for {what}",
            hint="choose a larger size for the sample sheets, or smaller swatches",
        )
    )


def _grid(measure: float, width: float, height: float, gutter: float, label: float) -> Grid:
    columns = max(1, int((measure + gutter + 0.01) // (width + gutter)))
    fitted = (measure - (columns - 1) * gutter) / columns
    return Grid(columns, fitted, height, gutter, caption_height(label))


def _narrowest(side: float, builds: Iterable[Build], label: float) -> float:
    """Return how narrow columns may be: as a swatch's side, or as the widest numbers below one."""
    return max([side, *(numbers_width(build_text(build), label) for build in builds)])


def swatch_grid(page: SheetFormat, settings: SheetSettings, builds: Iterable[Build]) -> Grid:
    """Return the grid of the swatches on a page, with columns wide enough for the numbers.

    ``builds`` are all of the sheet's, the controls among them.
    """
    left, _, right, _ = settings.live_area(page)
    size, label = settings.swatch_size(page.size), settings.label_pt
    width = _narrowest(size.width_pt, builds, label)
    return _grid(right - left, width, size.height_pt, settings.gutter_pt, label)


def eye_grid(
    page: SheetFormat, settings: SheetSettings, usual: Grid, ladders: Iterable[int]
) -> Grid:
    """Return the grid of swatches for the eye: as wide as the longest ladder lets them be.

    ``ladders`` are how many swatches stand in each. Raises OrderError where two would stand side by
    side and their swatches would be too narrow.
    """
    left, _, right, _ = settings.live_area(page)
    longest = max(ladders, default=usual.columns)
    columns = min(usual.columns, max(longest, _FEWEST_COLUMNS))
    gutter, aisle, measure = usual.gutter, 0.0, right - left
    if settings.side_by_side:
        gutter = min(gutter, _HALF_GUTTER_PT)
        aisle = _AISLE_PT - gutter
        most = int((measure - aisle + gutter) / 2 // (_NARROWEST_PT + gutter))
        if most < _FEWEST_COLUMNS:
            raise too_small(page, "the ladders of two colours side by side")
        columns = 2 * min(max(longest, _FEWEST_COLUMNS), most)
    width = (measure - (columns - 1) * gutter - aisle) / columns
    height = max(settings.eye_height_pt or usual.swatch_height, usual.swatch_height)
    return Grid(columns, width, height, gutter, usual.caption, aisle)


def control_grid(page: SheetFormat, settings: SheetSettings, controls: Sequence[Build]) -> Grid:
    """Return the grid of the controls: small, and in rows of equal length."""
    left, _, right, _ = settings.live_area(page)
    side, label = settings.smallest_side_pt, settings.label_pt
    narrowest = _narrowest(side, controls, label)
    most = _grid(right - left, narrowest, side, _CONTROL_GUTTER_PT, label).columns
    rows = -(-len(controls) // most)
    columns = -(-len(controls) // rows)
    width = (right - left - (columns - 1) * _CONTROL_GUTTER_PT) / columns
    return Grid(columns, width, side, _CONTROL_GUTTER_PT, caption_height(label))
