"""Samples of pictures in spots that become process colour: kept for a table, or mixed anew.

Builds are added to the process inks and to spots that stay, as the inks overprint each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.kept_inks import kept_of
from inkaccord.artwork.recolouring.mixture_spaces import MixtureSpaces
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Space, SpaceKind, device_numbers
from inkaccord.pdf.entries import entry
from inkaccord.pdf.jpeg import open_jpeg
from inkaccord.pdf.limits import MIB
from inkaccord.pdf.streams import IMAGE_FILTERS, StreamReader, deflate, filters_of

_BITS = (1, 2, 4, 8, 16)
_MOST_INDEXED = 8
"""Bits of an index into a table of colours, at most (ISO 32000-2, 8.6.6.3)."""
_OF_TWO_TINTS = frozenset({"/CCITTFaxDecode", "/CCF", "/JBIG2Decode"})
_JPEG = ("/DCTDecode", "/DCT")
_AT_ONCE = 1 << 20
"""Samples that are mixed at once, so that no picture needs many times its own memory."""


def spot_steps(image: Any, bits: int, streams: StreamReader) -> int | None:
    """Return how many tints the samples of a picture in one ink can be; None where no table fits.

    Samples of fax, two-tone code and JPEG stay as they are packed: indices as good as tints.
    ``image`` is a stream, or the entries of an inline picture.
    """
    filters = filters_of(image) if "/Filter" in image else filters_of(image, "/F")
    packed = [name for name in filters if name in IMAGE_FILTERS]
    if not packed:
        return 1 << bits if bits <= _MOST_INDEXED else None
    if packed != filters[-1:]:
        return None
    if packed[0] in _OF_TWO_TINTS:
        return 2 if bits == 1 else None
    if packed[0] not in _JPEG or bits != _MOST_INDEXED or not isinstance(image, pikepdf.Stream):
        return None
    try:
        with open_jpeg(streams.read_to_image(image), streams.limits) as picture:
            return 1 << bits if len(picture.getbands()) == 1 else None
    except (OSError, FileError):
        return None


class InkPictures:
    """Mixes the samples of pictures in several inks anew, without the spots that go."""

    def __init__(self, table: SwapTable, streams: StreamReader, mixtures: MixtureSpaces) -> None:
        self._table = table
        self._streams = streams
        self._mixtures = mixtures

    def rewrite(self, image: Any, space: Space) -> list[int] | None:
        """Give a picture new samples in a new space, and return the swaps made.

        None are made where it stays as it is; None is returned where it was said why.
        """
        bits = int(image.get("/BitsPerComponent", 8))
        matte = entry(entry(image, "/SMask"), "/Matte") is not None  # is in each sample already
        if matte or bits not in _BITS or isinstance(image.get("/Mask"), pikepdf.Array):
            return []
        if not IMAGE_FILTERS.isdisjoint(filters_of(image)):
            return []
        gone = self._table.gone(space.colorants)
        inks = [
            self._amounts(name, ends, 1 << bits, gone)
            for name, ends in zip(space.colorants, _ends(image, space.components), strict=True)
        ]
        kept = kept_of(space.colorants, gone)
        named = [ink for ink in PROCESS_INKS if not kept or any(ink in one for one in inks)]
        target = (*named, *kept)
        out = int(image["/Width"]) * int(image["/Height"]) * len(target)
        if out > self._streams.limits.stream_mib * MIB:
            return []
        rows = _rows(image, space.components, self._streams)
        if rows is None:
            return []
        new = self._mixtures.of(space, target) if kept else None
        if kept and new is None:
            return None
        data = b"".join(_mixed(part, inks, target) for part in rows)
        image.write(deflate(data), filter=pikepdf.Name.FlateDecode)
        image["/BitsPerComponent"] = 8
        image["/ColorSpace"] = (
            self._mixtures.name_of(SpaceKind.CMYK) if new is None else new.definition
        )
        if "/Decode" in image:
            del image["/Decode"]
        return sorted(self._table.whole_spots[name] for name in gone)

    def _amounts(
        self, name: str, ends: tuple[float, float], steps: int, gone: set[str]
    ) -> Mapping[str, NDArray[np.float32]]:
        """Return what each sample of one ink lays down: by ink, 0 to 1 for every step."""
        tints = np.clip(np.linspace(*ends, steps), 0, 1)
        if name not in gone:
            return {} if name == "None" else {name: tints.astype(np.float32)}
        swap = self._table.swaps[self._table.whole_spots[name]]
        builds = np.array(
            [device_numbers(swap.build_at(100 * float(t), self._table.tints)) for t in tints],
            dtype=np.float32,
        )
        return {ink: builds[:, at] for at, ink in enumerate(PROCESS_INKS) if builds[:, at].any()}


def _mixed(
    samples: NDArray[Any], inks: list[Mapping[str, NDArray[np.float32]]], target: tuple[str, ...]
) -> bytes:
    """Return rows of pixels, shape (rows, pixels, inks), as 8-bit samples of the target's inks."""
    total = np.zeros((*samples.shape[:2], len(target)), dtype=np.float32)
    for at, amounts in enumerate(inks):
        for name, of_step in amounts.items():
            total[..., target.index(name)] += of_step[samples[..., at]]
    mixed: NDArray[np.uint8] = np.rint(np.minimum(total, 1) * 255).astype(np.uint8)
    return mixed.tobytes()


def _ends(image: Any, inks: int) -> list[tuple[float, float]]:
    """Return the amounts of each ink that its least and greatest sample mean."""
    given = [float(value) for value in image.get("/Decode", [0, 1] * inks)]
    if len(given) != 2 * inks:
        raise ValueError("a picture that says of another number of inks what its samples mean")
    return list(zip(given[::2], given[1::2], strict=True))


def _rows(image: Any, inks: int, streams: StreamReader) -> Iterator[NDArray[Any]] | None:
    """Return rows of samples, shape (rows, pixels, inks), some at once; None where some lack."""
    width, height = int(image["/Width"]), int(image["/Height"])
    bits = int(image.get("/BitsPerComponent", 8))
    size = (width * inks * bits + 7) // 8
    data = streams.read(image)
    if width < 1 or height < 1 or len(data) < size * height:
        return None
    whole = np.frombuffer(data, dtype=np.uint8, count=size * height).reshape(height, size)
    step = max(_AT_ONCE // (width * inks), 1)
    parts = (whole[at : at + step] for at in range(0, height, step))
    return (_samples(part, bits)[:, : width * inks].reshape(-1, width, inks) for part in parts)


def _samples(rows: NDArray[np.uint8], bits: int) -> NDArray[Any]:
    """Return rows of packed samples one by one."""
    if bits > _MOST_INDEXED:
        return rows[:, : rows.shape[1] // 2 * 2].copy().view(">u2")
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    return (rows[..., None] >> shifts & np.uint8((1 << bits) - 1)).reshape(len(rows), -1)
