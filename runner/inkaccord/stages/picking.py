"""What was picked by eye for a colour on a pair, all picks weighed together."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.order.colours import Lab

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
        Its CIELAB, read or predicted.
    bound
        95 % bound, ΔE00, on how well the eye judged and the colour is known.
    sheets
        The sheets that were picked on.
    """

    build: Build
    lab: Lab
    bound: float
    sheets: tuple[str, ...]


def weigh_picks(known: "PairKnowledge", colour: str) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none."""
    picks = [it for it in known.picks if it.pick.colour == colour]
    if not picks:
        return None
    builds = []
    for it in picks:
        ids = [it.pick.swatch, *([it.pick.between] if it.pick.between else [])]
        found = [swatch.build.values for id_ in ids if (swatch := it.sheet.swatch(id_))]
        builds.append(np.mean(found, axis=0))
    mean = np.rint(np.mean(builds, axis=0))
    build = Build(drive=known.drive, values=tuple(mean.tolist()))
    lightness, a, b = (round(float(x), 3) for x in known.lab_of(build))
    return Picked(
        build=build,
        lab=(lightness, a, b),
        bound=4.0 / len(picks) ** 0.5,
        sheets=tuple(dict.fromkeys(it.sheet.id for it in picks)),
    )
