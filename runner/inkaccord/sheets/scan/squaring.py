"""Finding a sheet in a picture, and the map from its points to the picture's pixels."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from inkaccord.apart.crew import Allowance, answer
from inkaccord.colour.arrays import Array
from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.code import CODE_MODULES, read_code_text
from inkaccord.sheets.frame import SheetGeometry, sheet_geometry
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.decoding import read_codes
from inkaccord.sheets.scan.picture import ScannedPicture

ZXING = Allowance("zxing", seconds=30, mib=2048, in_program="scan at 300 dpi")
_SIZE_OFF = 0.25
"""A mark may look this much larger or smaller than the code beside it says."""
_FILL = (0.28, 0.80)
"""Share of its square that a mark (a dot in a ring) blackens, sharp or blurred."""
_CANDIDATES, _ASLANT = 6, 0.35
"""How many candidates are tried for a mark of a page that lies aslant, and within which share of
its distance from the code."""
_CODE_OFF_PX = 3.0
"""How exactly, in pixels, the code's corners are told at least: they come as whole pixels, of a
blurred code."""
_WITH_FINDER = [0, 1, 3]
"""The code's corners, but the lower right one."""
_DARK = 0.82
"""What is darker than this share of its surroundings counts as print."""


@dataclass(frozen=True, eq=False)
class FoundCode:
    """A 2D code of ours in a picture."""

    sheet: str
    page: int
    corners: Array
    """(4, 2) pixels x, y: upper left, upper right, lower right, lower left of the code itself."""

    def is_also(self, other: "FoundCode") -> bool:
        """Tell whether this is another sight of the same code: its middle lies within the other."""
        if (self.sheet, self.page) != (other.sheet, other.page):
            return False
        off = self.corners.mean(axis=0) - other.corners.mean(axis=0)
        return bool((np.abs(off) < np.ptp(other.corners, axis=0) / 2).all())


@dataclass(frozen=True, eq=False)
class Squared:
    """A page of a sheet in a picture."""

    picture: ScannedPicture
    page: int
    to_pixels: Array
    """(3, 3) homography from points (y upwards) to pixels of the picture (y downwards)."""
    px_per_mm: float
    alone: bool = True
    """Whether no other page of a sheet lies in the picture."""

    def pixels(self, points: Array) -> Array:
        """Return (..., 2) pixel coordinates of (..., 2) points on the sheet."""
        return _apply(self.to_pixels, points)

    def points(self, pixels: Array) -> Array:
        """Return (..., 2) points on the sheet, or beyond it, of (..., 2) pixels."""
        return _apply(np.asarray(np.linalg.inv(self.to_pixels), dtype=np.float64), pixels)


def find_codes(picture: ScannedPicture) -> tuple[FoundCode, ...]:
    """Return every code of ours in a picture, whichever way it is turned."""
    codes: list[FoundCode] = []
    # A small code is lost where pixels are averaged, one in a grainy picture where they are not.
    for step in sorted({1, picture.reduction}):
        grey = picture.grey if step == picture.reduction else picture.full_grey()
        for text, corners in _codes_in(grey):
            named = read_code_text(text)
            if named is not None:
                xy = (np.array(corners, dtype=np.float64) + 0.5) * step - 0.5
                code = FoundCode(named[0], named[1], xy)
                if not any(code.is_also(other) for other in codes):
                    codes.append(code)
    return tuple(codes)


def _codes_in(grey: NDArray[np.uint8]) -> list[tuple[str, list[list[float]]]]:
    height, width = grey.shape
    data = np.ascontiguousarray(grey).data
    found = answer(read_codes, ZXING, width=width, height=height, grey=data)
    return [(text, corners) for text, corners in found["codes"]]


