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
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.colour.paints import PaintKind
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Space, SpaceKind, device_numbers
from inkaccord.pdf.entries import entry
from inkaccord.pdf.jpeg import PACK_ANEW, jpeg_shape, read_jpeg_of_inks
from inkaccord.pdf.limits import MIB, FileLimits
from inkaccord.pdf.streams import (
    IMAGE_FILTERS,
    JPEG_FILTERS,
    StreamReader,
    deflate,
    filters_of,
    too_big,
)

_BITS = (1, 2, 4, 8, 16)
_MOST_INDEXED = 8
"""Bits of an index into a table of colours, at most (ISO 32000-2, 8.6.6.3)."""
_OF_TWO_TINTS = frozenset({"/CCITTFaxDecode", "/CCF", "/JBIG2Decode"})
_AT_ONCE = 1 << 20
"""Samples that are mixed at once, so that no picture needs many times its own memory."""


_OF_JPX = f"it is packed as JPEG 2000; {PACK_ANEW}"
_OF_MATTE = "the matte colour of its soft mask is in each sample already"


class StaysError(Exception):
    """A picture keeps its inks; the message says why."""


def spot_steps(image: Any, bits: int, streams: StreamReader) -> int:
    """Return how many tints the samples of a picture in one ink can be, as indices into a table.

    Samples of fax, two-tone code and JPEG stay as they are packed: indices as good as tints.
    ``image`` is a stream, or the entries of an inline picture. Raises StaysError where no table
    fits.
    """
    if entry(entry(image, "/SMask"), "/Matte") is not None:
        raise StaysError(_OF_MATTE)
    filters = filters_of(image) if "/Filter" in image else filters_of(image, "/F")
    packed = [name for name in filters if name in IMAGE_FILTERS]
    if not packed and bits <= _MOST_INDEXED:
        return 1 << bits
    if "/JPXDecode" in packed:
        raise StaysError(_OF_JPX)
    if packed == filters[-1:] and packed[0] in _OF_TWO_TINTS and bits == 1:
        return 2
    is_jpeg = packed == filters[-1:] and packed[0] in JPEG_FILTERS and bits == _MOST_INDEXED
    if is_jpeg and isinstance(image, pikepdf.Stream):
        try:
            _, _, channels = jpeg_shape(streams.read_to_image(image))
        except FileError as problem:
            raise StaysError(problem.findings[0].message) from problem
        if channels == 1:
            return 1 << bits
        raise StaysError(f"its JPEG has {channels} channels")
    how = f", packed as {packed[0][1:]}," if packed else ""
    raise StaysError(f"its samples of {bits} bits{how} can't be indices into a table of builds")


def needs_new_samples(image: Any) -> bool:
    """Tell whether the samples of a picture in one ink are too fine for indices, and unpacked."""
    return (
        isinstance(image, pikepdf.Stream)
        and int(image.get("/BitsPerComponent", 8)) > _MOST_INDEXED
        and isinstance(image.get("/ColorSpace"), pikepdf.Array)
        and IMAGE_FILTERS.isdisjoint(filters_of(image))
    )


class InkPictures:
    """Mixes the samples of pictures in several inks anew, without the spots that go."""

    def __init__(self, work: Rewriting, mixtures: MixtureSpaces) -> None:
        self._work = work
        self._table = work.table
        self._mixtures = mixtures

    def rewrite(self, image: Any, space: Space) -> list[int] | None:
        """Give a picture new samples in a new space, and return the swaps made.

        None is returned where it stays and it was said why. Raises StaysError where it was not.
        """
        bits = int(image.get("/BitsPerComponent", 8))
        if entry(entry(image, "/SMask"), "/Matte") is not None:
            raise StaysError(_OF_MATTE)
        if isinstance(image.get("/Mask"), pikepdf.Array):
            raise StaysError("some of its samples are a mask")
        if bits not in _BITS:
            raise StaysError(f"it has {bits} bits a sample")
        gone = self._table.gone(space.colorants)
        inks = [
            self._amounts(name, ends, 1 << bits, gone)
            for name, ends in zip(space.colorants, _ends(image, space.components), strict=True)
        ]
        kept = kept_of(space.colorants, gone)
        named = [ink for ink in PROCESS_INKS if not kept or any(ink in one for one in inks)]
        target = (*named, *kept)
        out = int(image["/Width"]) * int(image["/Height"]) * len(target)
        if out > FileLimits.stream_mib * MIB:
            raise too_big("it", FileLimits.stream_mib)
        rows = _rows(image, space.components, self._work.streams)
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

    def has_room_for(self, name: str) -> bool:
        """Tell whether what a spot becomes can be added to other inks: CMYK alone can."""
        swap = self._table.whole_spots.get(name)
        return swap is not None and self._table.swaps[swap].new.kind is PaintKind.CMYK

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


def _rows(image: Any, inks: int, streams: StreamReader) -> Iterator[NDArray[Any]]:
    """Return rows of samples, shape (rows, pixels, inks), some at once.

    Raises StaysError where some lack, or are packed in a way that is not undone.
    """
    width, height = int(image["/Width"]), int(image["/Height"])
    bits = int(image.get("/BitsPerComponent", 8))
    size = (width * inks * bits + 7) // 8
    if IMAGE_FILTERS.isdisjoint(filters_of(image)):
        data = streams.read(image)
    else:
        data = _of_jpeg(image, (height, width, inks), streams)
    if width < 1 or height < 1 or len(data) < size * height:
        raise StaysError("its samples break off")
    whole = np.frombuffer(data, dtype=np.uint8, count=size * height).reshape(height, size)
    step = max(_AT_ONCE // (width * inks), 1)
    parts = (whole[at : at + step] for at in range(0, height, step))
    return (_samples(part, bits)[:, : width * inks].reshape(-1, width, inks) for part in parts)


def _of_jpeg(image: Any, shape: tuple[int, int, int], streams: StreamReader) -> bytes:
    """Return the samples of a picture in JPEG."""
    filters = filters_of(image)
    if "/JPXDecode" in filters:
        raise StaysError(_OF_JPX)
    if filters[-1] not in JPEG_FILTERS or not IMAGE_FILTERS.isdisjoint(filters[:-1]):
        raise StaysError(f"it is packed as {filters[-1][1:]}")
    if any(entry(one, "/ColorTransform") is not None for one in _parameters(image)):
        raise StaysError("the file says against its JPEG how its colours were changed for packing")
    found = read_jpeg_of_inks(streams.read_to_image(image))
    if found.shape != shape or int(image.get("/BitsPerComponent", 8)) != _MOST_INDEXED:
        raise StaysError("its JPEG is of another size or number of inks than the file says")
    return found.tobytes()


def _parameters(image: Any) -> list[Any]:
    found = image.get("/DecodeParms")
    return list(found) if isinstance(found, pikepdf.Array) else [found]


def _samples(rows: NDArray[np.uint8], bits: int) -> NDArray[Any]:
    """Return rows of packed samples one by one."""
    if bits > _MOST_INDEXED:
        return rows[:, : rows.shape[1] // 2 * 2].copy().view(">u2")
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    return (rows[..., None] >> shifts & np.uint8((1 << bits) - 1)).reshape(len(rows), -1)
