"""What a match gives: builds, what they will look like, and what is lost."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.spaces import lab_to_lch


@dataclass(frozen=True)
class Match:
    """The build for one aim."""

    aim_lab: Lab
    build: Build
    predicted_lab: Lab
    delta_e_00: float
    """From the aim to the predicted colour of ``build``."""
    bound: float
    """The print lies within this ΔE00 of ``predicted_lab`` with 95 % probability."""
    lost_lightness: float
    """L* of the prediction less L* of the aim; the next two likewise."""
    lost_chroma: float
    lost_hue: float
    """ΔH*ab: positive where the prediction is turned to greater hue angles."""


@dataclass(frozen=True, eq=False)
class Matches:
    """The builds for m aims, as arrays; iterate or index for single ones.

    Attributes
    ----------
    aims_lab
        (m, 3).
    builds, unrounded
        (m, k): what to send, and the optimum before whole numbers.
    predicted_lab
        (m, 3) of ``builds``.
    delta_e_00, bound
        (m,): distance to the aim; 95 % bound on the prediction.
    in_reach
        (m,) whether the pair can print the aim (to 0.1 ΔE00, unrounded).
    lost
        (m, 3) ΔL*, ΔC*ab, ΔH*ab from the aim to the prediction.
    """

    drive: Drive
    aims_lab: Array
    builds: Array
    unrounded: Array
    predicted_lab: Array
    delta_e_00: Array
    bound: Array
    in_reach: NDArray[np.bool_]
    lost: Array

    def __len__(self) -> int:
        return len(self.builds)

    def __getitem__(self, index: int) -> Match:
        lightness, chroma, hue = (float(value) for value in self.lost[index])
        return Match(
            aim_lab=_triple(self.aims_lab[index]),
            build=Build(drive=self.drive, values=tuple(self.builds[index].tolist())),
            predicted_lab=_triple(self.predicted_lab[index]),
            delta_e_00=float(self.delta_e_00[index]),
            bound=float(self.bound[index]),
            lost_lightness=lightness,
            lost_chroma=chroma,
            lost_hue=hue,
        )

    def part(self, rows: slice) -> "Matches":
        """Return the matches of some of the aims."""
        arrays = [getattr(self, field.name) for field in fields(self)[1:]]
        return Matches(self.drive, *(array[rows] for array in arrays))

    def __iter__(self) -> Iterator[Match]:
        return (self[index] for index in range(len(self)))


def lost_from(lab: Array, aims: Array) -> Array:
    """Return ΔL*, ΔC*ab and ΔH*ab from the aims, (m, 3)."""
    got, want = lab_to_lch(lab), lab_to_lch(aims)
    turn = np.radians(got[:, 2] - want[:, 2])
    hue = (
        2.0 * np.sqrt(got[:, 1] * want[:, 1]) * np.sin(0.5 * ((turn + np.pi) % (2 * np.pi) - np.pi))
    )
    return np.stack([got[:, 0] - want[:, 0], got[:, 1] - want[:, 1], hue], axis=1)


def _triple(values: Array) -> Lab:
    first, second, third = values.tolist()
    return first, second, third