def square(picture: ScannedPicture, sheet: SampleSheet, code: FoundCode) -> Squared:
    """Return where the page that a code names lies in a picture.

    Raises
    ------
    OrderError
        ``marks-not-found`` naming the corners that are missing, ``no-such-page``.
    """
    if not 1 <= code.page <= sheet.pages:
        raise OrderError.of(
            "no-such-page",
            f"the code says page {code.page}, sheet {sheet.id} has {sheet.pages}",
            place=Place(file=picture.name),
        )
    geometry = sheet_geometry(sheet)
    left, bottom, right, top = geometry.codes[code.page - 1]
    code_points = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    scale = float(
        np.mean(np.linalg.norm(np.roll(code.corners, 1, axis=0) - code.corners, axis=1))
    ) / (right - left)
    marks = np.array(geometry.marks[code.page - 1])
    seen = _find_marks(picture, geometry, scale)
    module_px = (right - left) / CODE_MODULES * scale
    found = _assign(marks, seen, code_points, code.corners, scale)
    if _off_code(marks, found, code_points, code.corners) > 2.0 * module_px:
        aslant = _assign_aslant(marks, seen, code_points, code.corners, scale)
        if _off_code(marks, aslant, code_points, code.corners) <= max(module_px, _CODE_OFF_PX):
            found = aslant
    missing = [name for name, at in zip(_CORNERS, found, strict=True) if at is None]
    if len(missing) > 1:
        raise OrderError.of(
            "marks-not-found",
            f"the corner marks of sheet {sheet.id} at {' and '.join(missing)} are not in the scan",
            place=Place(file=picture.name),
            hint="scan the whole sheet flat, with all four corner marks on the glass; or "
            "photograph it whole, from straight above",
        )
    points = np.array([m for m, at in zip(marks, found, strict=True) if at is not None])
    pixels = np.array([at for at in found if at is not None])
    # three marks leave room for an affine map only
    to_pixels = _affine(points, pixels) if missing else _homography(points, pixels)
    off = np.linalg.norm(_apply(to_pixels, code_points) - code.corners, axis=1)
    # the code is a second, independent witness; three marks are believed less than four, and where
    # little is allowed, the code's corner without a finder (ISO/IEC 18004) is told too roughly
    far, allowed = (
        (off[_WITH_FINDER].max(), max(module_px, _CODE_OFF_PX))
        if missing
        else (off.max(), 2.0 * module_px)
    )
    if far > allowed:
        raise OrderError.of(
            "marks-not-found",
            f"the corner marks of sheet {sheet.id} do not fit its code: it may be folded, cut, or "
            "partly covered",
            place=Place(file=picture.name),
            hint="scan the sheet flat, with nothing lying over its marks; or photograph it from "
            "straight above",
        )
    return Squared(picture, code.page, to_pixels, scale * 72 / 25.4)


_CORNERS = ("lower left", "lower right", "upper right", "upper left")


