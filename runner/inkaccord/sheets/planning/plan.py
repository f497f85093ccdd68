"""Planning a sheet: what is wanted, less what the shelf knows, laid out and named."""

import datetime
import json
from collections.abc import Iterable, Sequence

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import sheet_name
from inkaccord.sheets.planning.deck_order import eye_order
from inkaccord.sheets.planning.placing import Group, capacity, place, swatch_grid
from inkaccord.sheets.settings import SheetFormat, SheetSettings

_PROOF_SCALE = 1.8
"""How much larger than others the swatches of a proof are, each way."""
FEWEST, SCOUTING = 16, 28
"""Swatches of a scouting sheet beside its controls."""


def build_key(build: Build) -> tuple[object, ...]:
    """Return what builds that print alike share: the numbers to 0.1 percent or to 1 of 255."""
    step = 10 if build.drive is Drive.CMYK else 1
    return (build.drive, *(round(value * step) for value in build.values))


def missing_builds(groups: Sequence[Group], known: Iterable[Build]) -> tuple[Group, ...]:
    """Return the groups without known builds and without repeats; empty groups fall away."""
    seen = {build_key(build) for build in known}
    left = []
    for group in groups:
        fresh = []
        for build in group.builds:
            key = build_key(build)
            if key not in seen:
                fresh.append(build)
                seen.add(key)
        if fresh:
            left.append(group.model_copy(update={"builds": tuple(fresh)}))
    return tuple(left)


def scouting_count(page: SheetFormat, settings: SheetSettings, drive: Drive) -> int:
    """Return how many swatches a scouting sheet should have beside its controls.

    28 where one page holds them, which makes 40 with the controls. Small pages get fewer, to save
    ink and paper, but never fewer than 16 (with two pages if need be): below that a model knows
    little of a pair.
    """
    room = capacity(page, settings, control_builds(drive))
    return max(
        FEWEST, min(SCOUTING, room.first if room.first >= FEWEST else room.first + room.later)
    )


def _check_builds(groups: Sequence[Group], drive: Drive, ink_limit: float | None) -> None:
    builds = [build for group in groups for build in group.builds]
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
    groups: Sequence[Group],
    page: SheetFormat,
    *,
    drive: Drive,
    date: datetime.date,
    order: str = "",
    known: Iterable[Build] = (),
    settings: SheetSettings | None = None,
    ink_limit: float | None = None,
    look: Predictor | None = None,
) -> SampleSheet | None:
    """Return the sheet that prints what is missing, or None when nothing is.

    A sheet of the controls (:attr:`Purpose.CONTROLS`) has no groups, and is never None.

    Parameters
    ----------
    groups
        The builds that would tell something, grouped by the colour they serve.
    page
        The page that the device takes.
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
        then ordered so that the eye finds its way. Without it all stay in the order given.

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
        columns = swatch_grid(page, settings).columns
        missing = tuple(_for_the_eye(group, look, columns) for group in missing)
    if purpose is Purpose.PROOF:
        settings = _proof_settings(missing, controls, page, settings)
    placed = place(missing, controls, page, settings)
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
        settings=settings,
        page_titles=placed.page_titles,
        order=order,
        date=date,
    )
    return named(sheet)


def _proof_settings(
    groups: Sequence[Group], controls: Sequence[Build], page: SheetFormat, settings: SheetSettings
) -> SheetSettings:
    """Return settings with large swatches, which the eye judges better, if one page holds them."""
    if settings.swatch_width_pt or settings.swatch_height_pt:
        return settings
    size = settings.swatch_size(page.size)
    large = settings.model_copy(
        update={
            "swatch_width_pt": round(_PROOF_SCALE * size.width_pt, 2),
            "swatch_height_pt": round(_PROOF_SCALE * size.height_pt, 2),
        }
    )
    try:
        return large if place(groups, controls, page, large).pages == 1 else settings
    except OrderError:
        return settings


def _for_the_eye(group: Group, look: Predictor, columns: int) -> Group:
    if group.colour is not None:
        return group
    lab = look.predict_lab(np.array([build.values for build in group.builds]))
    builds = tuple(group.builds[one] for one in eye_order(lab, columns))
    return group.model_copy(update={"builds": builds})


def named(sheet: SampleSheet) -> SampleSheet:
    """Return the sheet with the id that follows from all the rest of it."""
    # What holds its default is left out, so that a field added later changes no id.
    content = sheet.model_dump(mode="json", exclude={"id"}, exclude_defaults=True)
    return sheet.model_copy(update={"id": sheet_name(json.dumps(content, sort_keys=True))})
