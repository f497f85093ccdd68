"""Placing swatches in rows over pages, with their ids.

Rows are lettered through the whole sheet and columns numbered, so B7 is found without a search.
Groups that fit side by side share a row.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, groupby, pairwise, zip_longest

from inkaccord.colour.builds import Build
from inkaccord.colour.direction import Direction
from inkaccord.models import Frozen
from inkaccord.sheets.controls import CONTROL_PREFIX
from inkaccord.sheets.frame import PageFrame, page_frame
from inkaccord.sheets.model import Berth, RangeStart, Swatch
from inkaccord.sheets.naming import row_name
from inkaccord.sheets.planning.grid import (
    ROW_GAP_PT,
    Grid,
    control_grid,
    eye_grid,
    swatch_grid,
    too_small,
)
from inkaccord.sheets.planning.headings import (
    TITLE_PT,
    WINDOW_PT,
    heading,
    look_height,
    serves_both,
    ways_height,
)
from inkaccord.sheets.settings import SheetFormat, SheetSettings, rounded
from inkaccord.sizes import Box, Size
from inkaccord.units import PT_PER_MM

_SLACK_PT = 0.01
_BERTH = Size(width_pt=32 * PT_PER_MM, height_pt=22 * PT_PER_MM)
_BERTH_GAP_PT = 5 * PT_PER_MM
"""Clear paper round a berth: a thing reaches beyond its frame."""


class SwatchGroup(Frozen):
    """Builds that belong together; ``colour`` is the brand colour they serve, if one."""

    builds: tuple[Build, ...]
    colour: str | None = None
    title: str = ""
    """What stands above the group and at the head of its pages: the name of a set's range."""
    starts_page: bool = False
    for_eye: bool = False
    """Whether a person holds these against the thing: all of them are printed, in this order,
    the same build twice where it is given twice."""
    ways: tuple[tuple[Direction, ...], ...] = ()
    """Of a ladder, which is a row of its own: for each build the ways from the middle that are
    said below it."""


def builds_in(groups: Iterable[SwatchGroup]) -> Iterator[Build]:
    """Yield the builds of groups, one group after the other."""
    return (build for group in groups for build in group.builds)


class Placed(Frozen):
    """Swatches with ids and boxes, and how many pages they take."""

    swatches: tuple[Swatch, ...]
    pages: int
    live_pt: Box
    ranges: tuple[RangeStart, ...] = ()
    """Where groups with a title begin."""
    berths: tuple[Berth, ...] = ()


@dataclass(frozen=True)
class _Row:
    """Swatches side by side, as (group, which of its builds)."""

    cells: tuple[tuple[SwatchGroup, int], ...]
    starts_page: bool
    in_left_half: int | None = None
    """How many stand in the left half, where the ladders of two colours stand side by side."""

    def column(self, number: int, columns: int) -> int:
        """Return the column of a cell, of so many on the page."""
        if self.in_left_half is None or number < self.in_left_half:
            return number
        return columns // 2 + number - self.in_left_half

    @property
    def ladder_of(self) -> str | None:
        """The colour whose ladder it is, if it is one."""
        group = self.cells[0][0]
        return group.colour if group.ways else None

    @property
    def for_eye(self) -> bool:
        """Whether its swatches are held against the thing; all of a row are or none."""
        return self.cells[0][0].for_eye

    @property
    def says_ways(self) -> bool:
        """Whether a line below its captions says which way a ladder runs."""
        return any(group.ways and group.ways[at] for group, at in self.cells)

    def headings(self, *, both: bool) -> tuple[str, ...]:
        """Return what each of its cells stands below, here or farther up the page."""
        return tuple(_heading(group, both=both) for group, _ in self.cells)

    def titled(self, over: Sequence[str], *, both: bool) -> bool:
        """Tell whether a heading stands in the row, below a row with these headings."""
        now = self.headings(both=both)
        if self.in_left_half is not None:
            return not set(now) <= set(over)
        before = over[-1] if over else ""
        return any(text not in ("", last) for last, text in pairwise((before, *now)))


class _Controls(SwatchGroup):
    """The controls, where they share rows with other swatches."""


def _heading(group: SwatchGroup, *, both: bool) -> str:
    if isinstance(group, _Controls):
        return "Controls"
    return group.title or heading(group, both=both)


