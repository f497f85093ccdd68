"""Two sheets on one glass: what was chosen on the first is found on the second's pair, and kept."""

import datetime
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.looks import look_error
from inkaccord.errors import OrderError
from inkaccord.order.model import Order
from inkaccord.recording.intake import device_of, policy_of
from inkaccord.sheets.model import Pick, Purpose, SampleSheet
from inkaccord.sheets.scan.comparing import SheetsCompared, compare
from inkaccord.sheets.scan.picture import load_pictures
from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class Comparison:
    """What two sheets on one glass told, and how many picks on the second are new."""

    sheets: tuple[SampleSheet, SampleSheet]
    compared: SheetsCompared
    picks: tuple[Pick, ...]
    """What it tells of the colours chosen on the first, as picks on the second."""
    new_picks: int = 0
    """How many of them were kept, and are new."""


@dataclass(frozen=True)
class _Chosen:
    """The build that a colour has on the first sheet, where it comes from, and how sure that is."""

    build: Build
    swatch: str
    error: float


def take_in_comparison(
    shelf: Shelf,
    one: str,
    other: str,
    file: Path,
    *,
    today: datetime.date,
    order: Order | None = None,
    by: str = "",
) -> Comparison:
    """Compare two sheets in a scan, and keep what it tells of the colours chosen on the first.

    Raises InkaccordError as :func:`see_comparison`. Then nothing has been kept.
    """
    seen = see_comparison(shelf, one, other, file, today=today, order=order, by=by)
    return replace(seen, new_picks=shelf.record_picks(seen.picks)) if seen.picks else seen


def see_comparison(
    shelf: Shelf,
    one: str,
    other: str,
    file: Path,
    *,
    today: datetime.date,
    order: Order | None,
    by: str,
) -> Comparison:
    """Compare two sheets in a scan, and keep nothing yet.

    A colour is chosen there by the newest pick of a single swatch, or by being proofed. What is
    found is kept as a pick on the second sheet: a build with its error, in which the error of what
    was chosen is counted too.

    Raises
    ------
    InkaccordError
        ``one-sheet`` for a sheet and itself, else as the scan does.
    """
    sheets = shelf.sheet(one), shelf.sheet(other)
    if sheets[0].id == sheets[1].id:
        raise OrderError.of(
            "one-sheet", "a sheet is compared with another one", hint="name two different sheets"
        )
    chosen = _chosen_on(shelf, sheets[0]) if sheets[0].pair != sheets[1].pair else {}
    compared = compare(
        load_pictures(file),
        sheets,
        {colour: it.build for colour, it in chosen.items()},
        policy_of(device_of(sheets[1].pair, order)),
    )
    picks = tuple(
        Pick(
            sheet=sheets[1].id,
            colour=brought.colour,
            swatch=brought.swatches[0],
            by=by,
            light=f"a scanner's lamp, beside {chosen[brought.colour].swatch} of {sheets[0].id}",
            picked_on=today,
            build=brought.other.values,
            error=round(float(np.hypot(brought.likeness.error, chosen[brought.colour].error)), 2),
        )
        for brought in compared.together
    )
    return Comparison(sheets, compared, picks)


def _chosen_on(shelf: Shelf, sheet: SampleSheet) -> dict[str, _Chosen]:
    """Return the colours that were chosen on a sheet, in its order."""
    chosen: dict[str, _Chosen] = {}
    if sheet.purpose is Purpose.PROOF:
        for swatch in sheet.swatches:
            if swatch.colour is not None:
                chosen[swatch.colour] = _Chosen(swatch.build, swatch.id, 0.0)
    for kept in shelf.picks_of(sheet.pair):
        pick, found = kept.pick, sheet.swatch(kept.pick.swatch or "")
        plain = pick.between is None and pick.nudge is None
        if kept.sheet.id != sheet.id or found is None or not plain:
            continue
        if pick.build is not None and pick.error is not None:
            build = Build(drive=sheet.drive, values=pick.build)
            chosen[pick.colour] = _Chosen(build, found.id, pick.error)
        else:
            chosen[pick.colour] = _Chosen(found.build, found.id, look_error(pick.sure))
    return chosen
