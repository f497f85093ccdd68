"""How evenly a page was lit, by its bare paper: a smooth field that is divided out.

A scanner's lamp is brighter in the middle than at its ends, and a photograph's light falls from one
side. The paper between the swatches, all over the page, shows how much.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import assumed_lab
from inkaccord.sheets.frame import sheet_geometry
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.sampling import linearised, sample_points
from inkaccord.sheets.scan.squaring import Squared
from inkaccord.units import PT_PER_MM

_STEP_PT, _SIDE_PT = 5 * PT_PER_MM, 2.6 * PT_PER_MM
"""Distance and size of the places where the paper is looked at."""
_SAMPLES = 10
_BARE = 75.0
"""Percentile of a place's brightness that is its paper, where type takes some of it."""
_CLEAR_PT = 2.2 * PT_PER_MM
"""Nothing nearer than this to a swatch is taken for bare paper: it runs on, and casts colour."""
_FEWEST = 15
_FAR = 3.0
"""Robust standard deviations beyond which a place is no bare paper."""
_LEAST = 0.002
_SHADED = 4.0
"""ΔE00 from the field from which on a place lies in a shadow, or is no paper."""
_ROUNDS = 8
_ROUND = 5
"""Places of bare paper that tell how a swatch among them is lit."""
_BEYOND_PT = 20 * PT_PER_MM
"""How far a thing may reach beyond its berth, and its shadow."""
_CLIPPED = 0.25
"""Share of the paper at the end of the scanner's range from which on it tells no light."""


@dataclass(frozen=True, eq=False)
class Lighting:
    """The light on one page.

    Attributes
    ----------
    paper
        (3,) linear RGB of the bare paper, its mean over the page.
    weights
        (6, 3) how the logarithm of the paper's RGB goes over the page.
    centre, reach
        (2,) points, and points from there to the page's ends: what the weights are scaled by.
    noise
        Root mean square ΔE00 by which a place of bare paper differs from the field.
    shaded
        Share of the places that are clearly no paper as the field has it.
    range
        The brightest of the page over its darkest, as the paper shows them.
    burnt
        Whether the paper is at the end of the scanner's range, so that it tells no light.
    places, missed
        (m, 2) points where the paper was looked at, and (m,) ΔE00 by which it misses the field.
    """

    paper: Array
    weights: Array
    centre: Array
    reach: Array
    noise: float
    shaded: float
    range: float
    burnt: bool
    places: Array
    missed: Array

    def even(self, linear: Array, points: Array) -> Array:
        """Return linear RGB (n, 3), seen at points (n, 2), as under the page's mean light."""
        return np.asarray(linear / np.exp(_terms(self._scaled(points)) @ self.weights) * self.paper)

    def missed_near(self, points: Array) -> Array:
        """Return (n,) ΔE00 by which the bare paper round points misses the field, its median."""
        if len(self.places) < _FEWEST:
            return np.zeros(len(points))
        apart = np.linalg.norm(points[:, None] - self.places, axis=-1)
        return np.asarray(np.median(self.missed[np.argsort(apart, axis=1)[:, :_ROUND]], axis=1))

    def _scaled(self, points: Array) -> Array:
        # Beyond the page the field is taken on as it is at its edge.
        return np.clip((points - self.centre) / self.reach, -1.1, 1.1)


