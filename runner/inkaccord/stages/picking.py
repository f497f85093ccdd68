"""What was picked by eye for a colour on a pair, all picks weighed together."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inkaccord.colour.builds import Build
from inkaccord.colour.picks import Direction, Look, picked_build
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.colours import Lab
from inkaccord.shelf.kept import KeptPick

if TYPE_CHECKING:
    from inkaccord.stages.knowledge import PairKnowledge


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
    sheets
        The sheets that were picked on.
    findings
        Picks that contradict the others.
    """

    build: Build
    lab: Lab
    bound: float
    sheets: tuple[str, ...]
    findings: tuple[Diagnostic, ...] = ()


def weigh_picks(known: "PairKnowledge", colour: str) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none."""
    picks = [it for it in known.picks if it.pick.colour == colour]
    looks = [look for it in picks if (look := _look(it)) is not None]
    if not looks:
        return None
    found = picked_build(known.model, looks, known.policy)
    lightness, a, b = (round(float(x), 3) for x in found.lab)
    return Picked(
        build=Build(drive=known.drive, values=tuple(found.build.tolist())),
        lab=(lightness, a, b),
        bound=found.bound,
        sheets=tuple(dict.fromkeys(it.sheet.id for it in picks)),
        findings=tuple(
            it.model_copy(update={"message": f"{colour} on {known.pair}: {it.message}"})
            for it in found.findings
        ),
    )


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
