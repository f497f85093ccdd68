"""Pictures of a single colour: what programs make of a blurred shape or a soft shadow.

The shape is in the soft mask; the image under it is meant as one colour, but most of its pixels are
a little off it, since a blur is computed with 8 bits a sample, often in linear light, and what is
nearly transparent is rounded coarsely. Such a picture is written anew with the one colour, as a
table with one entry: from there on it is recoloured, measured and proved like any flat colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.mixing import HIGHEST_TINT, LOWEST_TINT, inks, scaled
from inkaccord.artwork.pixels import codes_of
from inkaccord.colour.arrays import Array
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.spaces import linear_light
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import DEVICE, SpaceKind, device_numbers
from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.jpeg import jpeg_shape, read_jpeg
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.streams import IMAGE_FILTERS, JPEG_FILTERS, StreamReader, deflate, filters_of
from inkaccord.pdf.writing import save_as_packed

NOISE = 2.5
"""How far a pixel may be off, in 255ths of what it adds to the page, in light or in its numbers.
The blurs in the exports of three programs that the tests keep are within 2.1."""

KINDS = {"/DeviceRGB": PaintKind.RGB, "/DeviceCMYK": PaintKind.CMYK, "/DeviceGray": PaintKind.GRAY}
CHANNELS = {PaintKind.RGB: 3, PaintKind.CMYK: 4, PaintKind.GRAY: 1}
_BLACK = Paint(kind=PaintKind.RGB, values=(0, 0, 0))
_AT_ONCE = 1 << 20
"""Pixels that are looked at together, so that no picture needs many times its own memory."""
_MOST_DIFFERENT = 1 << 20
"""Colours with their shares of the mask: what has more is a photograph."""


def with_one_colour_each(
    source: Path | bytes,
    known: Sequence[Paint],
) -> Path | bytes:
    """Return a PDF in which every picture that is meant as one colour holds just that.

    The source itself where there is none. ``known`` as for :func:`flatten_pictures`.
    Raises FileError.
    """
    with open_artwork(source) as pdf:
        done = flatten_pictures(pdf, known)
        return save_as_packed(pdf) if done else source


def flatten_pictures(
    pdf: pikepdf.Pdf,
    known: Sequence[Paint],
    *,
    guess: bool = False,
) -> int:
    """Give each picture of an open PDF that is meant as one colour a table of that, in place.

    Parameters
    ----------
    known
        Colours that a picture whose pixels are a little off may be meant as, or a tint of them.
    guess
        Whether such a picture that is none of these gets its own middle colour; else it stays.

    Returns
    -------
    int
        How many were changed.
    """
    streams = StreamReader()
    done = 0
    for image in images_of(pdf):
        try:
            seen = _look(image, streams)
            paint = None if seen is None else seen.meant_as(known, guess=guess)
        except (*BAD_OBJECT, FileError, OSError):
            continue  # what can't be read stays, and is said elsewhere
        if paint is not None:
            _write(image, paint)
            done += 1
    return done


def is_one_colour(image: Any) -> bool:
    """Whether an image is meant as one colour, whichever."""
    try:
        seen = _look(image, StreamReader())
        return seen is not None and seen.meant_as((), guess=True) is not None
    except (*BAD_OBJECT, FileError, OSError):
        return False


def images_of(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Stream]:
    """Yield every image object of a document."""
    for one in pdf.objects:
        if isinstance(one, pikepdf.Stream) and entry(one, "/Subtype") == "/Image":
            yield one


@dataclass(frozen=True)
class _Visible:
    """The pixels of an image that its mask lets show."""

    kind: PaintKind
    samples: NDArray[np.uint8]
    """Shape (count, channels): each colour once for each share of the mask."""
    shares: Array
    """Shape (count,): how much of each shows, 0 to 1."""
    counts: NDArray[np.intp]

    def meant_as(self, known: Sequence[Paint], *, guess: bool) -> Paint | None:
        """Return the one colour that the picture is meant as, if it is."""
        middle = self._middle()
        own = DEVICE[SpaceKind(self.kind.value)].colour(tuple(middle / 255)).paint
        if own is None or self._off(middle) > NOISE:
            return None

        def apart(paint: Paint) -> float:
            return float(np.abs(samples_of(paint) - middle).max())

        # Where all pixels are the same, nothing was computed: that is the colour.
        same = bool((self.samples == self.samples[0]).all())
        fitting = [
            paint
            for paint in self._near(known, own)
            if self._off(samples_of(paint)) <= NOISE and (not same or apart(paint) <= 1)
        ]
        if fitting:
            return min(fitting, key=apart)
        return own if same or guess else None

    def _middle(self) -> Array:
        """Return the median of each channel, weighted by what shows of a pixel."""
        weights = self.shares * self.counts
        found = []
        for channel in self.samples.T:
            order = np.argsort(channel, kind="stable")
            reached = np.cumsum(weights[order])
            found.append(float(channel[order][np.searchsorted(reached, reached[-1] / 2)]))
        return np.array(found)

    def _near(self, known: Sequence[Paint], own: Paint) -> Iterator[Paint]:
        """Yield the known colours, or the tints of them, that come nearest to a colour."""
        alike = [paint for paint in known if paint.kind is self.kind]
        for paint in [*alike, *([_BLACK] if self.kind is PaintKind.RGB else [])]:
            yield paint
            full, amounts = np.array(inks(paint)), np.array(inks(own))
            share = float(amounts @ full / max(full @ full, 1e-9))
            if LOWEST_TINT <= share <= HIGHEST_TINT:
                yield scaled(paint, round(share, 2))

    def _off(self, colour: Array) -> float:
        """Return how far the pixel that is farthest from a colour is, in 255ths on the page."""
        samples = self.samples.astype(np.float64)
        apart = np.abs(samples - colour)
        if self.kind is PaintKind.RGB:
            light = 255 * np.abs(linear_light(samples / 255)[0] - linear_light(colour / 255)[0])
            apart = np.minimum(apart, light)
        return float((apart * self.shares[:, None]).max())


def _look(image: Any, streams: StreamReader) -> _Visible | None:
    """Return what shows of a device-coloured image of 8 bits with a soft mask; None for others."""
    kind = KINDS.get(str(entry(image, "/ColorSpace")))
    mask = entry(image, "/SMask")
    if kind is None or not isinstance(mask, pikepdf.Stream) or "/Matte" in mask:
        return None
    if "/Decode" in image or isinstance(entry(image, "/Mask"), pikepdf.Array):
        return None
    samples = read_samples(image, CHANNELS[kind], streams)
    shares = shares_of(mask, samples.shape[:2], streams) if samples is not None else None
    return _visible(kind, samples, shares) if samples is not None and shares is not None else None


def shares_of(mask: Any, size: tuple[int, ...], streams: StreamReader) -> NDArray[np.uint8] | None:
    """Return how much a soft mask lets show of each pixel of an image; None if it can't be read."""
    shares = read_samples(mask, 1, streams)
    if shares is None:
        return None
    decode = entry(mask, "/Decode")
    if decode is not None and float(decode[0]) > float(decode[1]):
        shares = 255 - shares
    return _resized(shares[..., 0], size)


