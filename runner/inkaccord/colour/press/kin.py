"""What a related pair tells: the same device on another stock.

The kin's inks are carried to the new paper by the substrate correction, its tone curves and its
residual as they are, with room for change. How much room the readings say themselves: a near
relation, a distant one and none are all fitted, and the one that the readings are likeliest under
is kept. So a coated kin cannot hurt an uncoated pair once that has been read.

Source of the correction: the informative annex of ISO 13655 (formula from memory, its algebra
checked). It is meant for papers some 2 to 5 ΔE00 apart; beyond, it is a guess.
"""

from dataclasses import dataclass, replace

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.perceptual import even_to_lab
from inkaccord.colour.press.fitting import Data
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.surface import Surface
from inkaccord.colour.spaces import lab_to_xyz


@dataclass(frozen=True)
class Relation:
    """How far a pair may be from its kin."""

    room: float
    """Standard deviations of change, as a share of the population's."""
    residual: float
    """The same for the residual."""
    doubt: float
    """Factor on all variances: a kin may differ in ways that its readings can't show."""


NEAR = Relation(room=0.6, residual=0.6, doubt=1.5)
DISTANT = Relation(room=1.0, residual=0.9, doubt=1.5)

_LIKE_PAPER = 0.005
_DARKEST = 5e-4
"""No solid sends back less light than this."""


def substrate_correction(xyz: Array, old_paper: Array, new_paper: Array, darkest: Array) -> Array:
    """Return what colours become on another paper.

    Parameters
    ----------
    xyz
        (n, 3) XYZ on the old paper, or light in any three bands.
    old_paper, new_paper, darkest
        (3,) of both papers and of the darkest colour on the old one.

    Returns
    -------
    Array
        (n, 3): X₂ = X₁ (1 + C) − X_min C with C = (X_new − X_old) / (X_old − X_min).
    """
    share = (new_paper - old_paper) / (old_paper - darkest)
    return np.asarray(xyz * (1.0 + share) - darkest * share)


def carried_over(kin: Posterior, population: Prior, data: Data, relation: Relation) -> Prior:
    """Return the prior that a kin's model gives for a pair with these readings.

    Parameters
    ----------
    kin
        The related pair's model.
    population
        The prior without kin.
    data
        The new pair's readings, from which its paper is taken where it was read.
    relation
        How much room to leave for change.
    """
    layout = population.layout
    press = kin.parameters[: layout.size].copy()
    _move_to_paper(layout, press, data)
    known = _covariance(kin)[: layout.size, : layout.size]
    room = population.covariance * relation.room**2
    # The paper is new whatever the relation: its three parameters keep the population's spread.
    for band in range(3):
        paper = band * layout.per_value
        known[paper, :], known[:, paper] = 0.0, 0.0
        room[paper, :] = population.covariance[paper, :]
        room[:, paper] = population.covariance[:, paper]
    return replace(
        population,
        mean=press,
        covariance=kin.inflation * known + room,
        residual=relation.residual,
        carried=kin.processes,
        doubt=relation.doubt,
    )


def _covariance(kin: Posterior) -> Array:
    """Return what is left uncertain about the kin's parameters (p, p)."""
    half = np.linalg.solve(kin.information, kin.root.T)
    return np.asarray(half.T @ half)


def _move_to_paper(layout: Surface, press: Array, data: Data) -> None:
    """Give the halftone parameters the new paper, by the substrate correction of the solids."""
    bare = data.nominal.max(axis=1) <= _LIKE_PAPER
    if not bare.any():
        return
    new_paper = layout.bands(lab_to_xyz(even_to_lab(np.median(data.even[bare], axis=0))))
    for band in range(3):
        start = band * layout.per_value
        solids = np.exp(press[start : start + layout.solids])
        old = solids[0]
        solids[1:] *= old
        if layout.solids > 1:
            darkest = np.array([solids.min()])
            solids = substrate_correction(
                solids[:, None], np.array([old]), new_paper[band : band + 1], darkest
            )[:, 0]
        solids[0] = new_paper[band]
        solids = np.maximum(solids, _DARKEST)
        press[start] = np.log(solids[0])
        press[start + 1 : start + layout.solids] = np.log(solids[1:] / solids[0])
