"""Agreement: how far apart the pieces print one colour, and how sure that is."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chndtr, ndtr

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import paper_relative_lab
from inkaccord.colour.uncertainty import BOUND

SURE = 0.99
"""Probability from which a verdict is sure. The errors of a press model have longer tails than the
normal ones that this is reckoned with, so that 95 % would let too much wrong ink out:
docs/endings.md."""

BOUND_TO_SIGMA = BOUND * np.sqrt(3.0)
"""A 95 % bound on ΔE00 in standard deviations of one axis."""


@dataclass(frozen=True, eq=False)
class Differences:
    """ΔE00 between colours, with what is known of each; all arrays of one shape.

    Attributes
    ----------
    delta_e_00
        Between the predicted or read colours.
    uncertainty
        The 95 % bound of the error in the difference, ΔE00.
    within
        Probability that the prints are within the tolerance.
    beyond
        Probability that prints just at the tolerance would show less than this difference: near 1
        where the difference can't be an error of what is known.
    tolerance
        ΔE00, the limit of each.
    """

    delta_e_00: Array
    uncertainty: Array
    within: Array
    beyond: Array
    tolerance: Array

    @property
    def verdicts(self) -> NDArray[np.object_]:
        """A :class:`Verdict` for each."""
        result = np.empty(self.within.shape, dtype=object)
        result.fill(Verdict.UNCERTAIN)
        result[self.within >= SURE] = Verdict.INSIDE
        result[self.beyond >= SURE] = Verdict.OUTSIDE
        return result


@dataclass(frozen=True, eq=False)
class Papers:
    """The stocks that n colours are printed on.

    Attributes
    ----------
    labs
        (n, 3) CIELAB; NaN for a stock of which nothing is known.
    bounds
        (n,) 95 % bounds on the error of each, ΔE00.
    """

    labs: Array
    bounds: Array

    def seen(self, colours: Array) -> tuple[Array, Array]:
        """Return (n, 3) colours with their papers taken for white, and (n,) what that adds.

        What is added to the bound of a colour is how far it moves when its paper moves by the
        paper's own bound, the mean square of the three directions.
        """
        seen = paper_relative_lab(colours, self.labs)
        moved = [
            delta_e_2000(seen, paper_relative_lab(colours, self.labs + step))
            for step in np.eye(3)[:, None, :] * self.bounds[:, None]
        ]
        return seen, np.sqrt(np.mean(np.square(moved), axis=0))


@dataclass(frozen=True, eq=False)
class AgreementTable:
    """One colour on n pieces.

    Attributes
    ----------
    between
        (n, n): every piece against every other.
    to_aim
        (n,): every piece against the aim; None where no aim is known.
    between_relative, to_aim_relative
        The same with each piece's own paper taken for white (and the aim's, for an aim that is a
        print on a paper); NaN where a paper is not known, None where none is. People match neither
        absolutely nor fully relative to the paper (Journal of Imaging Science and Technology 67(5),
        050411, 2023), so both are shown; verdicts go by the absolute ones.
    """

    between: Differences
    to_aim: Differences | None
    between_relative: Differences | None
    to_aim_relative: Differences | None = None

    @property
    def apart(self) -> float:
        """The largest ΔE00 between two pieces; 0 for a single one."""
        return float(self.between.delta_e_00.max(initial=0.0))

    @property
    def verdict(self) -> Verdict:
        """Whether the pieces agree: as sure as the least sure of them."""
        count = len(self.between.within)
        return least_sure(self.between.verdicts[np.triu_indices(count, 1)].tolist())


def agreement(
    labs: ArrayLike,
    bounds: ArrayLike,
    *,
    between_tolerance: ArrayLike,
    aim_tolerance: ArrayLike,
    aim_lab: ArrayLike | None = None,
    aim_bound: float = 0.0,
    is_aim: ArrayLike = False,
    papers: Papers | None = None,
    aim_paper: Papers | None = None,
    same: Sequence[Hashable] | None = None,
) -> AgreementTable:
    """Return how far apart n pieces print one colour.

    Parameters
    ----------
    labs
        (n, 3) CIELAB that each piece is predicted or read to have.
    bounds
        (n,) 95 % bounds on the error of each, ΔE00.
    between_tolerance, aim_tolerance
        ΔE00 between two pieces, and from a piece to the aim: one limit for all, or (n, n) and
        (n,).
    aim_lab, aim_bound
        (3,) CIELAB of the aim and its own uncertainty (a picked aim has one).
    is_aim
        (n,) whether a piece is itself the print that the aim was taken from: it differs from the
        aim by nothing, however uncertain its colour is.
    papers, aim_paper
        The stocks of the pieces (n), and of the print that is the aim (1).
    same
        (n,) a key for each piece: pieces of one key (one pair, one build) are the same print and
        differ by nothing, however uncertain their colour is.
    """
    colours = np.atleast_2d(np.asarray(labs, dtype=np.float64))
    unsure = np.asarray(bounds, dtype=np.float64)
    joint = np.sqrt(unsure[:, None] ** 2 + unsure[None, :] ** 2)
    keys = list(range(len(colours))) if same is None else list(same)
    numbers = {key: number for number, key in enumerate(keys)}
    prints = np.array([numbers[key] for key in keys], dtype=np.int64)
    alike = prints[:, None] == prints[None, :]
    joint[alike] = 0.0

    def table(of: Array, bound: Array) -> Differences:
        apart = delta_e_2000(of[:, None, :], of[None, :, :])
        return differences(np.where(alike, 0.0, apart), bound, between_tolerance)

    to_aim = None
    if aim_lab is not None:
        joined = np.where(is_aim, 0.0, np.hypot(unsure, aim_bound))
        apart = np.where(is_aim, 0.0, delta_e_2000(colours, aim_lab))
        to_aim = differences(apart, joined, aim_tolerance)
    between_relative = to_aim_relative = None
    if papers is not None:
        seen, more = papers.seen(colours)
        added = np.where(alike, 0.0, np.hypot(more[:, None], more[None, :]))
        between_relative = table(seen, np.hypot(joint, added))
        if to_aim is not None and aim_paper is not None:
            aim_seen, aim_more = aim_paper.seen(np.atleast_2d(np.asarray(aim_lab, dtype=float)))
            to_aim_relative = differences(
                delta_e_2000(seen, aim_seen),
                np.hypot(to_aim.uncertainty, np.hypot(more, aim_more)),
                aim_tolerance,
            )
    return AgreementTable(table(colours, joint), to_aim, between_relative, to_aim_relative)


def differences(delta_e_00: ArrayLike, uncertainty: ArrayLike, tolerance: ArrayLike) -> Differences:
    """Return differences with how surely each is within, or beyond, its tolerance.

    The error of a difference is taken as equal in all three directions, so that ΔE00² follows a
    noncentral χ² distribution with three degrees of freedom; ``uncertainty`` is its 95 % bound.
    """
    distance = np.asarray(delta_e_00, dtype=np.float64)
    unsure = np.array(np.broadcast_to(np.asarray(uncertainty, dtype=np.float64), distance.shape))
    sigma = np.maximum(unsure / BOUND_TO_SIGMA, 1e-9)
    limit = np.array(np.broadcast_to(np.asarray(tolerance, dtype=np.float64), distance.shape))
    return Differences(
        delta_e_00=distance,
        uncertainty=unsure,
        within=_below(limit / sigma, distance / sigma),
        beyond=_below(distance / sigma, limit / sigma),
        tolerance=limit,
    )


def _below(length: Array, centre: Array) -> Array:
    """Return the probability that a point drawn about ``centre`` lies within ``length`` of 0.

    Both in standard deviations. The series of the distribution is slow and loses digits far out,
    where a normal will do.
    """
    far = (centre > 100.0) | (length > 100.0)
    near = chndtr(np.where(far, 1.0, length) ** 2, 3, np.where(far, 0.0, centre) ** 2)
    return np.asarray(np.where(far, ndtr(length - centre), near))


def least_sure(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict on all together: one outside decides, then one uncertain."""
    found = set(verdicts)
    for verdict in (Verdict.OUTSIDE, Verdict.UNCERTAIN):
        if verdict in found:
            return verdict
    return Verdict.INSIDE
