"""What black, greys and white of an artwork become that are no ink and paper yet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.artwork.swaps import NEUTRALS, NEUTRALS_IN_RGB, Swap, TintTable
from inkaccord.colour.black_wish import BlackWish
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.spaces import lab_to_xyz, linear_light, xyz_to_lab
from inkaccord.order.model import Order
from inkaccord.order.pieces import Neutrals
from inkaccord.run.bench import Bench

if TYPE_CHECKING:
    from inkaccord.prepress.photographs import AnyPress

_STEPS = (2.0, *(float(tint) for tint in range(5, 100, 5)), 98.0)
"""The greys, as percent of black, that get a build of their own; between them builds are mixed."""
_WHITISH, _BLACKISH = 0.5, 99.5
"""Within these 8 bits may write white and black; they stay no ink and black ink alone."""


def neutrals_for(order: Order, bench: Bench, piece: str) -> tuple[Swap, ...]:
    """Return what becomes of the black, greys and white that a piece's program wrote in RGB.

    On a device in RGB they stay, and lose a profile. ``matched`` greys are black alone until their
    pair has been read.
    """
    job, wish = order.jobs[piece], order.neutrals_of(piece)
    if wish is Neutrals.KEEP:
        return ()
    if job.device.drive is Drive.RGB:
        return (NEUTRALS_IN_RGB,)
    target = bench.pair(job.pair)
    if wish is Neutrals.BLACK or not target.is_read:
        return (NEUTRALS,)
    builds = bench.recall(matching_greys, _STEPS, target.model, target.policy)
    alone = [(tint, _black(tint)) for tint in (_WHITISH, _BLACKISH, 100.0)]
    steps = sorted([*zip(_STEPS, builds, strict=True), *alone], key=lambda step: step[0])
    return (NEUTRALS.model_copy(update={"tints": TintTable(steps=tuple(steps))}),)


def matching_greys(tints: Sequence[float], model: AnyPress, policy: InkPolicy) -> tuple[Build, ...]:
    """Return the builds in CMYK that look like greys in RGB, given as percent of black.

    White is the paper, black is black ink alone, and a grey lies between them in light, as it does
    in sRGB between white and black: its aim is neutral beside the paper (media-relative, ICC.1),
    whatever that is. Of the builds that look so it is the one with most black, which drifts least.
    """
    ends = np.array([_black(0.0).values, _black(100.0).values])
    paper, black = lab_to_xyz(model.predict_lab(ends))
    levels = 1.0 - np.array(tints)[:, None] / 100.0
    light, _ = linear_light(levels)
    darkest = black[1] / paper[1]
    aims = xyz_to_lab(paper * (darkest + (1.0 - darkest) * light))
    mostly_black = policy.wishing(BlackWish.MOST, ends[1])
    builds = np.atleast_2d(match(model, aims, mostly_black).builds)
    return tuple(
        Build(drive=Drive.CMYK, values=tuple(round(float(v), 4) + 0.0 for v in one))
        for one in builds
    )


def _black(tint: float) -> Build:
    return Build(drive=Drive.CMYK, values=(0.0, 0.0, 0.0, tint))