def lighting_of(
    sheet: SampleSheet, squared: Squared, covered: Sequence[tuple[float, float, float, float]]
) -> Lighting:
    """Return the light on a squared page.

    ``covered`` are boxes where something may lie on the paper.
    """
    places = _bare_places(sheet, squared.page, covered)
    encoded = _papers(squared, places)
    burnt = bool(len(places) and (encoded > 254.5 / 255).any(axis=1).mean() > _CLIPPED)
    linear = np.maximum(linearised(encoded), 1e-4)
    left, bottom, right, top = sheet.live_pt or (0.0, 0.0, sheet.size.width_pt, 1.0)
    centre = np.array([(left + right) / 2, (bottom + top) / 2])
    reach = np.array([(right - left) / 2, (top - bottom) / 2])
    if len(places) < _FEWEST:
        paper = np.median(linear, axis=0) if len(places) else np.full(3, 0.8)
        flat = np.vstack([np.log(paper), np.zeros((5, 3))])
        return Lighting(
            paper,
            flat,
            centre,
            reach,
            noise=1.0,
            shaded=0.0,
            range=1.0,
            burnt=burnt,
            places=places,
            missed=np.zeros(len(places)),
        )
    terms = _terms((places - centre) / reach)
    weights, kept = _robust(terms, np.log(linear))
    fitted = np.exp(terms @ weights)
    paper = np.exp((terms[kept] @ weights).mean(axis=0))
    missed = delta_e_2000(assumed_lab(linear / fitted * paper), assumed_lab(paper))
    bright = fitted.mean(axis=1)
    return Lighting(
        paper=paper,
        weights=weights,
        centre=centre,
        reach=reach,
        noise=float(np.sqrt(np.mean(missed[kept] ** 2))),
        shaded=float((missed > _SHADED)[_free(places, covered, _BEYOND_PT)].mean()),
        range=float(bright.max() / bright.min()),
        burnt=burnt,
        places=places,
        missed=missed,
    )


def _terms(scaled: Array) -> Array:
    x, y = scaled[..., 0], scaled[..., 1]
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _robust(terms: Array, wanted: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return weights (6, 3) of a fit to (n, 3), and which of the places it holds for.

    Type and dirt are darker than paper, so that it begins at the brighter half.
    """
    bright = wanted.sum(axis=1)
    kept = bright >= np.median(bright)
    weights = np.zeros((terms.shape[1], 3))
    for _ in range(_ROUNDS):
        ridge = 1e-6 * len(terms) * np.eye(terms.shape[1])
        held = terms[kept]
        weights = np.linalg.solve(held.T @ held + ridge, held.T @ wanted[kept])
        missed = np.abs(wanted - terms @ weights).max(axis=1)
        spread = max(1.4826 * float(np.median(missed[kept])), _LEAST)
        again = missed <= _FAR * spread
        if again.sum() < _FEWEST or np.array_equal(again, kept):
            break
        kept = again
    return weights, kept


def _bare_places(
    sheet: SampleSheet, page: int, covered: Sequence[tuple[float, float, float, float]]
) -> Array:
    """Return (n, 2) points, all over a page, where nothing but type is printed."""
    geometry = sheet_geometry(sheet)
    left, bottom, right, top = sheet.live_pt or (0.0, 0.0, 0.0, 0.0)
    taken = [*geometry.swatches[page - 1].values(), geometry.codes[page - 1], *covered]
    half = _SIDE_PT / 2
    along, up = (
        np.arange(near + half, far - half, _STEP_PT) for near, far in ((left, right), (bottom, top))
    )
    points = np.stack(np.meshgrid(along, up), axis=-1).reshape(-1, 2)
    return np.asarray(points[_free(points, taken, half + _CLEAR_PT)])


def _free(
    points: Array, boxes: Sequence[tuple[float, float, float, float]], clear: float
) -> NDArray[np.bool_]:
    """Return which of (n, 2) points lie clear of boxes by so much."""
    free = np.full(len(points), True)
    for left, bottom, right, top in boxes:
        free &= ~(
            (points[:, 0] > left - clear)
            & (points[:, 0] < right + clear)
            & (points[:, 1] > bottom - clear)
            & (points[:, 1] < top + clear)
        )
    return free


def _papers(squared: Squared, places: Array) -> Array:
    """Return encoded RGB (n, 3) of the paper at places (n, 2)."""
    if not len(places):
        return np.empty((0, 3))
    steps = np.linspace(-_SIDE_PT / 2, _SIDE_PT / 2, _SAMPLES)
    square = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    found = sample_points(squared, places[:, None] + square)
    return np.asarray(np.percentile(found, _BARE, axis=1))
