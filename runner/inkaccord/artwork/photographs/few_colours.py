"""Pictures drawn in a few flat colours, some of them known: what programs make of patterns.

Their pixels are no photograph, and keep their colours all the same. So they have to be found: the
known colours in them stand beside the same colours drawn as shapes, which change.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.mixing import HIGHEST_TINT, LOWEST_TINT, inks, scaled
from inkaccord.artwork.photographs.one_colour import (
    CHANNELS,
    KINDS,
    images_of,
    read_samples,
    samples_of,
    shares_of,
)
from inkaccord.artwork.pixels import commonest
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import DEVICE, SpaceKind
from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.streams import StreamReader

_MOST_COLOURS = 4
_LEAST_SHARE = 0.03
"""Less of a picture than this is no colour that it is drawn in."""
_FLAT_SHARE = 0.7
"""At least so much of a picture is flat where it is drawn in a few colours, and no photograph."""
_SPREAD = 8
"""255ths by which pixels of one flat colour lie apart once they were packed with losses."""
_OFF = 4
"""255ths by which most of its pixels may be off what was meant then."""
_MOST_PIXELS = 200_000

# The four numbers are set by the exports that the tests keep, with a photograph beside; no source.


@dataclass(frozen=True)
class FlatPicture:
    """A picture drawn in a few colours."""

    key: tuple[int, int]
    """Object and generation number."""
    size: tuple[int, int]
    """Width and height in pixels."""
    known: tuple[tuple[Paint, float], ...]
    """The known colours in it, or tints of them, each with its share of what shows."""


def flat_pictures(pdf: pikepdf.Pdf, known: Sequence[Paint]) -> Iterator[FlatPicture]:
    """Yield the pictures of an open PDF that are drawn in a few colours, a known one among them.

    Blacks, greys and white are not asked for. Pictures that can't be read are left out: they are
    spoken of elsewhere.
    """
    wanted = [paint for paint in known if paint.kind in CHANNELS and grey_share(paint) is None]
    if not wanted:
        return
    streams = StreamReader()
    for image in images_of(pdf):
        try:
            found = _known_in(image, wanted, streams)
        except (*BAD_OBJECT, FileError, OSError):
            continue
        if found:
            yield FlatPicture(image.objgen, (int(image["/Width"]), int(image["/Height"])), found)


def _known_in(
    image: pikepdf.Stream, known: Sequence[Paint], streams: StreamReader
) -> tuple[tuple[Paint, float], ...]:
    kind = KINDS.get(str(entry(image, "/ColorSpace")))
    alike = [paint for paint in known if paint.kind is kind]
    if kind is None or not alike or "/Decode" in image:
        return ()
    samples = read_samples(image, CHANNELS[kind], streams)
    if samples is None:
        return ()
    pixels = _shown(image, samples, streams)
    flat = list(_flat_colours(pixels[:: len(pixels) // _MOST_PIXELS + 1]))
    whole = sum(share for _, share in flat)
    if whole < _FLAT_SHARE:
        return ()
    named = [(_named(middle, kind, alike), share / whole) for middle, share in flat]
    return tuple((paint, share) for paint, share in named if paint is not None)


def _shown(
    image: pikepdf.Stream, samples: NDArray[np.uint8], streams: StreamReader
) -> NDArray[np.uint8]:
    """Return the pixels, (count, channels), that an image's soft mask lets show."""
    mask = entry(image, "/SMask")
    shares = shares_of(mask, samples.shape[:2], streams) if mask is not None else None
    if shares is None:
        return samples.reshape(-1, samples.shape[2])
    return samples[shares > 127]


def _flat_colours(
    pixels: NDArray[np.uint8],
) -> Iterator[tuple[NDArray[np.uint8], float]]:
    """Yield the colours that most pixels have, each with its share, the largest first."""
    left, whole = pixels, len(pixels)
    for _ in range(_MOST_COLOURS):
        if not len(left):
            return
        middle = commonest(left)
        alike = (np.abs(left.astype(np.int16) - middle) <= _SPREAD).all(axis=1)
        share = float(alike.sum()) / whole
        if share < _LEAST_SHARE:
            return
        yield middle, share
        left = left[~alike]


def _named(middle: NDArray[np.uint8], kind: PaintKind, known: Sequence[Paint]) -> Paint | None:
    """Return the known colour, or the tint of one, that a flat colour is."""
    own = DEVICE[SpaceKind(kind.value)].colour(tuple(middle / 255)).paint
    if own is None:
        return None
    meant: list[tuple[float, Paint]] = []
    for paint in known:
        full, amounts = np.array(inks(paint)), np.array(inks(own))
        share = float(amounts @ full / max(full @ full, 1e-9))
        tints = [scaled(paint, round(share, 2))] if LOWEST_TINT <= share <= HIGHEST_TINT else []
        meant += [(float(np.abs(samples_of(it) - middle).max()), it) for it in (paint, *tints)]
    off, nearest = min(meant, key=lambda one: one[0])
    return nearest if off <= _OFF else None
