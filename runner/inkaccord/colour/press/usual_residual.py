"""What the halftone model leaves over on the usual press: where it errs, it errs alike on most.

The table holds averages over open characterisation data at builds of 0, 50 and 100 %, not above
300 % in all; ``tests/benchmarks/usual_residual.py`` makes it.
"""

from functools import cache
from importlib.resources import files

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.process import Process
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.press.surface import Surface

_KERNEL = Kernel(np.ones(3), np.array([0.8, 0.8, 1.1, 0.6]))
_SMOOTHING = 0.05
"""Variance by which the table is not followed."""


def usual_residual(layout: Surface, parameters: Array) -> Process:
    """Return what to add to the halftone model, its tone curves being those of ``parameters``."""
    nominal, offsets = usual_offsets()
    coverages, _ = layout.places(parameters, nominal)
    return smoothed(layout, parameters, coverages, offsets)


def smoothed(layout: Surface, parameters: Array, coverages: Array, offsets: Array) -> Process:
    """Return the process that passes near offsets (n, 3) at effective coverages (n, k)."""
    matrix = _KERNEL.shape(coverages, coverages) + _SMOOTHING * np.eye(len(coverages))
    pull = np.asarray(np.linalg.solve(matrix, offsets).T, dtype=np.float64)
    return Process(layout, parameters, _KERNEL, coverages, pull)


@cache
def usual_offsets() -> tuple[Array, Array]:
    """Return nominal coverages (n, 4), 0 to 1, and offsets (n, 3) in even coordinates."""
    text = (files(__package__) / "usual_residual.txt").read_text("utf-8")
    rows = [line.split() for line in text.splitlines() if line and not line.startswith("#")]
    table = np.array(rows, dtype=np.float64)
    return table[:, :4] / 100.0, table[:, 4:]
