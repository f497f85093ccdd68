"""A swatch set: a pair that no order describes, and the set that a sheet belongs to."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import DEFAULT_INK_LIMIT, UNREAD_PAPER, PairKnowledge
from inkaccord.order.vendors import Device
from inkaccord.recall.recall import Recall, computed
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import row_number
from inkaccord.shelf.kept import PairEvidence


def with_told(
    known: PairKnowledge,
    *,
    drive: Drive | None = None,
    ink_limit: float | None = None,
    paper: Lab | None = None,
) -> PairKnowledge:
    """Return what an order and the shelf know of a pair, with what a person tells of it.

    ``ink_limit`` is total ink in percent, and ``paper`` the CIELAB of a stock that is not read.
    Raises OrderError ``wrong-drive``, since another way of driving a device is another pair.
    """
    if drive is not None and drive is not known.drive:
        raise OrderError.of(
            "wrong-drive",
            f"the order says that {known.pair} is driven in {known.drive.upper()}",
            hint="leave --drive out, or change the device's drive in the order",
        )
    limit = known.policy.total_ink_limit if ink_limit is None else ink_limit
    policy = known.policy.model_copy(update={"total_ink_limit": limit})
    return replace(known, policy=policy, paper=paper or known.paper)


def know_pair(
    evidence: PairEvidence,
    pair: Pair,
    *,
    drive: Drive | None = None,
    ink_limit: float | None = None,
    paper: Lab | None = None,
    recall: Recall = computed,
) -> PairKnowledge:
    """Return what is known of a pair that no order describes.

    The stock's colour, until it is read, is what was told now, or with an earlier set.

    Raises OrderError ``wrong-drive`` when its sheets are driven otherwise than said.
    """
    kept, sheets = evidence.readings, tuple(it.sheet for it in evidence.sheets)
    drives = {sheet.drive for sheet in sheets}
    if drive is not None and drives - {drive}:
        raise OrderError.of(
            "wrong-drive",
            f"the sheets of {pair} on the shelf are not driven in {drive}",
            hint="leave --drive out, or give the pair's driver setting as device@stock/setting",
        )
    return PairKnowledge(
        pair=pair,
        drive=drive or next(iter(drives), Drive.CMYK),
        policy=InkPolicy(total_ink_limit=ink_limit or DEFAULT_INK_LIMIT),
        paper=paper or told_paper(sheets) or UNREAD_PAPER,
        kept=kept,
        picks=evidence.picks,
        sheets=sheets,
        course=follow(kept, Device().drift_tolerance),
        recall=recall,
    )


def told_paper(sheets: Sequence[SampleSheet]) -> Lab | None:
    """Return the colour of the stock that a person told last, if anyone did."""
    return next((it.paper_lab for it in reversed(sheets) if it.paper_lab is not None), None)


def swatch_set_of(asked: SampleSheet, sheets: Iterable[SampleSheet]) -> tuple[SampleSheet, ...]:
    """Return the set that a sheet belongs to, with all its additions, in the order of their rows.

    ``sheets`` are all of its pair. A swatch set and its additions share pair and name. Raises
    OrderError ``not-a-swatch-set``.
    """
    if asked.purpose is not Purpose.SWATCH_SET:
        raise OrderError.of(
            "not-a-swatch-set",
            f"the sheet {asked.id} is no swatch set, so nothing can be added to it",
            hint="see 'inkaccord shelf list' for the swatch sets",
        )
    parts = [
        sheet
        for sheet in sheets
        if sheet.purpose is Purpose.SWATCH_SET and sheet.order == asked.order
    ]
    return tuple(sorted(parts, key=_first_row))


def _first_row(sheet: SampleSheet) -> int:
    return min(row_number(swatch.id) for swatch in sheet.swatches if not swatch.control)
