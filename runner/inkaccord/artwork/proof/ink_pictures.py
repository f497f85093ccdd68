"""Whether every sample of a picture in spots became the build of its own tint, by its plates.

Read by a reader of its own: what the recolouring took a sample for plays no part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.proof.gradient_space import PLATES
from inkaccord.artwork.proof.mixtures import CLOSE, inks_of, names_of
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.artwork.swaps import SpotMode
from inkaccord.colour.paints import PaintKind
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import device_numbers
from inkaccord.pdf.entries import BAD_OBJECT, word
from inkaccord.pdf.jpeg import read_jpeg, read_jpeg_of_inks
from inkaccord.pdf.streams import IMAGE_FILTERS, JPEG_FILTERS, StreamReader, filters_of

_ROUNDING = 1e-6
_AT_ONCE = 1 << 20
_PRIMARIES = {
    PaintKind.CMYK: PLATES,
    PaintKind.RGB: ("red", "green", "blue"),
    PaintKind.GRAY: ("grey",),
}
_KINDS = {
    "/DeviceCMYK": PaintKind.CMYK, "/CMYK": PaintKind.CMYK, "/DeviceRGB": PaintKind.RGB,
    "/RGB": PaintKind.RGB, "/DeviceGray": PaintKind.GRAY, "/G": PaintKind.GRAY,
}  # fmt: skip
_MOST_BITS, _NEW_BITS = 16, 8
_OF_PILLOW = (1, 3, 4)

Amounts = Mapping[str, NDArray[np.float64]]
"""By plate, or by a screen's primary: how much of it each sample gives, 0 to 1."""


class PicturePair(NamedTuple):
    """A picture that left its inks, in both files, and where it stands."""

    old: Any
    new: Any
    """Streams, or the entries of inline pictures, whose data are the same."""
    path: str


def leaves_its_inks(old: Any, new: Any) -> bool:
    """Whether a picture was in named inks, and is now in others or in none."""
    was = old.get("/ColorSpace")
    if not isinstance(was, pikepdf.Array) or inks_of(was) is not was:
        return False
    now = new.get("/ColorSpace")
    is_inks = isinstance(now, pikepdf.Array) and inks_of(now) is now
    return not is_inks or names_of(was) != names_of(now)


def picture_differences(pairs: Sequence[PicturePair], table: SwapTable) -> Iterator[str]:
    """Say which pictures are not what the swaps make of them, sample by sample."""
    for pair in pairs:
        try:
            wrong = _wrong(pair, table)
        except (FileError, *BAD_OBJECT):
            wrong = "what its samples are to become can't be computed"
        if wrong:
            yield f"{pair.path}: {wrong}"


def _wrong(pair: PicturePair, table: SwapTable) -> str:
    names = names_of(pair.old["/ColorSpace"])
    bits = int(pair.old.get("/BitsPerComponent", 8))
    if table.spots is not SpotMode.PROCESS:
        return "it is to keep its plates"
    if bits > _MOST_BITS or pair.new.get("/Decode") is not None:
        return "its samples are read in another way"
    inks = _inks(pair.old, names, 1 << bits, table)
    colours = _Colours(pair.new["/ColorSpace"])
    if _same_data(pair):
        if len(names) != 1:
            return "its samples are those of other inks"
        every = np.arange(1 << bits)[:, None]
        return _off(every, every, inks, colours)
    plain = IMAGE_FILTERS.isdisjoint(filters_of(pair.new))
    if not plain or int(pair.new["/BitsPerComponent"]) != _NEW_BITS:
        return "its samples are packed so that they can't be compared"
    streams = StreamReader()
    old = _samples(pair.old, len(names), streams)
    new = _samples(pair.new, colours.components, streams)
    wrong = (_off(one, other, inks, colours) for one, other in zip(old, new, strict=True))
    return next(filter(None, wrong), "")


def _off(
    before: NDArray[Any], after: NDArray[Any], inks: Sequence[Amounts], colours: _Colours
) -> str:
    """Return by how much samples are off their builds, in words; empty where none is."""
    want, have, none = _laid(before, inks), colours.of(after), np.zeros(1)
    for name in sorted({*want, *have}):
        apart = float(np.abs(want.get(name, none) - have.get(name, none)).max())
        if apart > CLOSE + _ROUNDING:
            return f"a sample of a picture is off its build in {name} by {apart:.1%}"
    return ""


def _same_data(pair: PicturePair) -> bool:
    if not isinstance(pair.old, pikepdf.Stream):
        return True  # an inline picture's were compared
    return bytes(pair.old.read_raw_bytes()) == bytes(pair.new.read_raw_bytes()) and all(
        pair.old.get(key) == pair.new.get(key)
        for key in ("/BitsPerComponent", "/Filter", "/DecodeParms")
    )


