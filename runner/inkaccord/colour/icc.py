"""What an ICC profile says that numbers look like.

Only this direction, and only relative colorimetric: device numbers to CIELAB under D50, with the
profile's own white as L* = 100. From 'Image technology colour management: architecture, profile
format and data structure', ICC.1:2010 (ISO 15076-1), to whose clauses the comments refer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import D50_WHITE, xyz_to_lab

Step = Callable[[Array], Array]
"""Takes and gives (n, channels)."""

_CHANNELS = {b"RGB ": 3, b"GRAY": 1, b"CMYK": 4}
_LUT_TAGS = (b"A2B1", b"A2B0")
"""Relative colorimetric first; a profile with one table has it in the second (9.2.1)."""
_MOST_POINTS = 4_000_000
_XYZ_FULL = 1.0 + 32767.0 / 32768.0
"""What a full XYZ number stands for (6.3.4.2)."""


class BadProfileError(ValueError):
    """A profile that can't be read, or one of a kind that no colour of a page goes through."""


@dataclass(frozen=True, eq=False)
class IccProfile:
    """A profile, read as far as its way from device numbers to CIELAB."""

    channels: int
    _steps: tuple[Step, ...]
    _lab_of: Step

    def lab(self, numbers: ArrayLike) -> Array:
        """Return CIELAB, (n, 3), of device numbers from 0 to 1, (n, channels).

        Raises BadProfileError where its curves give no numbers.
        """
        values = np.clip(np.asarray(numbers, dtype=np.float64).reshape(-1, self.channels), 0, 1)
        with np.errstate(all="ignore"):
            for step in self._steps:
                values = step(values)
            lab = self._lab_of(values)
        if not np.isfinite(lab).all():
            raise BadProfileError("its curves lead nowhere")
        return lab


def read_icc(data: bytes) -> IccProfile:
    """Read a profile of gray, RGB or CMYK. Raises BadProfileError."""
    try:
        return _read(data)
    except BadProfileError:
        raise
    except (LookupError, ValueError, ArithmeticError) as problem:
        raise BadProfileError(f"the profile does not follow the standard: {problem}") from None


def _read(data: bytes) -> IccProfile:
    if data[36:40] != b"acsp":
        raise BadProfileError("it is no ICC profile")
    channels = _CHANNELS.get(data[16:20])
    if channels is None:
        raise BadProfileError(
            f"it is a profile of {data[16:20].decode('latin-1')!r}, not of gray, RGB or CMYK"
        )
    in_lab = _pcs_is_lab(data[20:24])
    tags = _tags(data)
    for name in _LUT_TAGS:
        if name in tags:
            steps, lab_of = _table(tags[name], channels, in_lab)
            return IccProfile(channels, steps, lab_of)
    if channels == 1:
        curve, _ = _curve(tags[b"kTRC"])
        return IccProfile(1, (partial(_each, (curve,)),), _lightness if in_lab else _grey_light)
    if channels != 3 or in_lab:
        raise BadProfileError("it has no table")
    try:
        columns = np.array([_xyz(tags[name]) for name in (b"rXYZ", b"gXYZ", b"bXYZ")])
        curves = tuple(_curve(tags[name])[0] for name in (b"rTRC", b"gTRC", b"bTRC"))
    except KeyError as missing:
        raise BadProfileError(f"it has no {missing}") from None
    # Columns of the matrix are the colorants (F.3): a row of numbers times them, as rows, is XYZ.
    return IccProfile(3, (partial(_each, curves), lambda v: v @ columns), _from_xyz)


def _pcs_is_lab(word: bytes) -> bool:
    if word not in (b"Lab ", b"XYZ "):
        raise BadProfileError(f"it connects to {word.decode('latin-1')!r}, not to Lab or XYZ")
    return word == b"Lab "


def _tags(data: bytes) -> dict[bytes, bytes]:
    found = {}
    for number in range(min(_int(data, 128, 4), 200)):
        entry = data[132 + 12 * number : 144 + 12 * number]
        start, size = _int(entry, 4, 4), _int(entry, 8, 4)
        found[entry[:4]] = data[start : start + size]
    return found


def _int(data: bytes, start: int, size: int) -> int:
    if len(data) < start + size:
        raise BadProfileError("it breaks off")
    return int.from_bytes(data[start : start + size])