def _visible(
    kind: PaintKind, samples: NDArray[np.uint8], shares: NDArray[np.uint8]
) -> _Visible | None:
    pixels, flat = samples.reshape(-1, samples.shape[-1]), shares.reshape(-1)
    codes, counts = np.empty(0, np.uint64), np.empty(0, np.intp)
    for start in range(0, len(flat), _AT_ONCE):
        share, part = flat[start : start + _AT_ONCE], pixels[start : start + _AT_ONCE]
        shown = share > 0
        code = codes_of(np.column_stack([part[shown], share[shown]]))
        new, count = np.unique(code, return_counts=True)
        codes, at = np.unique(np.concatenate([codes, new]), return_inverse=True)
        summed = np.zeros(len(codes), np.intp)
        np.add.at(summed, at, np.concatenate([counts, count]))
        counts = summed
        if len(codes) > _MOST_DIFFERENT:
            return None
    if not len(codes):
        return None
    columns = [codes >> np.uint64(8 * at) & np.uint64(255) for at in range(pixels.shape[1], -1, -1)]
    both = np.stack(columns, axis=1).astype(np.uint8)
    return _Visible(kind, both[:, :-1], both[:, -1] / 255.0, counts)


def read_samples(image: Any, channels: int, streams: StreamReader) -> NDArray[np.uint8] | None:
    """Return an image's (height, width, channels) samples of 1 or 8 bits; None for others."""
    width, height = int(image["/Width"]), int(image["/Height"])
    bits = int(image.get("/BitsPerComponent", 8))
    filters = filters_of(image)
    if filters and filters[-1] in JPEG_FILTERS:
        packed, shape = streams.read_to_image(image), (height, width, channels)
        if channels > 3 or jpeg_shape(packed) != shape:
            return None
        samples = read_jpeg(packed).samples
        return samples if samples.shape == shape else None
    if IMAGE_FILTERS & set(filters) or bits not in {1, 8} or (bits == 1 and channels > 1):
        return None
    row = (width * channels * bits + 7) // 8
    data = np.frombuffer(streams.read(image)[: row * height], np.uint8).reshape(height, row)
    if bits == 1:
        data = np.unpackbits(data, axis=1)[:, :width] * np.uint8(255)
    return data.reshape(height, width, channels)


def _resized(shares: NDArray[np.uint8], size: tuple[int, ...]) -> NDArray[np.uint8]:
    """Return a mask at the size of its image: the most that shows of each of its pixels."""
    if shares.shape == size:
        return shares
    from PIL import Image  # noqa: PLC0415 - slow to load

    with Image.fromarray(shares) as mask:
        return np.asarray(mask.resize((size[1], size[0]), Image.Resampling.BILINEAR))


def samples_of(paint: Paint) -> Array:
    """Return a paint's numbers as an image of 8 bits holds them, before rounding."""
    return np.array(device_numbers(paint)) * 255


def _write(image: Any, paint: Paint) -> None:
    """Replace an image's samples by one colour; size, depth and mask stay."""
    # Halves go up in every channel, so that a tint stays one by its numbers.
    entries = bytes(int(one + 0.5) for one in np.clip(samples_of(paint), 0, 255))
    bits = int(image.get("/BitsPerComponent", 8))
    rows = (int(image["/Width"]) * bits + 7) // 8 * int(image["/Height"])
    space = next(name for name, kind in KINDS.items() if kind is paint.kind)
    if "/DecodeParms" in image:
        del image["/DecodeParms"]
    image["/ColorSpace"] = pikepdf.Array(
        [pikepdf.Name.Indexed, pikepdf.Name(space), 0, pikepdf.String(entries)]
    )
    image.write(deflate(bytes(rows)), filter=pikepdf.Name.FlateDecode)
