"""Sheets that wait already: which of them still serve, and which are withdrawn."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.order.model import Order
from inkaccord.planning.rounds import of_order
from inkaccord.run.plan import SamplePlan
from inkaccord.sheets.model import Purpose, SampleSheet

MOVED = 2.0
"""ΔE00 that a colour may have moved and its swatches still serve: their steps are as wide."""


def first_that_waits(
    order: Order, known: PairKnowledge, middles: Mapping[str, Build]
) -> SampleSheet | None:
    """Return a waiting sheet that serves as a pair's first, or None.

    ``middles`` are the builds that the swatches for the eye lie round, by colour. One that is
    printed serves in any case: what it lacks can follow.
    """
    waiting = [it for it in known.waiting() if it.purpose is not Purpose.PROOF]
    waiting.sort(key=lambda sheet: (sheet.id not in known.printed, not of_order(order, sheet)))
    for sheet in waiting:
        serves = all(offers(known, sheet, it, middle) for it, middle in middles.items())
        if sheet.id in known.printed or serves:
            return sheet
    return None


def offers(known: PairKnowledge, sheet: SampleSheet, colour: str, middle: Build) -> bool:
    """Tell whether a sheet has swatches to pick a colour from, round about a build."""
    own = [swatch.build.values for swatch in sheet.swatches if swatch.colour == colour]
    if not own:
        return False
    labs = known.model.predict_lab(np.array(own))
    return bool(delta_e_2000(labs, known.lab_of(middle)).min() <= MOVED)


def that_offers(known: PairKnowledge, colour: str, middle: Build) -> SampleSheet | None:
    """Return a sheet with swatches to pick a colour from, round about a build.

    One that was looked at for its other colours alone, or one that waits.
    """
    lying = (*known.still_to_look_at(colour), *known.waiting())
    return next((it for it in lying if offers(known, it, colour, middle)), None)


def that_proves(known: PairKnowledge, wanted: SampleSheet) -> SampleSheet | None:
    """Return a waiting sheet with the very proof swatches of another, or that other."""

    def proved(sheet: SampleSheet) -> set[tuple[str | None, Build]]:
        return {(it.colour, it.build) for it in sheet.swatches if not it.control}

    proofs = [it for it in known.waiting() if it.purpose is Purpose.PROOF]
    return next((it for it in proofs if proved(wanted) <= proved(it)), wanted)


def withdrawn(
    order: Order, pairs: Iterable[PairKnowledge], served: Sequence[SampleSheet]
) -> dict[str, str]:
    """Return the order's own waiting sheets that serve no more, and why, by id.

    One that is marked as printed stays: its readings are as good as any.
    """
    kept = {sheet.id for sheet in served}
    replaced = {sheet.pair for sheet in served}
    small = "its swatches are too small for the instrument that the order names"
    why: dict[str, str] = {}
    for known in pairs:
        moved = (
            "its colours have moved, and another takes its place"
            if known.pair in replaced
            else "nothing that is open hangs on it any more"
        )
        waiting = (*known.waiting(), *known.waiting_controls())
        for sheets, reason in ((waiting, moved), (known.too_small(), small)):
            why |= {
                sheet.id: reason
                for sheet in sheets
                if of_order(order, sheet) and sheet.id not in kept | known.printed
            }
    return why


def left_behind(order: Order, plan: SamplePlan, unprinted: Mapping[str, Pair]) -> SamplePlan:
    """Return a plan that withdraws also what was asked for on pairs that nothing is printed on now.

    ``unprinted`` are sheets that earlier runs asked for and that are on no paper, with their pairs.
    """
    needed = order.pairs_needed()
    gone = {
        sheet: f"nothing of the order is printed on {pair} any more"
        for sheet, pair in unprinted.items()
        if pair not in needed
    }
    return plan.model_copy(
        update={
            "withdrawn": plan.withdrawn | gone,
            "findings": (*plan.findings, *withdrawals(gone)),
        }
    )


def withdrawals(gone: Mapping[str, str]) -> Iterator[Diagnostic]:
    """Yield what is said of each sheet that is withdrawn."""
    for sheet, why in gone.items():
        yield warning(
            "sheet-withdrawn",
            f"sheet {sheet} need not be printed any more: {why}",
            hint=f"if it is printed already, record it all the same, or keep it with 'inkaccord "
            f"shelf printed {sheet}'",
        )