def _numbers(data: bytes, start: int, count: int, kind: str) -> Array:
    if count < 0 or len(data) < start + count * np.dtype(kind).itemsize:
        raise BadProfileError("it breaks off")
    return np.frombuffer(data, kind, count, start).astype(np.float64)


def _fixed(data: bytes, start: int, count: int) -> Array:
    return _numbers(data, start, count, ">i4") / 65536.0  # s15Fixed16Number (4.6)


def _xyz(tag: bytes) -> Array:
    return _fixed(tag, 8, 3)


# -- the connection space -----------------------------------------------------------------------


def _from_xyz(values: Array) -> Array:
    return xyz_to_lab(100.0 * values)


def _from_coded_xyz(values: Array) -> Array:
    return _from_xyz(values * _XYZ_FULL)


def _from_coded_lab(values: Array, full: float = 255.0, top: float = 1.0) -> Array:
    """Return CIELAB of numbers 0 to 1 as 6.3.4.2 codes it; ``top`` is what L* = 100 is coded as."""
    values = values / top
    return np.column_stack([100.0 * values[:, :1], full * values[:, 1:] - 128.0])


_OLD_TOP = 65280.0 / 65535.0
"""Where 16-bit tables of version 2, and lut16Type of any, have L* = 100 (6.3.4.2, table 12)."""


def _lightness(values: Array) -> Array:
    return np.column_stack([100.0 * values, np.zeros((len(values), 2))])


def _grey_light(values: Array) -> Array:
    return xyz_to_lab(values * D50_WHITE)


# -- curves -------------------------------------------------------------------------------------


def _each(curves: tuple[Step, ...], values: Array) -> Array:
    return np.column_stack([curve(column) for curve, column in zip(curves, values.T, strict=True)])


def _table_curve(table: Array, values: Array) -> Array:
    return np.interp(values, np.linspace(0, 1, len(table)), table)


def _power(gamma: float, values: Array) -> Array:
    return np.asarray(np.maximum(values, 0.0) ** gamma)


def _curve(data: bytes) -> tuple[Step, int]:
    """Return a curve (curveType, 10.5, or parametricCurveType, 10.15) and the bytes it takes."""
    if data[:4] == b"curv":
        count = _int(data, 8, 4)
        size = 12 + 2 * count
        if count == 0:
            return (lambda values: values), size
        table = _numbers(data, 12, count, ">u2")
        if count == 1:
            return partial(_power, float(table[0] / 256.0)), size
        return partial(_table_curve, table / 65535.0), size
    if data[:4] == b"para":
        form = _int(data, 8, 2)
        counts = (1, 3, 4, 5, 7)
        if form >= len(counts):
            raise BadProfileError(f"it has a curve of form {form}")
        given = tuple(float(v) for v in _fixed(data, 12, counts[form]))
        return partial(_parametric, form, given), 12 + 4 * counts[form]
    raise BadProfileError(f"it has a curve of type {data[:4]!r}")


def _parametric(form: int, given: tuple[float, ...], values: Array) -> Array:
    gamma, a, b, c, d, e, f = (*given, *(0.0,) * (7 - len(given)))
    if form == 0:
        return _power(gamma, values)
    if form in (1, 2):  # c is added throughout, and is 0 in the first
        low = -b / a if a else 0.0
        return np.where(values >= low, _power(gamma, a * values + b), 0.0) + c
    return np.where(values >= d, _power(gamma, a * values + b) + e, c * values + f)


# -- tables -------------------------------------------------------------------------------------


def _table(data: bytes, channels: int, in_lab: bool) -> tuple[tuple[Step, ...], Step]:
    kind = data[:4]
    if _int(data, 8, 1) != channels or _int(data, 9, 1) != 3:
        raise BadProfileError("its table is of another number of channels")
    if kind == b"mAB ":
        return _multi_table(data, channels), _from_coded_lab if in_lab else _from_coded_xyz
    if kind == b"mft1":
        steps = _lut(data, channels, 48, 256, 256, ">u1")
        return steps, _from_coded_lab if in_lab else _from_coded_xyz
    if kind == b"mft2":
        steps = _lut(data, channels, 52, _int(data, 48, 2), _int(data, 50, 2), ">u2")
        old_lab = partial(_from_coded_lab, full=65280.0 / 256.0, top=_OLD_TOP)
        return steps, old_lab if in_lab else _from_coded_xyz
    raise BadProfileError(f"its table is of type {kind!r}")