def _inks(image: Any, names: Sequence[str], steps: int, table: SwapTable) -> list[Amounts]:
    """Return what each ink's samples lay down: itself, or the build that takes its place."""
    ends = [float(value) for value in image.get("/Decode", [0, 1] * len(names))]
    gone = table.gone(names) if len(names) > 1 else {*names} & table.whole_spots.keys()
    inks: list[Amounts] = []
    for at, name in enumerate(names):
        tints = np.clip(np.linspace(ends[2 * at], ends[2 * at + 1], steps), 0, 1)
        if name not in gone:
            inks.append({} if name == "None" else {name: tints})
            continue
        swap = table.swaps[table.whole_spots[name]]
        builds = [swap.build_at(100 * float(tint), table.tints) for tint in tints]
        numbers = np.array([device_numbers(build) for build in builds])
        inks.append(dict(zip(_PRIMARIES[swap.new.kind], numbers.T, strict=True)))
    return inks


def _laid(samples: NDArray[Any], inks: Sequence[Amounts]) -> Amounts:
    """Return what samples, shape (pixels, inks), lay down: inks add up, at most in full."""
    total: dict[str, NDArray[np.float64]] = {}
    for at, amounts in enumerate(inks):
        for name, of_step in amounts.items():
            if name not in PLATES and name in total:
                raise ValueError("two builds of lights in one picture")
            total[name] = total.get(name, 0) + of_step[samples[:, at]]
    return {name: np.minimum(amount, 1) for name, amount in total.items()}


class _Colours:
    """What the samples of the new picture, of 8 bits, lay down."""

    def __init__(self, definition: Any) -> None:
        is_array = isinstance(definition, pikepdf.Array)
        self._entries: NDArray[np.float64] | None = None
        if is_array and word(definition[0]) in ("/Indexed", "/I"):
            definition, self._most, lookup = definition[1], int(definition[2]), definition[3]
            data = lookup.read_bytes() if isinstance(lookup, pikepdf.Stream) else bytes(lookup)
            self._names = self._named(definition)
            size = len(self._names)
            whole = np.frombuffer(data[: len(data) // size * size], dtype=np.uint8)
            self._entries = whole.reshape(-1, size) / 255
        else:
            self._names = self._named(definition)
        self.components = 1 if self._entries is not None else len(self._names)

    @staticmethod
    def _named(definition: Any) -> tuple[str, ...]:
        if isinstance(definition, pikepdf.Name):
            return _PRIMARIES[_KINDS[word(definition)]]
        if inks_of(definition) is not definition:
            raise ValueError("a picture in a space that is none of inks")
        return tuple(names_of(definition))

    def of(self, samples: NDArray[Any]) -> Amounts:
        """Return what samples, shape (pixels, components), lay down."""
        if self._entries is None:
            numbers = samples / 255
        else:  # beyond the last entry that is named counts as that (ISO 32000-2, 8.6.6.3)
            numbers = self._entries[np.minimum(samples[:, 0], self._most)]
        return {name: numbers[:, at] for at, name in enumerate(self._names)}


def _samples(image: Any, inks: int, streams: StreamReader) -> Iterator[NDArray[Any]]:
    """Yield the samples of a picture, shape (pixels, inks), row by row, many rows at once."""
    width, height = int(image["/Width"]), int(image["/Height"])
    bits = int(image.get("/BitsPerComponent", 8))
    length = (width * inks * bits + 7) // 8
    filters = filters_of(image)
    if filters and filters[-1] in JPEG_FILTERS:
        data = _of_jpeg(image, inks, streams)
    else:
        data = streams.read(image)
    if len(data) < length * height:
        raise ValueError("a picture that breaks off")
    rows = max(_AT_ONCE // (width * inks), 1)
    for start in range(0, height, rows):
        count = min(rows, height - start)
        part = data[start * length : (start + count) * length]
        lines = np.frombuffer(part, dtype=np.uint8).reshape(count, length)
        binary = np.unpackbits(lines, axis=1)[:, : width * inks * bits]
        powers = 1 << np.arange(bits - 1, -1, -1, dtype=np.int64)
        yield (binary.reshape(-1, bits) @ powers).reshape(-1, inks)


def _of_jpeg(image: Any, inks: int, streams: StreamReader) -> bytes:
    """Return the samples of a JPEG by Pillow, which did not unpack them for the new picture.

    Other numbers of channels than it knows are unpacked as they were.
    """
    data = streams.read_to_image(image)
    if inks in _OF_PILLOW:
        samples = read_jpeg(data).samples
        samples = 255 - samples if inks == len(PLATES) else samples
    else:
        samples = read_jpeg_of_inks(data)
    if samples.shape != (int(image["/Height"]), int(image["/Width"]), inks):
        raise ValueError("a JPEG of another size than the file says")
    return samples.tobytes()
