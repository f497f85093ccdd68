"""Prove that pictures written anew as one colour were that colour, but for rounding.

Works from the two files alone, with the unpacking of qpdf and Pillow and arithmetic of its own.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.proof.photograph_proof import Objects
from inkaccord.errors import FileError
from inkaccord.pdf.jpeg import read_jpeg
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.streams import JPEG_FILTERS, filters_of

MOST_OFF = 3.0
"""In 255ths of what a pixel adds to the page: a blur adds up two roundings of half a step and
multiplies by the mask; measured on the exports that the tests keep, at most 2.1."""

_AT_ONCE = 1 << 20
"""Pixels that are computed together."""
_CHANNELS = {"/DeviceRGB": 3, "/DeviceCMYK": 4, "/DeviceGray": 1}


def one_colour_differences(before: bytes, after: bytes) -> tuple[int, tuple[str, ...]]:
    """Return how many pictures became one colour, and in words what else or wrongly changed."""
    with open_artwork(before) as old, open_artwork(after) as new:
        found = Objects()
        found.compare(old, new)
        wrong = [*found.differences]
        for pair in found.pairs:
            try:
                off = _off(*pair)
            except (OSError, ValueError, KeyError, FileError, pikepdf.PdfError) as problem:
                wrong.append(f"a picture of one colour cannot be read: {problem}")
                continue
            if off > MOST_OFF:
                wrong.append(f"a picture taken for one colour has pixels {off:.1f} of 255 off it")
        return len(found.pairs), tuple(wrong)


def _off(old: Any, new: Any) -> float:
    """Return how far the old pixel lies from the new colour that is farthest, as it shows."""
    space = new["/ColorSpace"]
    if not isinstance(space, pikepdf.Array) or str(space[0]) != "/Indexed":
        raise ValueError("it has no table of colours")
    if int(space[2]) != 0 or space[1] != old["/ColorSpace"]:
        raise ValueError("it has no table of one colour in its own kind")
    if any(new.read_bytes()):
        raise ValueError("it points beside its table")
    colour = np.frombuffer(bytes(space[3]), np.uint8).astype(np.float64)
    mask = old["/SMask"]
    shares = _samples(mask, 1)[..., 0]
    if "/Decode" in mask and float(mask["/Decode"][0]) > float(mask["/Decode"][1]):
        shares = 255 - shares
    samples = _samples(old, _CHANNELS[str(old["/ColorSpace"])])
    if shares.shape != samples.shape[:2]:
        from PIL import Image  # noqa: PLC0415 - slow to load

        size = samples.shape[1], samples.shape[0]
        shares = np.asarray(Image.fromarray(shares).resize(size, Image.Resampling.BILINEAR))
    rows = max(_AT_ONCE // max(samples.shape[1], 1), 1)
    starts = range(0, len(samples), rows)
    parts = ((samples[at : at + rows], shares[at : at + rows]) for at in starts)
    return max((_off_in(part, share, colour) for part, share in parts), default=0.0)


def _off_in(
    samples: NDArray[np.uint8], shares: NDArray[np.uint8], colour: NDArray[np.float64]
) -> float:
    numbers = samples.astype(np.float64)
    apart = np.abs(numbers - colour)
    if samples.shape[2] == 3:
        apart = np.minimum(apart, np.abs(_light(numbers) - _light(colour)))
    return float((apart * (shares[..., None] / 255.0)).max(initial=0.0))


def _light(samples: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return sRGB samples in linear light, both 0 to 255 (IEC 61966-2-1)."""
    part = samples / 255
    curved = ((part + 0.055) / 1.055) ** 2.4
    return np.asarray(255 * np.where(part > 0.04045, curved, part / 12.92))


def _samples(image: Any, channels: int) -> NDArray[np.uint8]:
    """Return the samples, shape (height, width, channels), 0 to 255."""
    height, width = int(image["/Height"]), int(image["/Width"])
    filters = filters_of(image)
    if filters and filters[-1] in JPEG_FILTERS:
        return read_jpeg(_jpeg(image, filters)).samples.reshape(height, width, channels)
    data = image.read_bytes()
    if int(image.get("/BitsPerComponent", 8)) == 1:
        from PIL import Image  # noqa: PLC0415 - as above

        with Image.frombytes("1", (width, height), data) as picture:
            return np.asarray(picture.convert("L")).reshape(height, width, 1)
    wanted = height * width * channels
    return np.frombuffer(data[:wanted], np.uint8).reshape(height, width, channels)


def _jpeg(image: Any, filters: list[str]) -> bytes:
    """Return JPEG data that nothing else packs, else with what lies over them undone by qpdf."""
    if len(filters) == 1:
        return bytes(image.read_raw_bytes())
    with pikepdf.new() as pdf:
        parts = image.get("/DecodeParms")
        over = pdf.make_stream(image.read_raw_bytes())
        over["/Filter"] = pikepdf.Array([pikepdf.Name(name) for name in filters[:-1]])
        if parts is not None:
            raise ValueError("its packing has parameters")
        return bytes(over.read_bytes())