def _lut(
    data: bytes, channels: int, start: int, entries: int, out_entries: int, kind: str
) -> tuple[Step, ...]:
    """Return the steps of a lut8Type or lut16Type (10.8, 10.9); its matrix is for XYZ only."""
    full = float(np.iinfo(np.dtype(kind)).max)
    width = np.dtype(kind).itemsize
    points = _int(data, 10, 1)
    ins = _numbers(data, start, channels * entries, kind).reshape(channels, -1) / full
    start += ins.size * width
    clut = _numbers(data, start, _grid((points,) * channels) * 3, kind) / full
    start += clut.size * width
    outs = _numbers(data, start, 3 * out_entries, kind).reshape(3, -1) / full
    return (
        partial(_each, tuple(partial(_table_curve, row) for row in ins)),
        partial(_interpolated, clut.reshape(*(points,) * channels, 3)),
        partial(_each, tuple(partial(_table_curve, row) for row in outs)),
    )


def _multi_table(data: bytes, channels: int) -> tuple[Step, ...]:
    """Return the steps of a lutAToBType (10.10): A curves, table, M curves, matrix, B curves."""
    b, matrix, m, clut, a = (_int(data, at, 4) for at in (12, 16, 20, 24, 28))
    steps: list[Step] = []
    if a and clut:
        sizes = tuple(data[clut : clut + channels])
        kind = {1: ">u1", 2: ">u2"}[_int(data, clut + 16, 1)]
        full = float(np.iinfo(np.dtype(kind)).max)
        table = _numbers(data, clut + 20, _grid(sizes) * 3, kind) / full
        steps.append(partial(_each, _curves(data[a:], channels)))
        steps.append(partial(_interpolated, table.reshape(*sizes, 3)))
    elif channels != 3:
        raise BadProfileError("it has no table")
    if m and matrix:
        numbers = _fixed(data, matrix, 12)
        turned, moved = numbers[:9].reshape(3, 3).T, numbers[9:]
        steps.append(partial(_each, _curves(data[m:], 3)))
        steps.append(lambda values: values @ turned + moved)
    steps.append(partial(_each, _curves(data[b:], 3)))
    return tuple(steps)


def _curves(data: bytes, count: int) -> tuple[Step, ...]:
    found, start = [], 0
    for _ in range(count):
        curve, size = _curve(data[start:])
        found.append(curve)
        start += (size + 3) // 4 * 4
    return tuple(found)


def _grid(sizes: tuple[int, ...]) -> int:
    points = int(np.prod([float(size) for size in sizes]))
    if min(sizes) < 2 or points > _MOST_POINTS:
        raise BadProfileError(f"its table has {points} points")
    return points


def _interpolated(table: Array, values: Array) -> Array:
    """Return what a table holds between its points: the last three inputs by tetrahedra.

    The standard leaves the method open; this is the usual one for three inputs. A first one of
    four, which in CMYK is cyan, is interpolated between two such results.
    """
    sizes = np.array(table.shape[:-1])
    place = np.clip(values, 0, 1) * (sizes - 1)
    low = np.minimum(place.astype(int), sizes - 2)
    share = place - low
    lead = max(len(sizes) - 3, 0)
    total = np.zeros((len(values), table.shape[-1]))
    for corner in product((0, 1), repeat=lead):
        weight = np.ones(len(values))
        for at, side in enumerate(corner):
            weight *= share[:, at] if side else 1 - share[:, at]
        start = low.copy()
        start[:, :lead] += np.array(corner, int).reshape(1, lead)
        total += weight[:, None] * _in_tetrahedra(table, start, share, lead)
    return total


def _in_tetrahedra(table: Array, start: NDArray[np.int_], share: Array, lead: int) -> Array:
    """Walk from a cell's low corner to its high one, along the largest share first."""
    rows = np.arange(len(share))
    order = lead + np.argsort(-share[:, lead:], axis=1, kind="stable")
    here = start.copy()
    value = table[tuple(here.T)]
    result: Array = value
    for at in order.T:
        here[rows, at] += 1
        after = table[tuple(here.T)]
        result = result + share[rows, at][:, None] * (after - value)
        value = after
    return result
