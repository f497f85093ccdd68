"""Planning a sheet: what is wanted, less what the shelf knows, laid out and named."""

import datetime
import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import sheet_name
from inkaccord.sheets.planning.grid import swatch_grid
from inkaccord.sheets.planning.ladders import laddered
from inkaccord.sheets.planning.placing import Placed, SwatchGroup, builds_in, place
from inkaccord.sheets.planning.set_order import eye_order
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.units import PT_PER_MM

_PROOF_SCALE = 1.8
"""How much larger than others the swatches of a proof are, each way."""
_EYE_HEIGHT_PT = 18 * PT_PER_MM
"""A page is taken for ladders whose swatches are at least so high on it, if there is one: at half a
metre that is two degrees of the visual field."""
_EYE_STEP_PT = PT_PER_MM
"""They are then as much higher as the page allows, in such steps."""
FEWEST, SCOUTING = 16, 28
"""Swatches of a scouting sheet beside its controls."""

Pages = SheetFormat | Sequence[SheetFormat]
"""The page that a sheet is printed on, or those to choose from, the one wanted most first."""


def _several(pages: Pages) -> Sequence[SheetFormat]:
    return (pages,) if isinstance(pages, SheetFormat) else pages


def build_key(build: Build) -> tuple[object, ...]:
    """Return what builds that print alike share: the numbers to 0.1 percent or to 1 of 255."""
    step = 10 if build.drive is Drive.CMYK else 1
    return (build.drive, *(round(value * step) for value in build.values))


def missing_builds(
    groups: Sequence[SwatchGroup], known: Iterable[Build]
) -> tuple[SwatchGroup, ...]:
    """Return the groups without known builds and without repeats; empty groups fall away.

    A group for the eye stays whole: a ladder with a rung missing is none, and the guess that is
    on it twice tells how well the eye repeats itself. What is on it, the instrument reads there.
    """
    eye = builds_in(group for group in groups if group.for_eye)
    seen = {build_key(build) for build in (*known, *eye)}
    left = []
    for group in groups:
        if group.for_eye:
            left.append(group)
            continue
        fresh = []
        for build in group.builds:
            key = build_key(build)
            if key not in seen:
                fresh.append(build)
                seen.add(key)
        if fresh:
            left.append(group.model_copy(update={"builds": tuple(fresh)}))
    return tuple(left)


def _ladders(group: SwatchGroup, look: Predictor) -> tuple[SwatchGroup, ...]:
    """Return the ladders of a group for the eye; any other group as it is."""
    return laddered(group, look) if group.for_eye else (group,)


def scouting_count(pages: Pages, settings: SheetSettings, builds: Sequence[Build]) -> int:
    """Return how many of some builds a scouting sheet should have beside its controls.

    28 where one page holds them, which makes 40 with the controls. Where all pages are small there
    are fewer, to save ink and paper, but never fewer than 16 (with two pages if need be): below
    that a model knows little of a pair. ``builds``, 28 or more, come in the order of what they
    teach; how many a page holds depends on how long their numbers are.
    """
    several = _several(pages)
    sizes = [*((page, settings) for page in several), *_dense(several, settings)]

    def held(count: int, most: int) -> bool:
        group = SwatchGroup(builds=tuple(builds[:count]))
        for page, one in sizes:
            with suppress(OrderError):  # what fits nowhere is told when the sheet is laid out
                if place([group], control_builds(group.builds[0].drive), page, one).pages <= most:
                    return True
        return False

    counts = range(SCOUTING, FEWEST - 1, -1)
    return next((n for most in (1, 2) for n in counts if held(n, most)), FEWEST)


def _check_builds(groups: Sequence[SwatchGroup], drive: Drive, ink_limit: float | None) -> None:
    builds = list(builds_in(groups))
    foreign = [build for build in builds if build.drive is not drive]
    if foreign:
        raise OrderError.of(
            "wrong-drive",
            f"{foreign[0]} cannot be printed on a device driven in {drive}",
            hint=f"give its swatches as {drive} builds",
        )
    heavy = [
        build
        for build in builds
        if ink_limit is not None and (build.total_ink or 0.0) > ink_limit + 1e-6
    ]
    if heavy:
        raise OrderError.of(
            "over-ink-limit",
            f"{len(heavy)} swatches, {heavy[0]} first, carry more than the "
            f"{ink_limit:g} % of ink that the pair takes",
            hint="plan them within the pair's ink limit",
        )


