"""A swatch set: many swatches of a pair that the studio uses all the time, and its additions."""

import datetime
from collections.abc import Sequence
from itertools import groupby

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.sampling.even_set import Spacing, even_set, printable
from inkaccord.colour.sampling.ranges import ColourRange
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet, range_titles
from inkaccord.sheets.naming import row_name, row_number
from inkaccord.sheets.planning.grid import swatch_grid
from inkaccord.sheets.planning.placing import Placed, SwatchGroup, place
from inkaccord.sheets.planning.plan import build_key, named
from inkaccord.sheets.planning.set_order import (
    SetRange,
    range_order,
    set_ranges,
    titles_in_short,
)
from inkaccord.sheets.settings import SheetFormat, SheetSettings


class SwatchSet(Frozen):
    """A swatch set, or an addition, ready to be drawn."""

    sheet: SampleSheet
    min_delta_e: float
    """No two of its colours, nor one of them and one of the set it adds to, are predicted to lie
    closer than this ΔE00. Controls count as colours of the set."""

    @property
    def note(self) -> str:
        """What the foot of its pages says."""
        return f"No two colours closer than {self.min_delta_e:.1f} ΔE00, as predicted."


def make_swatch_set(
    pair: Pair,
    model: Predictor,
    page: SheetFormat,
    spacing: Spacing,
    policy: InkPolicy,
    *,
    name: str,
    date: datetime.date,
    only: ColourRange | None = None,
    base: Sequence[SampleSheet] = (),
    settings: SheetSettings | None = None,
    paper_lab: Lab | None = None,
) -> SwatchSet:
    """Choose a swatch set's colours evenly over what the pair can print, and lay them out.

    Parameters
    ----------
    model
        What the pair prints; for a pair without readings any model of its kind will do, since
        the set is read or looked at once it is printed.
    spacing
        How many swatches, how close, or both.
    only
        Only colours of this range: for a sheet of greens, say, or an addition of denser ones.
    base
        The set as it is: its first sheet and earlier additions.
    paper_lab
        (3,) of the stock, where a person told it: the sheet remembers it for additions.

    Raises
    ------
    OrderError
        ``not-a-swatch-set``, ``wrong-drive``, ``nothing-to-add``, ``nothing-in-region``, or
        ``sheet-too-small``.
    """
    _check_base(base, model.drive)
    stand = [swatch.build.values for sheet in base for swatch in sheet.swatches]
    stand += [build.values for build in control_builds(model.drive)]
    known = model.predict_lab(np.array(sorted(set(stand)), dtype=np.float64))
    region = only.among(printable(model, policy)) if only else None
    chosen = even_set(model, spacing, policy, region=region, known_lab=known)
    sheet = lay_swatch_set(
        pair,
        chosen.builds,
        chosen.lab,
        page,
        drive=model.drive,
        name=name,
        date=date,
        title=only.title if only else None,
        base=base,
        settings=settings,
        paper_lab=paper_lab,
    )
    if sheet is None:
        raise OrderError.of(
            "nothing-to-add",
            "the set already has every colour of this range that is so far apart",
            hint="ask for a smaller least distance, or another range of colours",
        )
    return SwatchSet(sheet=sheet, min_delta_e=chosen.min_delta_e)


