"""What each brand colour should look like, as CIELAB, as far as that is known."""

from dataclasses import dataclass

import numpy as np

from inkaccord.artwork.paints import PaintKind
from inkaccord.colour.builds import Build, Drive
from inkaccord.order.colours import Lab
from inkaccord.order.model import Order
from inkaccord.stages.bench import Bench


@dataclass(frozen=True)
class ResolvedAim:
    """An aim with numbers.

    Attributes
    ----------
    lab
        CIELAB; None while it is not known.
    bound
        95 % bound, ΔE00, on the aim itself: 0 for one that is given in CIELAB.
    by_eye
        Whether it rests on judgement by eye.
    why
        Why it is not known, in words.
    """

    lab: Lab | None
    bound: float = 0.0
    by_eye: bool = False
    why: str = ""


def resolve_aim(order: Order, colour: str, bench: Bench) -> ResolvedAim:
    """Return the aim of a colour.

    An aim given as a build on a pair is what that pair prints, by its readings. An aim matched by
    eye is the mean of what was picked, on whichever pair's sheet has been read.
    """
    aim = order.colours[colour].aim
    if aim.lab is not None:
        return ResolvedAim(lab=aim.lab)
    if aim.build is not None and aim.on is not None:
        pair = order.pair(aim.on)
        known = bench.pair(pair)
        if not known.is_read:
            return ResolvedAim(lab=None, why=f"its aim is a build on {pair}, which is not read yet")
        return ResolvedAim(
            lab=rounded_lab(known.lab_of(aim.build)), bound=known.bound_of(aim.build)
        )
    seen = [
        seen
        for pair in order.pairs_needed()
        if bench.pair(pair).is_read and (seen := bench.pair(pair).picked(colour)) is not None
    ]
    if not seen:
        return ResolvedAim(lab=None, by_eye=True, why="no one has picked it by eye yet")
    weights = np.array([1.0 / max(it.bound, 0.1) ** 2 for it in seen])
    mean = np.average([it.lab for it in seen], axis=0, weights=weights)
    return ResolvedAim(lab=rounded_lab(mean), bound=float(weights.sum() ** -0.5), by_eye=True)


def artwork_look(order: Order, colour: str, bench: Bench) -> Build | None:
    """Return a build that the artwork gives for a colour: as written, or a spot's alternate."""
    for paint in order.colours[colour].in_artwork:
        if paint.kind in {PaintKind.CMYK, PaintKind.RGB}:
            return Build(drive=Drive(paint.kind.value), values=paint.values)
    names = {it.name for it in order.colours[colour].in_artwork if it.kind is PaintKind.SPOT}
    for piece in order.pieces:
        for name, paint in bench.alternates(piece).items():
            if name in names and paint.kind in {PaintKind.CMYK, PaintKind.RGB}:
                return Build(drive=Drive(paint.kind.value), values=paint.values)
    return None


def rounded_lab(values: np.ndarray) -> Lab:
    """Return CIELAB as a value, to a thousandth."""
    lightness, a, b = (round(float(value), 3) for value in values)
    return (lightness, a, b)