def plan_sheet(
    pair: Pair,
    purpose: Purpose,
    groups: Sequence[SwatchGroup],
    pages: Pages,
    *,
    drive: Drive,
    date: datetime.date,
    order: str = "",
    known: Iterable[Build] = (),
    settings: SheetSettings | None = None,
    ink_limit: float | None = None,
    look: Predictor | None = None,
    berths: Sequence[str] = (),
) -> SampleSheet | None:
    """Return the sheet that prints what is missing, or None when nothing is.

    A sheet of the controls (:attr:`Purpose.CONTROLS`) has no groups, and is never None.

    Parameters
    ----------
    groups
        The builds that would tell something, grouped by the colour they serve.
    pages
        The first of these that holds all is taken, else the one that takes the fewest.
    date
        The order's date; it is part of the sheet's id, so that the same swatches printed for a
        later order are another sheet.
    known
        Builds that the shelf holds readings of. None of them is printed again, save the
        controls, which every sheet repeats.
    ink_limit
        The pair's limit of total ink in percent, if it has one.
    look
        What the pair prints, as far as anyone can say: swatches that serve no single colour are
        then ordered so that the eye finds its way, and those for the eye stand in ladders. Without
        it all stay in the order given.
    berths
        The colours whose things are laid on a scanner's glass with the sheet.

    Raises
    ------
    OrderError
        ``wrong-drive``, ``over-ink-limit``, or ``sheet-too-small``.
    """
    settings = settings or SheetSettings()
    _check_builds(groups, drive, ink_limit)
    controls = control_builds(drive)
    missing = missing_builds(groups, (*known, *controls))
    if not missing and purpose is not Purpose.CONTROLS:
        return None
    if look is not None:
        missing = tuple(ladder for group in missing for ladder in _ladders(group, look))
    page, settings, placed = _laid_out(
        missing, controls, _several(pages), settings, purpose, look, berths
    )
    sheet = SampleSheet(
        id="",
        pair=pair,
        drive=drive,
        purpose=purpose,
        swatches=placed.swatches,
        size=page.size,
        pages=placed.pages,
        bleed_pt=page.bleed_pt,
        live_pt=placed.live_pt,
        holes=page.holes,
        settings=settings,
        berths=placed.berths,
        order=order,
        date=date,
    )
    return named(sheet)


def _laid_out(
    groups: Sequence[SwatchGroup],
    controls: Sequence[Build],
    pages: Sequence[SheetFormat],
    settings: SheetSettings,
    purpose: Purpose,
    look: Predictor | None,
    berths: Sequence[str],
) -> tuple[SheetFormat, SheetSettings, Placed]:
    """Return the page that is taken, the sizes of things on it, and what stands where.

    The swatches of a proof and of ladders are large, which the eye judges better, if one page holds
    them; ladders then fill the page. Those of two colours stand side by side where that saves a
    page. Swatches are set as tight as an instrument allows only where
    one page would not hold them otherwise. Raises OrderError when no page has room for a swatch.
    """
    ladders = any(group.ways for group in groups)
    if ladders:
        settings = settings.model_copy(update={"how_to_look": True})
    laid: list[tuple[SheetFormat, SheetSettings, Placed]] = []
    problems: list[OrderError] = []
    for page, sizes in _ways(pages, settings, purpose, ladders=ladders):
        try:
            ordered = _for_the_eye(groups, controls, look, page, sizes)
            placed = place(ordered, controls, page, sizes, berths=berths)
        except OrderError as problem:
            problems.append(problem)
            continue
        laid.append((page, sizes, placed))
        if placed.pages == 1:
            break
    if not laid:
        raise problems[0]
    page, sizes, placed = min(laid, key=lambda it: it[2].pages)
    if not ladders:
        return page, sizes, placed
    ordered = _for_the_eye(groups, controls, look, page, sizes)
    return page, *_filled(ordered, controls, page, sizes, placed)


