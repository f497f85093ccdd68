"""Colour tables with several inputs: builds of one device to builds of another, sampled on a grid.

Made once for two pairs, then read for every pixel. Between the grid points the value is linear:
either over the simplex that holds the point (as profiles are usually read; five points for CMYK)
or over the whole cell (16 points).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.pixels import codes_of
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.errors import OrderError

Convert = Callable[[Array], Array]

POINTS = {Drive.CMYK: 11, Drive.RGB: 21}
"""Grid points along each axis by default: about 14,600 and 9,300 builds to match."""
_CHUNK = 1 << 18


@dataclass(frozen=True)
class ColourTable:
    """A table of builds.

    Attributes
    ----------
    source, target
        How the two devices are driven.
    nodes
        Shape (n, …, n, channels of the target), values 0 to 1, one axis for each channel of the
        source.
    most_ink
        The largest sum of the inks, 1 for 100 %; infinite for RGB.
    """

    source: Drive
    target: Drive
    nodes: NDArray[np.float32]
    most_ink: float = np.inf

    def __post_init__(self) -> None:
        axes, out = len(CHANNELS[self.source]), len(CHANNELS[self.target])
        shape = self.nodes.shape
        if len(shape) != axes + 1 or shape[-1] != out or len(set(shape[:-1])) != 1 or shape[0] < 2:
            raise ValueError(f"a table of {self.source} to {self.target} cannot be {shape}")

    def look_up(self, values: NDArray[np.floating]) -> NDArray[np.float32]:
        """Return the builds for builds, read between the nodes by simplices (tetrahedra for RGB).

        Parameters
        ----------
        values
            Shape (count, channels of the source), 0 to 1; values outside are clipped.

        Returns
        -------
        NDArray
            Shape (count, channels of the target), 0 to 1.
        """
        size = self.nodes.shape[0]
        axes = self.nodes.ndim - 1
        scaled = np.clip(values, 0, 1).astype(np.float32) * np.float32(size - 1)
        cell = np.minimum(scaled.astype(np.int32), size - 2)
        rest = scaled - cell
        flat = self.nodes.reshape(-1, self.nodes.shape[-1])
        strides = np.array([size ** (axes - 1 - axis) for axis in range(axes)], dtype=np.int64)
        start = cell @ strides
        return _simplex(flat, start, rest, strides)


def _simplex(
    flat: NDArray[np.float32],
    start: NDArray[np.int64],
    rest: NDArray[np.float32],
    strides: NDArray[np.int64],
) -> NDArray[np.float32]:
    """Walk from a cell's first corner to its last, the axis with the largest rest first."""
    order = np.argsort(-rest, axis=1, kind="stable")
    falling = np.take_along_axis(rest, order, axis=1)
    at = start
    found = flat[at] * (1 - falling[:, :1])
    axes = rest.shape[1]
    for step in range(axes):
        at = at + strides[order[:, step]]
        lower = falling[:, step + 1 : step + 2] if step + 1 < axes else np.float32(0)
        found += flat[at] * (falling[:, step : step + 1] - lower)
    return np.asarray(found)


def build_table(
    lab_of: Convert,
    match: Convert,
    *,
    source: Drive,
    target: Drive,
    most_ink: float = np.inf,
    points: int | None = None,
) -> ColourTable:
    """Make the table from one pair to another; bare paper stays bare, whatever its colour.

    Parameters
    ----------
    lab_of
        The source pair's model: (count, channels) builds in percent (RGB 0 to 255) to
        (count, 3) CIELAB.
    match
        The target pair's: (count, 3) CIELAB to the builds that come nearest, same units.
    source, target
        How the two devices are driven.
    most_ink
        The largest sum of the inks of the target in percent. Every node keeps to it, and so does
        what lies between them, as that is a mean of nodes.
    points
        Grid points along each axis.

    Raises
    ------
    OrderError
        ``bad-table`` when a model gives numbers of the wrong shape, or none at all.
    """
    count = points or POINTS[source]
    axes, out = len(CHANNELS[source]), len(CHANNELS[target])
    steps = np.linspace(0.0, FULL_SCALE[source], count)
    grid = np.stack(np.meshgrid(*[steps] * axes, indexing="ij"), axis=-1).reshape(-1, axes)
    builds = np.asarray(match(np.asarray(lab_of(grid), dtype=np.float64)), dtype=np.float64)
    if builds.shape != (len(grid), out) or not np.isfinite(builds).all():
        raise OrderError.of(
            "bad-table",
            f"the models gave builds of shape {builds.shape} for {len(grid)} colours, expected "
            f"{(len(grid), out)} finite numbers",
            hint="use models that cover every build of the pair",
        )
    nodes = np.clip(builds / FULL_SCALE[target], 0, 1).astype(np.float32)
    bare = 0 if source is Drive.CMYK else -1
    nodes[bare] = 0.0 if target is Drive.CMYK else 1.0
    most = most_ink / 100
    if target is Drive.CMYK:
        nodes *= np.minimum(1, most / np.maximum(nodes.sum(axis=1, keepdims=True), 1e-6))
    return ColourTable(source, target, nodes.reshape(*[count] * axes, out), most)


def translate_samples(
    samples: NDArray[np.uint8] | NDArray[np.uint16],
    table: ColourTable,
) -> NDArray[np.uint8] | NDArray[np.uint16]:
    """Translate pixels through a table.

    Parameters
    ----------
    samples
        Shape (count, channels of the source), uint8 or uint16, 0 none to full.

    Returns
    -------
    NDArray
        Shape (count, channels of the target), the same type, rounded to the nearest; downwards
        where that would pass the limit of ink.
    """
    full = np.iinfo(samples.dtype).max
    out = np.empty((len(samples), table.nodes.shape[-1]), dtype=samples.dtype)
    for at in range(0, len(samples), _CHUNK):
        part = samples[at : at + _CHUNK]
        distinct, back = _distinct(part)
        new = table.look_up(distinct.astype(np.float32) / np.float32(full))
        scaled = new * np.float32(full)
        rounded = np.rint(scaled)
        over = passes_limit(rounded, full, table.most_ink)
        rounded[over] = np.floor(scaled[over])
        out[at : at + len(part)] = rounded.astype(samples.dtype)[back]
    return out


def passes_limit(samples: NDArray[Any], full: int, most_ink: float) -> NDArray[np.bool_]:
    """Return which of (count, channels) samples have more ink in all than allowed, 1 for 100 %."""
    # A hair's breadth for sums that lie on the limit itself: 280 % of 255 is 714 or 713.9999.
    return np.asarray(samples.sum(axis=1, dtype=np.float64) > most_ink * full + 1e-3)


def _distinct(
    part: NDArray[np.uint8] | NDArray[np.uint16],
) -> tuple[NDArray[np.uint8] | NDArray[np.uint16], NDArray[np.intp]]:
    """Return each colour once, and which of them every pixel is: most pixels repeat."""
    _, first, back = np.unique(codes_of(part), return_index=True, return_inverse=True)
    return part[first], back
