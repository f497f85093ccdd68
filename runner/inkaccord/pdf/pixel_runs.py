"""Rasters by their runs: equal pixels mostly lie side by side, and equal rows below each other."""

import hashlib
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class PixelRuns:
    """A raster of numbers, a run of equal pixels in a row kept once, and a run of equal rows.

    Attributes
    ----------
    width
        Pixels in a row.
    starts
        Where each run starts in the rows that are kept, counted through; each row starts one.
    values
        The number of each run.
    repeats
        How often each row that is kept stands below itself.
    """

    width: int
    starts: NDArray[np.intp]
    values: NDArray[Any]
    repeats: NDArray[np.intp]

    @classmethod
    def of(cls, rows: NDArray[np.uint32], repeats: NDArray[np.intp]) -> Self:
        """Return the runs of rows, shape (rows, width), each with how often it stands there."""
        flat = rows.ravel()
        begins = np.ones(flat.size, np.bool_)
        np.not_equal(flat[1:], flat[:-1], out=begins[1:])
        begins[:: rows.shape[1]] = True
        starts = np.flatnonzero(begins)
        return cls(rows.shape[1], starts, flat[starts], repeats)

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return int(self.repeats.sum()), self.width

    @property
    def digest(self) -> bytes:
        """What tells it from other rasters of the same type."""
        parts = (self.starts, self.values, self.repeats)
        shape = f"{self.width} {len(self.starts)} {self.values.dtype.str}".encode()
        return hashlib.sha256(b"".join([shape, *(part.tobytes() for part in parts)])).digest()

    def having(self, values: NDArray[Any]) -> Self:
        """Return the same runs with other numbers, or with what is true of each."""
        return replace(self, values=values)

    def pixels(self) -> NDArray[Any]:
        """Return every pixel, shape (height, width)."""
        rows = self.rows()
        return rows if (self.repeats == 1).all() else np.repeat(rows, self.repeats, axis=0)

    def rows(self) -> NDArray[Any]:
        """Return the pixels of the rows that are kept, shape (rows, width)."""
        return np.repeat(self.values, self._lengths()).reshape(-1, self.width)

    def counts(self, rows: slice, columns: slice, size: int) -> NDArray[np.int64]:
        """Return how many pixels of a window have each number below ``size``."""
        ends = np.clip(np.cumsum(self.repeats), rows.start, rows.stop)
        height = np.diff(ends, prepend=min(rows.start, int(ends[-1])))
        row, left = np.divmod(self.starts, self.width)
        right = np.clip(left + self._lengths(), columns.start, columns.stop)
        across = right - np.clip(left, columns.start, columns.stop)
        weights = height[row] * across
        return np.bincount(self.values, weights, minlength=size).astype(np.int64)

    def _lengths(self) -> NDArray[np.intp]:
        return np.diff(self.starts, append=len(self.repeats) * self.width)
