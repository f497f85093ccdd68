"""The edges of a piece: where colour runs to the cut but not on through the bleed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Literal, Self

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.inventory.areas import PAPER, ColourMap, colour_maps
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.sizes import Box
from inkaccord.units import mm

Side = Literal["left", "bottom", "right", "top"]
SIDES: tuple[Side, ...] = ("left", "bottom", "right", "top")
_SHORTEST_MM = 1.0


@dataclass(frozen=True)
class BareEdge:
    """A side of a page along which colour runs to the cut but not through the bleed.

    Attributes
    ----------
    side
        Which side, unrotated.
    length_mm
        How much of it.
    reach_pt
        How far past the cut colour goes at the least.
    box
        The strip of bleed that is bare, ends included.
    """

    side: Side
    length_mm: float
    reach_pt: float
    box: Box


def bare_edges(found: ColourMap, bleed_pt: float) -> tuple[BareEdge, ...]:
    """Return the sides of a page on which colour at the cut does not fill the bleed.

    White and bare paper count as no colour. Less than 1 mm of a side counts as none.
    """
    inked = _inked(found)
    edges = (_bare_edge(found, inked, side, bleed_pt) for side in SIDES)
    return tuple(edge for edge in edges if edge is not None and edge.length_mm >= _SHORTEST_MM)


@dataclass(frozen=True)
class BareOutline:
    """Where colour runs up to a die line from inside but not on through the bleed round it.

    Attributes
    ----------
    length_mm
        How much of the bleed's outer rim.
    reach_pt
        How far past the line colour goes at the least.
    box
        Round what is bare.
    """

    length_mm: float
    reach_pt: float
    box: Box


@dataclass(frozen=True)
class DieCut:
    """What a die cuts out of a page: all that its closed lines go round.

    Attributes
    ----------
    inside
        Shape (height, width), row 0 at the top: pixels within the lines.
    line
        The same: pixels of the lines themselves.
    box
        Round both, in points of the page.
    """

    inside: NDArray[np.bool_]
    line: NDArray[np.bool_]
    box: Box

    @classmethod
    def along(cls, found: ColourMap, colours: Collection[ArtworkColour]) -> Self | None:
        """Return what lines in some colours cut out; None where they go round nothing."""
        from scipy import ndimage  # noqa: PLC0415 - slow to load, seldom needed

        line = found.where(colours)
        inside = ndimage.binary_fill_holes(line) & ~line
        return cls(inside, line, _box_round(found, inside | line)) if inside.any() else None

    def bare(self, found: ColourMap, bleed_pt: float) -> BareOutline | None:
        """Return where colour stops too near outside the lines; None where it nowhere does."""
        from scipy import ndimage  # noqa: PLC0415 - slow to load, seldom needed

        step_pt = found.boxes.media.width / self.line.shape[1]
        steps = max(1, int(bleed_pt / step_pt) - 1)  # the last pixel may be cut by rounding
        # Beyond the page there is no colour either.
        inside, line, inked = (
            np.pad(pixels, steps + 1) for pixels in (self.inside, self.line, _inked(found))
        )
        away = ndimage.distance_transform_edt(~(inside | line))
        rows, columns = ndimage.distance_transform_edt(
            ~inside, return_distances=False, return_indices=True
        )
        bare = (away > 0) & (away <= steps) & ~inked & inked[rows, columns]
        # A rim of one pixel's width has as many pixels as it is long.
        length_mm = mm(float(np.count_nonzero(bare & (away > steps - 1))) * step_pt)
        if length_mm < _SHORTEST_MM:
            return None
        return BareOutline(
            length_mm=length_mm,
            reach_pt=(float(away[bare].min()) - 1) * step_pt,
            box=self.box.grown(bleed_pt),
        )


def bare_edges_of(source: Path | bytes, bleed_pt: float) -> dict[int, tuple[BareEdge, ...]]:
    """Return the bare edges of each page that has any. Raises FileError."""
    found = {one.page: bare_edges(one, bleed_pt) for one in colour_maps(source, dpi=150)}
    return {page: edges for page, edges in found.items() if edges}


def ink_box(source: Path | bytes) -> Box | None:
    """Return the box round all colour of all pages, to half a point; None where there is none.

    White and bare paper count as no colour. Raises FileError.
    """
    boxes = []
    for found in colour_maps(source, dpi=144):
        inked = _inked(found)
        if inked.any():
            boxes.append(_box_round(found, inked))
    return reduce(Box.around, boxes) if boxes else None


def _box_round(found: ColourMap, pixels: NDArray[np.bool_]) -> Box:
    """Return the box round some pixels of a page, of which there is one at least."""
    rows, columns = (np.flatnonzero(pixels.any(axis=axis)) for axis in (1, 0))
    media, (height, width) = found.boxes.media, pixels.shape
    across, up = media.width / width, media.height / height
    return Box(
        float(media.left + columns[0] * across),
        float(media.top - (rows[-1] + 1) * up),
        float(media.left + (columns[-1] + 1) * across),
        float(media.top - rows[0] * up),
    )


def _inked(found: ColourMap) -> NDArray[np.bool_]:
    white = np.zeros(len(found.names) + 1, dtype=bool)
    white[PAPER] = True
    for at, (colour, _) in enumerate(found.names, start=1):
        white[at] = colour.is_white
    return found.runs.having(~white[found.runs.values]).pixels()


def _bare_edge(
    found: ColourMap, inked: NDArray[np.bool_], side: Side, bleed_pt: float
) -> BareEdge | None:
    trim, media = found.boxes.trim, found.boxes.media
    rows, columns = found.window(trim)
    height, width = found.runs.shape
    upright = side in {"left", "right"}
    field = inked if upright else inked.T
    along, across = (rows, columns) if upright else (columns, rows)
    across_pt, along_pt = media.width / width, media.height / height
    if not upright:
        across_pt, along_pt = along_pt, across_pt
    outwards = -1 if side in {"left", "top"} else 1
    edge = across.start if outwards < 0 else across.stop - 1

    def line(at: int) -> NDArray[np.bool_]:
        inside = 0 <= at < field.shape[1]
        return field[along, at] if inside else np.zeros(along.stop - along.start, dtype=bool)

    # Two pixels inside, so that a cut in the middle of a pixel does not hide what touches it.
    going = line(edge) & line(edge - outwards)
    at_cut = going.copy()
    steps = max(1, int(bleed_pt / across_pt) - 1)  # the last pixel may be cut by rounding
    reach = np.full(going.shape, steps)
    for step in range(1, steps + 1):
        here = line(edge + outwards * step)
        reach[going & ~here] = step - 1
        going &= here
    bare = at_cut & (reach < steps)
    if not bare.any():
        return None
    spots = np.nonzero(bare)[0]
    first, last = float(spots[0]) * along_pt, float(spots[-1] + 1) * along_pt
    if upright:
        top = media.top - along.start * along_pt
        low, high = top - last, top - first
    else:
        left = media.left + along.start * along_pt
        low, high = left + first, left + last
    strip = {
        "left": (trim.left - bleed_pt, low, trim.left, high),
        "right": (trim.right, low, trim.right + bleed_pt, high),
        "bottom": (low, trim.bottom - bleed_pt, high, trim.bottom),
        "top": (low, trim.top, high, trim.top + bleed_pt),
    }[side]
    return BareEdge(
        side=side,
        length_mm=mm(float(np.count_nonzero(bare)) * along_pt),
        reach_pt=float(reach[bare].min()) * across_pt,
        box=Box.of(strip),
    )
