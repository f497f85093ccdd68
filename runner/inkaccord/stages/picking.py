"""What was picked by eye for a colour on a pair, all picks weighed together."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.picks import Direction, Look, picked_build
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.colours import Lab
from inkaccord.shelf.kept import KeptPick

if TYPE_CHECKING:
    from inkaccord.stages.knowledge import PairKnowledge


FEWEST_OFFERED = 6
"""Swatches round a colour from which on a pick among them can be called settled."""
UNOFFERED = 12.0
"""ΔE00 by which a swatch may miss that was picked from a sheet not made for its colour."""


@dataclass(frozen=True)
class Picked:
    """The build that was picked, and what it looks like.

    Attributes
    ----------
    build
        What to print.
    lab
        Its CIELAB, as the pair's model has it.
    bound
        95 % bound, ΔE00, on how well the eye judged.
    settled
        Whether the pick lay well inside the swatches that were offered for the colour. One at
        their rim says only which way to go on.
    sheets
        The sheets that were picked on.
    findings
        Picks that contradict the others.
    """

    build: Build
    lab: Lab
    bound: float
    settled: bool
    sheets: tuple[str, ...]
    findings: tuple[Diagnostic, ...] = ()
    outdated: bool = False
    """Whether the pair has drifted since the sheets were printed: the colour still counts, the
    build no longer does."""


def weigh_picks(known: "PairKnowledge", colour: str) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none."""
    picks = [(it, _offer(known, it)) for it in known.picks if it.pick.colour == colour]
    settled = [(it, offer) for it, offer in picks if offer.settled]
    if settled:
        # The finest offers count; what was picked on the way to them is done with.
        finest = min(offer.spacing for _, offer in settled)
        chosen = [(it, offer) for it, offer in settled if offer.spacing <= 1.5 * finest + 0.5]
    else:
        chosen = picks[-1:]
    looks = [look for it, _ in chosen if (look := _look(it)) is not None]
    if not looks:
        return None
    sheets = tuple(dict.fromkeys(it.sheet.id for it, _ in chosen))
    outdated = known.predates_drift(sheets)
    model = known.model_before if outdated else None
    found = picked_build(model or known.model, looks, known.policy)
    lightness, a, b = (round(float(x), 3) for x in found.lab)
    doubt = max(offer.spacing if offer.settled else offer.reach for _, offer in chosen)
    return Picked(
        build=Build(drive=known.drive, values=tuple(found.build.tolist())),
        lab=(lightness, a, b),
        bound=float(np.hypot(found.bound, doubt)),
        settled=bool(settled),
        sheets=sheets,
        outdated=outdated,
        findings=tuple(
            it.model_copy(update={"message": f"{colour} on {known.pair}: {it.message}"})
            for it in found.findings
        ),
    )


@dataclass(frozen=True)
class _Offer:
    """What there was to choose from.

    ``spacing`` is half the mean distance to the three nearest neighbours, ``reach`` the radius of
    the swatches that were offered for the colour; both ΔE00 by the pair's model.
    """

    settled: bool
    spacing: float
    reach: float


def _offer(known: "PairKnowledge", kept: KeptPick) -> _Offer:
    swatch = kept.sheet.swatch(kept.pick.swatch)
    group = [it for it in kept.sheet.swatches if it.colour == kept.pick.colour]
    if swatch is None or swatch not in group or len(group) < FEWEST_OFFERED:
        return _Offer(settled=False, spacing=UNOFFERED, reach=UNOFFERED)
    labs = known.model.predict_lab(np.array([it.build.values for it in group]))
    own = labs[group.index(swatch)]
    near = np.sort(delta_e_2000(labs, own))[1:4]
    from_middle = delta_e_2000(labs, labs.mean(axis=0))
    reach = float(from_middle.max())
    inside = from_middle[group.index(swatch)] <= 0.6 * reach
    return _Offer(settled=bool(inside), spacing=float(near.mean()) / 2.0, reach=reach)


def _look(kept: KeptPick) -> Look | None:
    pick, sheet = kept.pick, kept.sheet
    swatch = sheet.swatch(pick.swatch)
    if swatch is None:
        return None
    second = sheet.swatch(pick.between) if pick.between else None
    return Look(
        build=swatch.build.values,
        between=second.build.values if second else None,
        direction=Direction(pick.nudge.value) if pick.nudge else None,
        sure=pick.sure,
    )
