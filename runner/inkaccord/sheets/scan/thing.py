"""A thing that lies on the glass with a sheet: where it lies, and its colour to the scanner.

It lies in the berth that the sheet has for it, over part of it or all. A weave is averaged, dust
and edges are left out; what can't be mended (glare, a shadow, two colours) is refused.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import assumed_lab
from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Berth
from inkaccord.sheets.scan.lighting import Lighting
from inkaccord.sheets.scan.sampling import linearised, sample_points
from inkaccord.sheets.scan.squaring import Squared
from inkaccord.units import PT_PER_MM

_PER_MM = 6
"""Samples in a millimetre."""
_BLOCK_MM = 1.5
"""Side of a block, over which a weave is averaged before it is judged."""
_EDGE_MM = 1.5
"""Left out inside the thing's edge, where shadows lie."""
_FRAME_MM = 0.8
"""Left out inside the berth's frame."""
_OFF_PAPER = 3.0
"""ΔE00, as the scanner sees it, from the bare paper on that makes a thing."""
_SMALLEST_MM2 = 50.0
_FAR = 4.0
"""A block counts as dust this many robust standard deviations from the middle."""
_LEAST = 0.006
"""Robust standard deviation, of the cube root of what is seen, below which blocks are not told
apart."""
_CLIPPED = 0.02
"""Share of samples at the end of the scanner's range that counts as glare."""
_BRIGHTER, _STREAK, _PART = 1.25, 0.04, 0.35
"""Times the middle's brightness, and share of the blocks, that make a bright streak; where it is a
larger share, it is another part of the thing."""
_UNEVEN = 5.0
"""Root mean square ΔE00 of the blocks round their middle up to which a thing is of one colour."""
_INDEPENDENT = 9.0
"""Neighbouring blocks share their error: one of so many counts."""


@dataclass(frozen=True, eq=False)
class Thing:
    """A thing on the glass.

    Attributes
    ----------
    linear
        (3,) its linear RGB, evenly lit.
    noise
        Root mean square error of that, ΔE00 as the scanner sees it.
    area_mm2
        How much of it was looked at.
    """

    linear: Array
    noise: float
    area_mm2: float


def thing_in(berth: Berth, squared: Squared, lighting: Lighting) -> Thing:
    """Return the thing that lies in a berth.

    Raises
    ------
    OrderError
        ``no-thing``, ``thing-too-small``, ``glare``, ``thing-uneven``.
    """
    left, bottom, right, top = berth.box_pt
    inset = _FRAME_MM * PT_PER_MM
    across, up = (
        max(int((far - near - 2 * inset) / PT_PER_MM * _PER_MM), 2)
        for near, far in ((left, right), (bottom, top))
    )
    points = np.stack(
        np.meshgrid(
            np.linspace(left + inset, right - inset, across),
            np.linspace(top - inset, bottom + inset, up),
        ),
        axis=-1,
    )
    encoded = sample_points(squared, points)
    linear = linearised(encoded).reshape(-1, 3)
    even = lighting.even(linear, points.reshape(-1, 2)).reshape(encoded.shape)
    inner = _inner(even, lighting.paper, berth, squared)
    clipped = (encoded > 254.5 / 255).any(axis=-1) & inner
    if clipped.sum() > _CLIPPED * inner.sum():
        raise _glare_of(berth.colour, squared, "part of it is as bright as the picture can be")
    return measured(even, inner, berth.colour, squared)


def measured(even: Array, inner: NDArray[np.bool_], colour: str, squared: Squared) -> Thing:
    """Return the robust middle of a region of evenly lit linear RGB (h, w, 3).

    Raises OrderError ``thing-too-small``, ``glare``, ``thing-uneven``.
    """
    blocks = _blocks(even, inner)
    area = len(blocks) * _BLOCK_MM**2
    if area < _SMALLEST_MM2:
        raise _refusal(
            "thing-too-small",
            f"too little of the thing for {colour} can be seen: {area:.0f} mm², "
            f"{_SMALLEST_MM2:.0f} are needed inside its edges",
            squared,
            "lay it so that it covers its field, or fold it; scan or photograph it larger",
        )
    middle = np.median(blocks, axis=0)
    bright = blocks.mean(axis=1) > _BRIGHTER * middle.mean() + 0.01
    if _STREAK < bright.mean() <= _PART:
        raise _glare_of(colour, squared, "a bright streak or spot lies on it")
    apart = np.abs(np.cbrt(blocks) - np.cbrt(middle)).max(axis=1)
    spread = max(1.4826 * float(np.median(apart)), _LEAST)
    kept = blocks[apart <= _FAR * spread]
    mean = kept.mean(axis=0)
    off = delta_e_2000(assumed_lab(blocks), assumed_lab(mean))
    typical = float(np.sqrt(np.mean(np.minimum(off, 3 * _UNEVEN) ** 2)))
    if typical > _UNEVEN:
        raise _refusal(
            "thing-uneven",
            f"the thing for {colour} is not of one colour there: its parts lie {typical:.0f} ΔE00 "
            "from its middle",
            squared,
            "lay a part of one colour, flat, over the whole field; keep shadows and folds off it",
        )
    noise = typical / np.sqrt(max(1.0, len(kept) / _INDEPENDENT))
    return Thing(mean, float(noise), len(kept) * _BLOCK_MM**2)


def _inner(even: Array, paper: Array, berth: Berth, squared: Squared) -> NDArray[np.bool_]:
    """Return which samples of a berth show the thing, its edges left out.

    Raises OrderError ``no-thing``.
    """
    from scipy import ndimage  # noqa: PLC0415  (only scans need it)

    smooth = ndimage.uniform_filter(even, size=(_PER_MM, _PER_MM, 1), mode="nearest")
    seen = assumed_lab(smooth.reshape(-1, 3))
    covered = (delta_e_2000(seen, assumed_lab(paper)) > _OFF_PAPER).reshape(even.shape[:2])
    labels, count = ndimage.label(covered)
    sizes = np.bincount(labels.ravel())[1:]
    if not count or sizes.max() < _SMALLEST_MM2 / 2 * _PER_MM**2:
        raise _refusal(
            "no-thing",
            f"nothing lies in the field for {berth.colour}, or it can't be told from the paper",
            squared,
            "lay the thing face down over its field, inside the frame or beyond it, and scan again",
        )
    own = labels == int(sizes.argmax()) + 1
    # What reaches the frame goes on beyond it: only edges inside the berth are left out.
    return np.asarray(
        ndimage.binary_erosion(own, iterations=round(_EDGE_MM * _PER_MM), border_value=1)
    )


def _blocks(even: Array, inner: NDArray[np.bool_]) -> Array:
    """Return the means (n, 3) of the blocks that lie in a region wholly."""
    side = round(_BLOCK_MM * _PER_MM)
    up, across = (length // side for length in inner.shape)
    cut = (slice(up * side), slice(across * side))
    whole = inner[cut].reshape(up, side, across, side).all(axis=(1, 3))
    means = even[cut].reshape(up, side, across, side, 3).mean(axis=(1, 3))
    return np.asarray(means[whole])


def _glare_of(colour: str, squared: Squared, what: str) -> OrderError:
    return _refusal(
        "glare",
        f"the thing for {colour} shines: {what}",
        squared,
        "press it flat on the glass, turn it a little, or lay a matt side down; for a photograph "
        "let the light come from the side, and none from behind you",
    )


def _refusal(code: str, message: str, squared: Squared, hint: str) -> OrderError:
    return OrderError.of(code, message, place=Place(file=squared.picture.name), hint=hint)
