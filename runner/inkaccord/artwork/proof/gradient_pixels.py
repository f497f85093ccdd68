"""The pixels of swapped gradients: each has to be a place of the gradient before and after.

Colours along each old gradient, and the exact mixtures that they are to become, are rendered as
patches by the program that renders the pages; between two of them pixels lie on a line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.pixels import codes_of
from inkaccord.artwork.proof.gradient_proof import wanted_runs
from inkaccord.artwork.proof.shading_pairs import ShadingPair
from inkaccord.artwork.proof.shading_values import Numbers
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.pdf.colours.spaces import write_number
from inkaccord.pdf.entries import entry, objgen

MOST_PLACES = 1500
"""So many places of all gradients are drawn as patches; pixels of more are not judged."""
LOOSE = 0.05 * 65535
"""How far Ghostscript's cells of one colour, other ones in each file, part the two."""
STRAY = 0.03
"""How many pixels of gradients may be off: those on edges, which two drawings cut otherwise."""

Setting = tuple[bytes, bytes]
"""The operators that set a colour of the old gradient, and what it is to become."""


def gradient_settings(
    old: pikepdf.Pdf,
    new: pikepdf.Pdf,
    table: SwapTable,
    old_spaces: list[Any],
    new_spaces: list[Any],
) -> list[list[Setting]] | None:
    """Return colours along each gradient that changes; None where they are no lines of colours."""
    found: list[list[Setting]] = []
    for pair, runs in wanted_runs(_shadings(old, new), table):
        if runs is None:
            return None
        if runs:
            old_spaces.append(pair.old["/ColorSpace"])
            new_spaces.append(pair.new["/ColorSpace"])
        found += [
            [(_set(old_spaces, before), _set(new_spaces, after)) for before, after in run]
            for run in runs
        ]
    return found if sum(map(len, found)) <= MOST_PLACES else None


def _set(spaces: Sequence[Any], numbers: Numbers) -> bytes:
    return f"/P{len(spaces) - 1} cs {' '.join(map(write_number, numbers))} scn".encode()


def _shadings(old: pikepdf.Pdf, new: pikepdf.Pdf) -> Iterator[ShadingPair]:
    """Yield the shadings that pages lead to, those of both files at one place."""
    pending: list[tuple[Any, Any]] = [
        (entry(one.obj, "/Resources"), entry(other.obj, "/Resources"))
        for one, other in zip(old.pages, new.pages, strict=True)
    ]
    seen: set[tuple[int, int]] = set()
    while pending:
        one, other = pending.pop()
        if objgen(one) != (0, 0):
            if objgen(one) in seen:
                continue
            seen.add(objgen(one))
        for category in ("/Shading", "/Pattern", "/XObject"):
            table = entry(one, category)
            for name in sorted(table.keys()) if isinstance(table, pikepdf.Dictionary) else ():
                first, second = table[name], entry(entry(other, category), name)
                if category == "/Pattern" and entry(first, "/PatternType") == 2:
                    first, second = entry(first, "/Shading"), entry(second, "/Shading")
                if entry(first, "/ShadingType") is not None and second is not None:
                    yield ShadingPair(first, second, name)
                elif entry(first, "/Resources") is not None:
                    pending.append((entry(first, "/Resources"), entry(second, "/Resources")))


def stray_share(
    before: NDArray[np.uint16],
    after: NDArray[np.uint16],
    counts: NDArray[np.int64],
    lines: Sequence[NDArray[np.float64]],
) -> float:
    """Return which share of changed pixels lies off every gradient.

    Parameters
    ----------
    before, after
        Shape (n, 4), their colours in both files; ``counts`` how many pixels each.
    lines
        Shape (places, 8) each: a gradient's colours before, and what they are to become.
    """
    if not len(before):
        return 0.0
    pixels = np.hstack([before, after]).astype(np.float64)
    # Neighbours of a gradient are alike: of those that share 7 bits, one stands for all.
    cells = codes_of((np.hstack([before, after]) >> 9).astype(np.uint8))
    _, first, back = np.unique(cells, return_index=True, return_inverse=True)
    some = pixels[first]
    best = np.full(len(some), np.inf)
    for line in lines:
        for one, other in pairwise(line):
            way = other - one
            weight = float(way @ way)
            shares = np.clip((some - one) @ way / weight, 0, 1) if weight else np.zeros(len(some))
            off = np.abs(some - one - np.outer(shares, way)).max(axis=1)
            best = np.minimum(best, off)
    stray = (best > LOOSE)[back]
    return float(counts[stray].sum() / counts.sum())