def _rows(
    groups: Sequence[SwatchGroup], usual: int, for_eye: int, *, flowing: bool
) -> Iterator[_Row]:
    """Yield rows: a group starts a new row unless all of it fits in the last one, or flows.

    Swatches for the eye share no row with others: a window is cut above all of them. They have
    columns of their own, and a ladder has its row alone.
    """
    row: list[tuple[SwatchGroup, int]] = []
    new_page = False
    for group in groups:
        columns = for_eye if group.for_eye else usual
        flows = isinstance(group, _Controls) or (flowing and not group.for_eye)
        fits = flows or len(row) + len(group.builds) <= columns
        alone = group.starts_page or bool(group.ways) or not fits
        if row and (alone or row[-1][0].for_eye != group.for_eye):
            yield _Row(tuple(row), new_page)
            row, new_page = [], False
        new_page = new_page or group.starts_page
        full = columns
        if group.for_eye and not row:  # rows of equal length, so that none is a remnant
            full = -(-len(group.builds) // -(-len(group.builds) // columns))
        for at in range(len(group.builds)):
            if len(row) >= full:
                yield _Row(tuple(row), new_page)
                row, new_page = [], False
            row.append((group, at))
    if row:
        yield _Row(tuple(row), new_page)


def _side_by_side(rows: Iterable[_Row]) -> Iterator[_Row]:
    """Yield rows in which the ladders of one colour and of the next stand side by side."""
    waiting: list[_Row] = []
    for colour, block in groupby(rows, key=lambda row: row.ladder_of):
        ladders = list(block)
        if colour is not None and waiting:
            yield from (_beside(*both) for both in zip_longest(waiting, ladders))
            waiting = []
        elif colour is not None:
            waiting = ladders
        else:
            yield from (*waiting, *ladders)
            waiting = []
    yield from waiting


def _beside(left: _Row | None, right: _Row | None) -> _Row:
    """Return two rows as one; there is one of them at least."""
    left_cells = left.cells if left else ()
    right_cells = right.cells if right else ()
    starts_page = left is not None and left.starts_page
    return _Row((*left_cells, *right_cells), starts_page, in_left_half=len(left_cells))


def _box(grid: Grid, left: float, top: float, column: int) -> Box:
    x = left + grid.column_left(column)
    return rounded((x, top - grid.swatch_height, x + grid.swatch_width, top))


def _place_controls(
    controls: Sequence[Build], grid: Grid, frame: PageFrame
) -> tuple[list[Swatch], float]:
    """Return the controls at the bottom of the body, and the lower limit of what is above."""
    left, bottom, _, _ = frame.body
    rows = -(-len(controls) // grid.columns)
    top = bottom + rows * grid.pitch - ROW_GAP_PT
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
    return swatches, top + TITLE_PT + ROW_GAP_PT


def _above(row: _Row, over: Sequence[str], *, both: bool) -> float:
    """Return the height of what stands above a row: a line for headings, a window."""
    title = TITLE_PT if row.titled(over, both=both) else 0.0
    return title + (WINDOW_PT if row.for_eye else 0.0)


@dataclass(frozen=True)
class _Start:
    """A page before its first row: what is on it already, and the room that is left."""

    placed: tuple[Swatch, ...]
    top: float
    floor: float


class _Cursor:
    """Where the next row goes, from the top of the first page down."""

    def __init__(self, first: _Start, later: _Start) -> None:
        self.page, self.top, self._floor = 1, first.top, first.floor
        self._later = later

    def has_room(self, height: float) -> bool:
        """Tell whether so much is left of the page."""
        return self.top - height >= self._floor - _SLACK_PT

    def turn(self) -> None:
        """Go on to the next page."""
        self.page, self.top, self._floor = self.page + 1, self._later.top, self._later.floor


def _start(
    page: SheetFormat, settings: SheetSettings, controls: Sequence[Build], *, first: bool
) -> _Start:
    frame = page_frame(settings.live_area(page), settings, first=first)
    _, bottom, _, top = frame.body
    if not controls:
        return _Start((), top, bottom)
    swatches, floor = _place_controls(controls, control_grid(page, settings, controls), frame)
    if floor > top + TITLE_PT:
        raise too_small(page, "its control swatches")
    return _Start(tuple(swatches), top, floor)


def place(
    groups: Sequence[SwatchGroup],
    controls: Sequence[Build],
    page: SheetFormat,
    settings: SheetSettings,
    *,
    first_row: int = 0,
    berths: Sequence[str] = (),
) -> Placed:
    """Place groups in rows, and the controls at the bottom of the first page.

    Each group starts a row of its own unless that would cost a page. On a dense sheet the
    controls go on where the last group ended.

    Parameters
    ----------
    first_row
        Number of the first row, from 0; additions to a swatch set go on where the set ended.
    berths
        Colours whose things are laid on the glass with the sheet, in fields below the groups.

    Raises
    ------
    OrderError
        ``sheet-too-small``: not one swatch fits on a page.
    """
    below: Sequence[Build] = controls
    if settings.dense:
        below, groups = (), (*groups, _Controls(builds=tuple(controls)))
    tidy = _place(groups, below, page, settings, first_row, berths, flowing=False)
    if tidy.pages == 1 or not any(group.colour or group.title for group in groups):
        return tidy
    flowing = _place(groups, below, page, settings, first_row, berths, flowing=True)
    return flowing if flowing.pages < tidy.pages else tidy


def _place(
    groups: Sequence[SwatchGroup],
    controls: Sequence[Build],
    page: SheetFormat,
    settings: SheetSettings,
    first_row: int,
    berths: Sequence[str],
    *,
    flowing: bool,
) -> Placed:
    usual = swatch_grid(page, settings, [*controls, *builds_in(groups)])
    if usual.swatch_width < settings.smallest_side_pt - _SLACK_PT:
        raise too_small(page, "a row of swatches")
    large = eye_grid(page, settings, usual, (len(it.builds) for it in groups if it.ways))
    start = _start(page, settings, controls, first=True)
    cursor = _Cursor(start, _start(page, settings, (), first=False))
    live = settings.live_area(page)
    both = serves_both(group for group in groups if not isinstance(group, _Controls))
    longest = large.columns // 2 if settings.side_by_side else large.columns
    rows = list(_rows(groups, usual.columns, longest, flowing=flowing))
    if settings.side_by_side:
        rows = list(_side_by_side(rows))
    explained = next((row for row in rows if row.for_eye), None) if settings.how_to_look else None
    swatches, ranges = list(start.placed), list[RangeStart]()
    numbers, over = count(1), tuple[str, ...]()
    for number, row in enumerate(rows):
        grid = large if row.for_eye else usual
        below = grid.swatch_height + grid.caption
        below += ways_height(settings.label_pt) if row.says_ways else 0.0
        lines = look_height(settings.label_pt) if row is explained else 0.0
        above = lines + _above(row, over, both=both)
        if not cursor.has_room(above + below) or (row.starts_page and number > 0):
            cursor.turn()
            above = lines + _above(row, (), both=both)
        if not cursor.has_room(above + below):
            raise too_small(page, "a row of swatches")
        name, top = row_name(first_row + number), cursor.top - above
        placed = list(_row_swatches(row, name, grid, (live.left, top), cursor.page, numbers))
        swatches += placed
        ranges += [
            RangeStart(swatch.id, group.title)
            for (group, at), swatch in zip(row.cells, placed, strict=True)
            if group.title and at == 0
        ]
        over = row.headings(both=both)
        cursor.top -= above + below + ROW_GAP_PT
    fields: list[Berth] = []
    height = TITLE_PT + _BERTH.height_pt + 2 * _BERTH_GAP_PT
    for colours in _berth_rows(berths, live):
        if not cursor.has_room(height):
            cursor.turn()
        if not cursor.has_room(height):
            raise too_small(page, "a field for a thing on the glass")
        fields += _berths(colours, live.left, cursor.top - TITLE_PT - _BERTH_GAP_PT, cursor.page)
        cursor.top -= height
    swatches.sort(key=_reading_order)
    return Placed(
        swatches=tuple(swatches),
        pages=cursor.page,
        live_pt=live,
        ranges=tuple(ranges),
        berths=tuple(fields),
    )


def _row_swatches(
    row: _Row,
    name: str,
    grid: Grid,
    corner: tuple[float, float],
    page: int,
    numbers: Iterator[int],
) -> Iterator[Swatch]:
    """Yield the swatches of a row from its upper left corner on; ``numbers`` are its controls'."""
    for number, (group, at) in enumerate(row.cells):
        column = row.column(number, grid.columns)
        control = isinstance(group, _Controls)
        yield Swatch(
            id=f"{CONTROL_PREFIX}{next(numbers)}" if control else f"{name}{column + 1}",
            build=group.builds[at],
            control=control,
            colour=group.colour,
            for_eye=group.for_eye,
            ways=group.ways[at] if group.ways else (),
            page=page,
            box_pt=_box(grid, *corner, column),
        )


def _berth_rows(colours: Sequence[str], live: Box) -> Iterator[Sequence[str]]:
    """Yield the colours whose berths stand side by side."""
    pitch = _BERTH.width_pt + _BERTH_GAP_PT
    most = max(1, int((live.width + _BERTH_GAP_PT + _SLACK_PT) // pitch))
    for first in range(0, len(colours), most):
        yield colours[first : first + most]


def _berths(colours: Sequence[str], left: float, top: float, page: int) -> Iterator[Berth]:
    """Yield the berths of one row."""
    for column, colour in enumerate(colours):
        x = left + column * (_BERTH.width_pt + _BERTH_GAP_PT)
        box = rounded((x, top - _BERTH.height_pt, x + _BERTH.width_pt, top))
        yield Berth(colour=colour, page=page, box_pt=box)


def _reading_order(swatch: Swatch) -> tuple[int, float, float]:
    """Order page by page, rows from the top, from the left: the way a person reads them in."""
    left, _, _, top = swatch.box_pt or (0.0, 0.0, 0.0, 0.0)
    return swatch.page, -top, left