def lay_swatch_set(
    pair: Pair,
    builds: ArrayLike,
    lab: ArrayLike,
    page: SheetFormat,
    *,
    drive: Drive,
    name: str,
    date: datetime.date,
    title: str | None = None,
    base: Sequence[SampleSheet] = (),
    settings: SheetSettings | None = None,
    paper_lab: Lab | None = None,
) -> SampleSheet | None:
    """Return the sheet of a swatch set, or of an addition to it; None when the set lacks nothing.

    Parameters
    ----------
    builds
        (n, k) in percent, or RGB 0 to 255.
    lab
        (n, 3) CIELAB that they are predicted to give; only the order follows from it.
    title
        What the one range is called that all are of; else they stand in the ranges of all hues.
    base
        The set as it is: its first sheet and earlier additions. What they hold is left out, and
        the letters of the rows go on after theirs.
    """
    settings = settings or SheetSettings()
    _check_base(base, drive)
    values, colours = np.asarray(builds, dtype=np.float64), np.asarray(lab, dtype=np.float64)
    if values.shape[:1] != colours.shape[:1]:
        raise OrderError.of(
            "uneven-swatch-set", f"{len(values)} builds of a swatch set with {len(colours)} colours"
        )
    controls = control_builds(drive)
    listed = [Build(drive=drive, values=tuple(row)) for row in values.tolist()]
    have = {build_key(swatch.build) for sheet in base for swatch in sheet.swatches}
    keep = _fresh(listed, have | {build_key(build) for build in controls})
    if not keep:
        return None
    listed, colours = [listed[one] for one in keep], colours[keep]
    columns = swatch_grid(page, settings, [*controls, *listed]).columns
    if title is None:
        ranges = set_ranges(colours, columns)
    else:
        ranges = (SetRange(title, range_order(np.arange(len(colours)), colours, columns)),)

    def placed_as(ranges: Sequence[SetRange]) -> Placed:
        groups = [
            SwatchGroup(builds=tuple(listed[member] for member in one.members), title=one.title)
            for one in ranges
        ]
        return place(groups, controls, page, settings, first_row=next_row(base))

    placed = placed_as(ranges)
    if broken := _broken(placed):
        # Where a range begins within a row, its own rows would not show: it runs light to dark.
        placed = placed_as(
            [
                SetRange(one.title, range_order(np.array(one.members), colours, 1))
                if one.title in broken
                else one
                for one in ranges
            ]
        )
    return named(
        SampleSheet(
            id="",
            pair=pair,
            drive=drive,
            purpose=Purpose.SWATCH_SET,
            swatches=placed.swatches,
            size=page.size,
            pages=placed.pages,
            bleed_pt=page.bleed_pt,
            live_pt=placed.live_pt,
            holes=page.holes,
            settings=settings,
            page_titles=_page_titles(placed),
            ranges=placed.ranges,
            paper_lab=paper_lab,
            order=name,
            date=date,
        )
    )


def _broken(placed: Placed) -> set[str]:
    """Return the ranges that begin within a row and go on in the next."""
    titles = range_titles(placed.swatches, placed.ranges)
    broken = set()
    for title, ones in groupby(
        (swatch for swatch in placed.swatches if swatch.id in titles),
        key=lambda swatch: titles[swatch.id],
    ):
        ids = [swatch.id for swatch in ones]
        within = [row_number(one) for one in ids]
        if within[0] != within[-1] and ids[0].removeprefix(row_name(within[0])) != "1":
            broken.add(title)
    return broken


def _page_titles(placed: Placed) -> tuple[str, ...]:
    """Return for each page which ranges are on it, the first and the last."""
    titles = range_titles(placed.swatches, placed.ranges)
    pages = groupby(
        (swatch for swatch in placed.swatches if swatch.id in titles),
        key=lambda swatch: swatch.page,
    )
    return tuple(titles_in_short([titles[swatch.id] for swatch in here]) for _, here in pages)


def _check_base(base: Sequence[SampleSheet], drive: Drive) -> None:
    for sheet in base:
        if sheet.purpose is not Purpose.SWATCH_SET:
            raise OrderError.of(
                "not-a-swatch-set",
                f"the sheet {sheet.id} is no swatch set, so nothing can be added to it",
                hint="name the set's first sheet and its additions",
            )
        if sheet.drive is not drive:
            raise OrderError.of(
                "wrong-drive", f"the set {sheet.id} is driven in {sheet.drive}, not in {drive}"
            )


def _fresh(builds: Sequence[Build], have: set[tuple[object, ...]]) -> list[int]:
    """Return the indices of builds that are not there yet, each kind once."""
    seen, keep = set(have), []
    for number, build in enumerate(builds):
        key = build_key(build)
        if key not in seen:
            seen.add(key)
            keep.append(number)
    return keep


def next_row(base: Sequence[SampleSheet]) -> int:
    """Return the number of the first row, from 0, after those of a swatch set."""
    rows = [
        row_number(swatch.id) for sheet in base for swatch in sheet.swatches if not swatch.control
    ]
    return max(rows, default=-1) + 1
