"""Placing swatches in rows over pages, with their ids.

Rows are lettered through the whole sheet and columns numbered, so B7 is found without a search.
Groups that fit side by side share a row.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

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
_SLACK_PT = 0.01
_CONTROL_GUTTER_PT = 5.67  # 2 mm


class Group(Frozen):
    """Builds that belong together; ``colour`` is the brand colour they serve, if one."""

    builds: tuple[Build, ...]
    colour: str | None = None
    title: str = ""
    """What the head of the group's pages says, where it isn't the same for all pages."""
    starts_page: bool = False


class Placed(Frozen):
    """Swatches with ids and boxes, and how many pages they take."""

    swatches: tuple[Swatch, ...]
    pages: int
    live_pt: Box
    page_titles: tuple[str, ...] = ()
    """For each page the title of its first group; empty when no group has one."""


@dataclass(frozen=True)
class _Row:
    """Swatches side by side, as (group, build)."""

    cells: tuple[tuple[Group, Build], ...]
    starts_page: bool

    def titled(self, shown: str | None) -> bool:
        """Tell whether a colour begins in the row, after a row that ended with ``shown``."""
        before = (shown, *(group.colour for group, _ in self.cells))
        return any(
            group.colour is not None and group.colour != earlier
            for (group, _), earlier in zip(self.cells, before, strict=False)
        )


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


def _rows(groups: Sequence[Group], columns: int, *, flowing: bool) -> Iterator[_Row]:
    """Yield rows: a group starts a new row unless all of it fits in the last one, or flows."""
    row: list[tuple[Group, Build]] = []
    new_page = False
    for group in groups:
        fits = flowing or len(row) + len(group.builds) <= columns
        if row and (group.starts_page or not fits):
            yield _Row(tuple(row), new_page)
            row, new_page = [], False
        new_page = new_page or group.starts_page
        for build in group.builds:
            if len(row) == columns:
                yield _Row(tuple(row), new_page)
                row, new_page = [], False
            row.append((group, build))
    if row:
        yield _Row(tuple(row), new_page)


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


def _row_height(grid: Grid, row: _Row, shown: str | None) -> float:
    """Return the height of a row, with a line for titles where a colour begins in it."""
    title = TITLE_PT if row.titled(shown) else 0.0
    return grid.swatch_height + grid.caption + title


@dataclass(frozen=True)
class Capacity:
    """How many swatches without titles a page takes."""

    columns: int
    first_rows: int
    rows: int

    @property
    def first(self) -> int:
        """Swatches on the first page, beside the controls."""
        return self.columns * self.first_rows

    @property
    def later(self) -> int:
        """Swatches on any other page."""
        return self.columns * self.rows


def capacity(page: SheetFormat, settings: SheetSettings, controls: Sequence[Build]) -> Capacity:
    """Return how many swatches the pages take. Raises OrderError when it is none."""
    grid = swatch_grid(page, settings)

    def rows(start: _Start) -> int:
        return int((start.top - start.floor + _ROW_GAP_PT + _SLACK_PT) // grid.pitch)

    first = _start(page, settings, controls, first=True)
    later = _start(page, settings, controls, first=False)
    if rows(later) < 1:
        raise _too_small(page, "a row of swatches")
    return Capacity(grid.columns, rows(first), rows(later))


@dataclass(frozen=True)
class _Start:
    """A page before its first row: what is on it already, and the room that is left."""

    placed: tuple[Swatch, ...]
    top: float
    floor: float


def _start(
    page: SheetFormat, settings: SheetSettings, controls: Sequence[Build], *, first: bool
) -> _Start:
    frame = page_frame(settings.live_area(page), settings, first=first)
    _, bottom, _, top = frame.body
    if not first or not controls:
        return _Start((), top, bottom)
    swatches, floor = _place_controls(controls, control_grid(page, settings, len(controls)), frame)
    if floor > top + TITLE_PT:
        raise _too_small(page, "its control swatches")
    return _Start(tuple(swatches), top, floor)


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
    if tidy.pages == 1 or not any(group.colour for group in groups):
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
    grid = swatch_grid(page, settings)
    if grid.swatch_width < settings.smallest_side_pt - _SLACK_PT:
        raise _too_small(page, "a row of swatches")
    start = _start(page, settings, controls, first=True)
    later = _start(page, settings, controls, first=False)
    live = settings.live_area(page)
    swatches = list(start.placed)
    cursor, floor = start.top, start.floor
    shown: str | None = None
    titles: list[str] = [groups[0].title if groups else ""]
    for number, row in enumerate(_rows(groups, grid.columns, flowing=flowing)):
        height = _row_height(grid, row, shown)
        if cursor - height < floor - _SLACK_PT or (row.starts_page and number > 0):
            cursor, floor, shown = later.top, later.floor, None
            height = _row_height(grid, row, shown)
            titles.append(row.cells[0][0].title)
        if cursor - height < floor - _SLACK_PT:
            raise _too_small(page, "a row of swatches")
        top = cursor - height + grid.caption + grid.swatch_height
        swatches += [
            Swatch(
                id=f"{row_name(first_row + number)}{column + 1}",
                build=build,
                colour=group.colour,
                page=len(titles),
                box_pt=_box(grid, live[0], top, column),
            )
            for column, (group, build) in enumerate(row.cells)
        ]
        shown = row.cells[-1][0].colour
        cursor -= height + _ROW_GAP_PT
    swatches.sort(key=_reading_order)
    return Placed(
        swatches=tuple(swatches),
        pages=len(titles),
        live_pt=live,
        page_titles=tuple(titles) if any(titles) else (),
    )


class Title(NamedTuple):
    """The name of a colour above the first of its swatches on a row."""

    text: str
    left: float
    right: float
    bottom: float


def titles_of(page: Sequence[Swatch]) -> tuple[Title, ...]:
    """Return the titles of one page's swatches: where a colour begins, and first on the page."""
    found: list[Title] = []
    shown: str | None = None
    placed = [(swatch, swatch.box_pt) for swatch in page if swatch.box_pt and not swatch.control]
    for _, row in groupby(placed, key=lambda one: one[1][3]):
        for colour, run in groupby(row, key=lambda one: one[0].colour):
            boxes = [box for _, box in run]
            if colour is not None and colour != shown:
                found.append(Title(colour, boxes[0][0], boxes[-1][2], boxes[0][3]))
            shown = colour
    return tuple(found)


def _reading_order(swatch: Swatch) -> tuple[int, float, float]:
    """Order page by page, rows from the top, from the left: the way a person reads them in."""
    left, _, _, top = swatch.box_pt or (0.0, 0.0, 0.0, 0.0)
    return swatch.page, -top, left