def _find_marks(picture: ScannedPicture, geometry: SheetGeometry, scale: float) -> Array:
    """Return (n, 2) pixels of everything in the picture that looks like a corner mark."""
    from scipy import ndimage  # noqa: PLC0415

    step = picture.reduction
    grey = picture.grey.astype(np.float32)
    size = geometry.mark_pt * scale / step
    around = ndimage.uniform_filter(grey, size=max(3, round(2.5 * size)), mode="nearest")
    dark = grey < _DARK * around
    # a dot and its ring may touch when blurred; filled, they are one disc either way
    labels, _ = ndimage.label(dark, structure=np.ones((3, 3)))
    found: list[tuple[float, float]] = []
    for number, where in enumerate(ndimage.find_objects(labels), start=1):
        height, width = (part.stop - part.start for part in where)
        if not all(abs(side / size - 1) < _SIZE_OFF + 1.5 / size for side in (height, width)):
            continue
        own = labels[where] == number
        inside = ndimage.binary_fill_holes(own)
        fill = float((dark[where] & inside).mean())
        round_enough = 0.6 < float(inside.mean()) < 0.95  # a disc covers π/4 of its square
        if _FILL[0] < fill < _FILL[1] and round_enough and inside[height // 2, width // 2]:
            weight = np.where(inside, np.maximum(around[where] - grey[where], 0.0), 0.0)
            y, x = ndimage.center_of_mass(weight)
            found.append((where[1].start + x, where[0].start + y))
    return (np.array(found, dtype=np.float64).reshape(-1, 2) + 0.5) * step - 0.5


def _assign(
    marks: Array, seen: Array, code_points: Array, code_pixels: Array, scale: float
) -> list[Array | None]:
    """Return for each mark the nearest candidate, the marks close to the code first.

    With every mark found the map gets surer, so the next one is looked for in a smaller place.
    """
    result: list[Array | None] = [None] * len(marks)
    points, pixels = code_points, code_pixels
    order = np.argsort(np.linalg.norm(marks - code_points.mean(axis=0), axis=1))
    for at in order:
        reach = float(np.linalg.norm(marks[at] - points, axis=1).min())
        span = float(np.ptp(points, axis=0).max())
        predicted = _apply(_similarity(points, pixels), marks[at])
        allowed = scale * (12.0 + 0.1 * reach * min(1.0, 200.0 / span))
        if not len(seen):
            continue
        distance = np.linalg.norm(seen - predicted, axis=1)
        nearest = int(distance.argmin())
        if distance[nearest] <= allowed:
            result[at] = seen[nearest]
            points = np.vstack([points, marks[at]])
            pixels = np.vstack([pixels, seen[nearest]])
    return result


def _assign_aslant(
    marks: Array, seen: Array, code_points: Array, code_pixels: Array, scale: float
) -> list[Array | None]:
    """Return for the marks those candidates by which the code lies where it was found.

    A photograph taken aslant has its far marks elsewhere than the code by itself tells, so that a
    wider place is looked in, and the code decides.
    """
    predicted = _apply(_similarity(code_points, code_pixels), marks)
    reach = np.linalg.norm(marks - code_points.mean(axis=0), axis=1)
    near: list[Array] = []
    for at, far in zip(predicted, reach, strict=True):
        distance = np.linalg.norm(seen - at, axis=1)
        order = np.argsort(distance, kind="stable")[:_CANDIDATES]
        near.append(seen[order[distance[order] <= scale * (12.0 + _ASLANT * far)]])
    best: list[Array | None] = [None] * len(marks)
    least = np.inf
    for four in product(*near):
        if len({(float(x), float(y)) for x, y in four}) == len(marks):
            off = _off_code(marks, four, code_points, code_pixels)
            if off < least:
                least, best = off, list(four)
    return best


def _off_code(
    marks: Array, found: Sequence[Array | None], code_points: Array, code_pixels: Array
) -> float:
    """Return how far, in pixels, the code lies from where four marks say; infinite for fewer."""
    pixels = [at for at in found if at is not None]
    if len(pixels) < len(marks):
        return np.inf
    off = _apply(_homography(marks, np.array(pixels)), code_points) - code_pixels
    return float(np.linalg.norm(off, axis=1).max())


def _apply(matrix: Array, points: Array) -> Array:
    ones = np.ones((*np.shape(points)[:-1], 1))
    moved = np.concatenate([points, ones], axis=-1) @ matrix.T
    return np.asarray(moved[..., :2] / moved[..., 2:], dtype=np.float64)


def _similarity(points: Array, pixels: Array) -> Array:
    """Return the turn, scale and shift (y axes opposed) that fit best."""
    mean_points, mean_pixels = points.mean(axis=0), pixels.mean(axis=0)
    flipped = (points - mean_points) * np.array([1.0, -1.0])
    z = flipped[:, 0] + 1j * flipped[:, 1]
    w = (pixels - mean_pixels) @ np.array([1.0, 1j])
    turn = np.vdot(z, w) / np.vdot(z, z)
    linear = np.array([[turn.real, turn.imag], [turn.imag, -turn.real]])
    shift = mean_pixels - linear @ mean_points
    return np.vstack([np.column_stack([linear, shift]), [0.0, 0.0, 1.0]])


def _affine(points: Array, pixels: Array) -> Array:
    design = np.column_stack([points, np.ones(len(points))])
    solved = np.linalg.lstsq(design, pixels, rcond=None)[0]
    return np.vstack([solved.T, [0.0, 0.0, 1.0]])


def _homography(points: Array, pixels: Array) -> Array:
    """Return the homography through four points (direct linear transform, centred)."""
    from_unit, to_unit = _unit(points), _unit(pixels)
    p, q = _apply(from_unit, points), _apply(to_unit, pixels)
    rows: list[Sequence[float]] = []
    for (x, y), (u, v) in zip(p, q, strict=True):
        rows.append((x, y, 1, 0, 0, 0, -u * x, -u * y, -u))
        rows.append((0, 0, 0, x, y, 1, -v * x, -v * y, -v))
    solved = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    return np.asarray(np.linalg.inv(to_unit) @ solved @ from_unit, dtype=np.float64)


def _unit(points: Array) -> Array:
    centre = points.mean(axis=0)
    size = float(np.linalg.norm(points - centre, axis=1).mean())
    return np.array([[1, 0, -centre[0]], [0, 1, -centre[1]], [0, 0, size]]) / size
