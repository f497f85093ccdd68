"""Placing swatches in rows over pages, with their ids.

Rows are lettered through the whole sheet and columns numbered, so B7 is found without a search.
Groups that fit side by side share a row.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.colour.builds import Build
from inkaccord.diagnostics import error
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sheets.controls import CONTROL_PREFIX
from inkaccord.sheets.frame import PageFrame, page_frame
from inkaccord.sheets.model import Swatch
from inkaccord.sheets.naming import row_name
from inkaccord.sheets.settings import Box, SheetFormat, SheetSettings, rounded

CAPTION_GAP_PT = 2.8
"""Clear paper between a swatch and the type below it."""
TITLE_PT = 11.0
"""Height of the line that names the colour of the swatches below it."""

_ROW_GAP_PT = 6.5
_CONTROL_GUTTER_PT = 5.67  # 2 mm


class Group(Frozen):
    """Builds that belong together; ``colour`` is the brand colour they serve, if one."""

    builds: tuple[Build, ...]
    colour: str | None = None


class Placed(Frozen):
    """Swatches with ids and boxes, and how many pages they take."""

    swatches: tuple[Swatch, ...]
    pages: int
    live_pt: Box


@dataclass(frozen=True)
class Grid:
    """Columns of equal width over the measure, and the height of a row with its caption."""

    columns: int
    swatch_width: float
    swatch_height: float
    gutter: float
    caption: float

    @property
    def pitch(self) -> float:
        """Distance from one row to the next."""
        return self.swatch_height + self.caption + _ROW_GAP_PT


def caption_height(label_pt: float) -> float:
    """Return the height of a swatch's caption of two lines, with the gap above it."""
    return CAPTION_GAP_PT + 2 * label_pt + 1.7


def _too_small(page: SheetFormat, what: str) -> OrderError:
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


def swatch_grid(page: SheetFormat, settings: SheetSettings) -> Grid:
    """Return the grid of the swatches on a page."""
    left, _, right, _ = settings.live_area(page)
    size = settings.swatch_size(page.size)
    return _grid(right - left, size.width_pt, size.height_pt, settings.gutter_pt, settings.label_pt)


def control_grid(page: SheetFormat, settings: SheetSettings, count: int) -> Grid:
    """Return the grid of the controls: small, and in rows of equal length."""
    left, _, right, _ = settings.live_area(page)
    side = settings.smallest_side_pt
    most = _grid(right - left, side, side, _CONTROL_GUTTER_PT, settings.label_pt).columns
    rows = -(-count // most)
    columns = -(-count // rows)
    width = (right - left - (columns - 1) * _CONTROL_GUTTER_PT) / columns
    return Grid(columns, width, side, _CONTROL_GUTTER_PT, caption_height(settings.label_pt))


def _rows(
    groups: Sequence[Group], columns: int, *, flowing: bool
) -> Iterator[list[tuple[str | None, Build]]]:
    """Yield rows of (colour, build): a group starts a new row unless all of it fits, or flows."""
    row: list[tuple[str | None, Build]] = []
    for group in groups:
        if row and not flowing and len(row) + len(group.builds) > columns:
            yield row
            row = []
        for build in group.builds:
            if len(row) == columns:
                yield row
                row = []
            row.append((group.colour, build))
    if row:
        yield row


def _box(grid: Grid, left: float, top: float, column: int) -> Box:
    x = left + column * (grid.swatch_width + grid.gutter)
    return rounded((x, top - grid.swatch_height, x + grid.swatch_width, top))


def _place_controls(
    controls: Sequence[Build], grid: Grid, frame: PageFrame
) -> tuple[list[Swatch], float]:
    """Return the controls at the bottom of the body, and the lower limit of what is above."""
    left, bottom, _, _ = frame.body
    rows = -(-len(controls) // grid.columns)
    top = bottom + rows * grid.pitch - _ROW_GAP_PT
    swatches = [
        Swatch(
            id=f"{CONTROL_PREFIX}{number + 1}",
            build=build,
            control=True,
            box_pt=_box(
                grid, left, top - number // grid.columns * grid.pitch, number % grid.columns
            ),
        )
        for number, build in enumerate(controls)
    ]
    return swatches, top + TITLE_PT + _ROW_GAP_PT


def _row_height(grid: Grid, row: Sequence[tuple[str | None, Build]], shown: str | None) -> float:
    """Return the height of a row, with a line for titles where a colour begins in it."""
    titled = any(colour is not None and colour != shown for colour, _ in row)
    return grid.swatch_height + grid.caption + (TITLE_PT if titled else 0.0)


def place(
    groups: Sequence[Group],
    controls: Sequence[Build],
    page: SheetFormat,
    settings: SheetSettings,
    *,
    first_row: int = 0,
) -> Placed:
    """Place groups in rows, and the controls at the bottom of the first page.

    Each group starts a row of its own unless that would cost a page.

    Parameters
    ----------
    first_row
        Number of the first row, from 0; additions to a deck go on where the deck ended.

    Raises
    ------
    OrderError
        ``sheet-too-small``: not one swatch fits on a page.
    """
    tidy = _place(groups, controls, page, settings, first_row, flowing=False)
    if tidy.pages == 1:
        return tidy
    flowing = _place(groups, controls, page, settings, first_row, flowing=True)
    return flowing if flowing.pages < tidy.pages else tidy


def _place(
    groups: Sequence[Group],
    controls: Sequence[Build],
    page: SheetFormat,
    settings: SheetSettings,
    first_row: int,
    *,
    flowing: bool,
) -> Placed:
    live = settings.live_area(page)
    grid = swatch_grid(page, settings)
    pages = 1
    frame = page_frame(live, settings, first=True)
    swatches, floor = (
        _place_controls(controls, control_grid(page, settings, len(controls)), frame)
        if controls
        else ([], frame.body[1])
    )
    cursor = frame.body[3]
    if floor > cursor + TITLE_PT or grid.swatch_width < settings.smallest_side_pt - 0.01:
        raise _too_small(page, "its control swatches")
    shown: str | None = None
    for number, row in enumerate(_rows(groups, grid.columns, flowing=flowing), start=first_row):
        height = _row_height(grid, row, shown)
        if cursor - height < floor:
            pages += 1
            frame, shown = page_frame(live, settings, first=False), None
            cursor, floor = frame.body[3], frame.body[1]
            height = _row_height(grid, row, shown)
        if cursor - height < floor:
            raise _too_small(page, "a row of swatches")
        top = cursor - height + grid.caption + grid.swatch_height
        swatches += [
            Swatch(
                id=f"{row_name(number)}{column + 1}",
                build=build,
                colour=colour,
                page=pages,
                box_pt=_box(grid, live[0], top, column),
            )
            for column, (colour, build) in enumerate(row)
        ]
        shown = row[-1][0]
        cursor -= height + _ROW_GAP_PT
    swatches.sort(key=_reading_order)
    return Placed(swatches=tuple(swatches), pages=pages, live_pt=live)


def _reading_order(swatch: Swatch) -> tuple[int, float, float]:
    """Order page by page, rows from the top, from the left: the way a person reads them in."""
    left, _, _, top = swatch.box_pt or (0.0, 0.0, 0.0, 0.0)
    return swatch.page, -top, left