def _filled(
    groups: Sequence[SwatchGroup],
    controls: Sequence[Build],
    page: SheetFormat,
    settings: SheetSettings,
    placed: Placed,
) -> tuple[SheetSettings, Placed]:
    """Keep the ladders of a colour on a page of their own and make them large, at no more pages.

    Their swatches are as high as the pages allow, and no higher than wide.
    """
    berths = [berth.colour for berth in placed.berths]
    for ones in (_apart(groups), groups):
        for height in _heights(placed):
            higher = settings.model_copy(update={"eye_height_pt": height})
            with suppress(OrderError):
                filling = place(ones, controls, page, higher, berths=berths)
                if filling.pages == placed.pages:
                    return higher, filling
    return settings, placed


def _apart(groups: Sequence[SwatchGroup]) -> tuple[SwatchGroup, ...]:
    """Return the groups, each colour's first ladder at the head of a page."""
    before = (None, *(group.colour if group.ways else None for group in groups))
    return tuple(
        group.model_copy(update={"starts_page": bool(group.ways) and group.colour != last})
        for group, last in zip(groups, before, strict=False)
    )


def _heights(placed: Placed) -> tuple[float, ...]:
    """Return the heights to try for swatches for the eye, the largest first, down to what it is."""
    boxes = (swatch.box_pt for swatch in placed.swatches if swatch.for_eye)
    left, bottom, right, top = next(box for box in boxes if box is not None)
    steps = int((right - left - (top - bottom)) // _EYE_STEP_PT)
    return tuple(
        round(top - bottom + step * _EYE_STEP_PT, 2) for step in range(max(0, steps), -1, -1)
    )


def _ways(
    pages: Sequence[SheetFormat], settings: SheetSettings, purpose: Purpose, *, ladders: bool
) -> Iterator[tuple[SheetFormat, SheetSettings]]:
    """Yield pages and sizes to try in turn."""
    if ladders:
        large = settings.model_copy(update={"eye_height_pt": round(_EYE_HEIGHT_PT, 2)})
        yield from ((page, large) for page in pages)
        beside = large.model_copy(update={"side_by_side": True})
        yield from ((page, beside) for page in pages)
    if purpose is Purpose.PROOF:
        yield from ((page, settings.enlarged(page.size, _PROOF_SCALE)) for page in pages)
    yield from ((page, settings) for page in pages)
    yield from _dense(pages, settings)


def _dense(
    pages: Sequence[SheetFormat], settings: SheetSettings
) -> Iterator[tuple[SheetFormat, SheetSettings]]:
    """Yield the pages that may be filled densely, with the sizes that this takes."""
    for page in pages:
        dense = settings.densely(page.size)
        if dense is not None:
            yield page, dense


def _for_the_eye(
    groups: Sequence[SwatchGroup],
    controls: Sequence[Build],
    look: Predictor | None,
    page: SheetFormat,
    settings: SheetSettings,
) -> tuple[SwatchGroup, ...]:
    """Return the groups, with the builds that serve no single colour in an order to find one's way.

    Nothing is known of how they look without ``look``: then they stay as they are.
    """
    if look is None:
        return tuple(groups)
    columns = swatch_grid(page, settings, [*controls, *builds_in(groups)]).columns
    return tuple(
        group
        if group.colour is not None
        else group.model_copy(update={"builds": _eye_ordered(group.builds, look, columns)})
        for group in groups
    )


def _eye_ordered(builds: Sequence[Build], look: Predictor, columns: int) -> tuple[Build, ...]:
    lab = look.predict_lab(np.array([build.values for build in builds]))
    return tuple(builds[one] for one in eye_order(lab, columns))


def named(sheet: SampleSheet) -> SampleSheet:
    """Return the sheet with the id that follows from all the rest of it."""
    # What holds its default is left out, so that a field added later changes no id.
    content = sheet.model_dump(mode="json", exclude={"id"}, exclude_defaults=True)
    return sheet.model_copy(update={"id": sheet_name(json.dumps(content, sort_keys=True))})
