"""What a pair can reach: the outline of its colours, seen from above and cut along one hue."""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.predictor import Predictor

Point = tuple[float, float]

_HUES = 72
_STRENGTHS = 5
_BLACKS = 9


@dataclass(frozen=True, eq=False)
class Gamut:
    """CIELAB of builds all round the hues.

    Attributes
    ----------
    labs
        (hues, strengths, blacks, 3): rings of builds from full strength to bare paper, and with
        more and more black in them.
    """

    labs: Array

    def outline_ab(self) -> tuple[Point, ...]:
        """Return the strongest colour of every hue as (a*, b*)."""
        clean = self.labs[:, :, 0]
        best = np.argmax(np.hypot(clean[..., 1], clean[..., 2]), axis=1)
        ring = clean[np.arange(len(clean)), best]
        return tuple((float(a), float(b)) for a, b in ring[:, 1:])

    def slice(self, hue_deg: float) -> tuple[Point, ...]:
        """Return what is reached at one hue angle: the convex outline as (C*, L*).

        Every ring of builds is cut where it crosses the hue. Empty where fewer than three
        crossings are found.
        """
        direction = np.radians(hue_deg)
        along = self.labs[..., 1] * np.cos(direction) + self.labs[..., 2] * np.sin(direction)
        off = self.labs[..., 2] * np.cos(direction) - self.labs[..., 1] * np.sin(direction)
        after = np.roll(off, -1, axis=0)
        crosses = (off < 0) != (after < 0)
        step = np.where(crosses, off - after, 1.0)
        share = np.where(crosses, off / step, 0.0)
        chroma = along + share * (np.roll(along, -1, axis=0) - along)
        light = self.labs[..., 0]
        light = light + share * (np.roll(light, -1, axis=0) - light)
        found = crosses & (chroma >= 0)
        return convex_hull(list(zip(chroma[found].tolist(), light[found].tolist(), strict=True)))


def gamut_of(model: Predictor, drive: Drive) -> Gamut:
    """Return what a model of a pair predicts for builds all round the hues."""
    hue = np.arange(_HUES) / _HUES * 6
    pure = np.clip(
        np.stack([np.abs(hue - 3) - 1, 2 - np.abs(hue - 2), 2 - np.abs(hue - 4)], axis=1), 0, 1
    )
    strength = np.linspace(1, 0, _STRENGTHS, endpoint=False)
    black = np.linspace(0, 1, _BLACKS)
    light = 1 - strength[None, :, None] * (1 - pure[:, None, :])
    rgb = np.broadcast_to(light[:, :, None, :], (_HUES, len(strength), len(black), 3))
    dark = np.broadcast_to(black[None, None, :, None], (_HUES, len(strength), len(black), 1))
    if drive is Drive.CMYK:
        builds = np.concatenate([100 * (1 - rgb), 100 * dark], axis=3)
    else:
        builds = 255 * rgb * (1 - dark)
    labs = model.predict_lab(builds.reshape(-1, builds.shape[-1]))
    return Gamut(np.asarray(labs).reshape(*builds.shape[:-1], 3))


def convex_hull(points: list[Point]) -> tuple[Point, ...]:
    """Return the convex hull, against the clock; empty for fewer than three points.

    A. Andrew's monotone chain (Information Processing Letters 9(5), 1979; from memory).
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ()

    def chain(run: list[Point]) -> list[Point]:
        kept: list[Point] = []
        for point in run:
            while len(kept) >= 2 and _turn(kept[-2], kept[-1], point) <= 0:
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return tuple(chain(ordered) + chain(ordered[::-1]))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
