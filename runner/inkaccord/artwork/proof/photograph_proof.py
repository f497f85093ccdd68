"""Prove that translating the photographs of a file changed the photographs alone."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.proof.ink_proof import CLOSE, PAGES, Pixels, resolution
from inkaccord.artwork.proof.parts import MOST_DETAILS, ProofPart, ProofVerdict
from inkaccord.artwork.proof.picture_ink import most_ink
from inkaccord.artwork.proof.sameness import WRITER_S_OWN
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.entries import entry, objgen
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.ink_rendering import ink_pairs
from inkaccord.pdf.jpeg import read_jpeg
from inkaccord.pdf.opening import open_artwork, refusing_damage
from inkaccord.pdf.streams import JPEG_FILTERS, StreamReader, filters_of
from inkaccord.sizes import Box
from inkaccord.words import counted

_MAY_CHANGE = frozenset({"/ColorSpace", "/Decode", "/DecodeParms", "/Filter", "/Length", "/Mask"})
"""Entries of an image that translating it may change; the mask only from colours to a stencil."""
_CHANNELS = {"/DeviceGray": 1, "/DeviceRGB": 3, "/DeviceCMYK": 4}


class PhotographProof(Frozen):
    """The proof of one file whose photographs were translated."""

    structure: ProofPart
    """Every object but the translated images is the same, byte for byte."""
    rendering: ProofPart
    """Ink-exact renderings differ nowhere but within the boxes of translated images."""

    @property
    def passed(self) -> bool:
        """Whether neither part failed, and the first was made."""
        return (
            self.structure.verdict is ProofVerdict.PASS
            and self.rendering.verdict is not ProofVerdict.FAIL
        )


def prove_photographs(
    before: bytes,
    after: bytes,
    translated: int,
    *,
    ink_limit: float = math.inf,
    render: bool = True,
) -> PhotographProof:
    """Compare a file with its copy in which photographs were translated.

    Parameters
    ----------
    before, after
        The two files.
    translated
        How many images are said to have been translated.
    ink_limit
        The largest sum of the inks, in percent, that a translated image may ask for.
    render
        Whether to compare renderings too, where Ghostscript is installed.

    Raises
    ------
    FileError
        Either file can't be read.
    """
    with (
        open_artwork(before) as old,
        open_artwork(after) as new,
        refusing_damage(),
    ):
        found = Objects(ink_limit)
        found.compare(old, new)
        differences = found.differences
        if len(found.images) > translated:
            differences.append(f"{len(found.images)} images changed, not {translated}")
        structure = ProofPart.judged(
            f"{counted(found.count, 'object')}; {counted(len(found.images), 'picture')} changed in "
            "colour alone" + (f", up to {found.most_ink:.0f} % of ink" if found.most_ink else ""),
            differences,
        )
        rendering = ProofPart.not_run("not asked for")
        if render:
            rendering = _rendering(old, before, after, set(found.images))
    return PhotographProof(structure=structure, rendering=rendering)


# -- objects ----------------------------------------------------------------------------------


@dataclass
class Objects:
    """Walks the objects of two files side by side from their roots."""

    ink_limit: float = math.inf
    differences: list[str] = field(default_factory=list)
    images: list[tuple[int, int]] = field(default_factory=list)
    """The images that changed, by their numbers in the first file."""
    pairs: list[tuple[Any, Any]] = field(default_factory=list)
    """The same images, old and new."""
    count: int = 0
    most_ink: float = 0.0

    def compare(self, old: pikepdf.Pdf, new: pikepdf.Pdf) -> None:
        """Compare two open files; fills ``differences`` and the images that changed."""
        self._streams = StreamReader()
        seen: set[tuple[tuple[int, int], tuple[int, int]]] = set()
        pending = [
            (old.trailer.get(key), new.trailer.get(key), key[1:]) for key in ("/Root", "/Info")
        ]
        while pending and len(self.differences) < MOST_DETAILS:
            one, other, path = pending.pop()
            numbers = objgen(one), objgen(other)
            if numbers[0] != (0, 0):
                if numbers in seen:
                    continue
                seen.add(numbers)
            self.count += 1
            pending += self._pair(one, other, path)

    def _pair(self, one: Any, other: Any, path: str) -> list[tuple[Any, Any, str]]:
        """Compare two objects; return the pairs below them."""
        if isinstance(one, pikepdf.Array) and isinstance(other, pikepdf.Array):
            if len(one) != len(other):
                self.differences.append(f"{path}: the number of entries differs")
                return []
            pairs = zip(one, other, strict=True)
            return [(a, b, f"{path} {at}") for at, (a, b) in enumerate(pairs)]
        without = WRITER_S_OWN
        if isinstance(one, pikepdf.Stream) and isinstance(other, pikepdf.Stream):
            without |= self._stream(one, other, path)
        elif not (isinstance(one, pikepdf.Dictionary) and isinstance(other, pikepdf.Dictionary)):
            if isinstance(one, pikepdf.Object) != isinstance(other, pikepdf.Object) or one != other:
                self.differences.append(f"{path}: the value differs")
            return []
        names = sorted({*one.keys(), *other.keys()} - without)
        return [(entry(one, name), entry(other, name), f"{path} {name[1:]}") for name in names]

    def _stream(self, one: Any, other: Any, path: str) -> frozenset[str]:
        """Compare two streams' data; return the entries that need not be the same."""
        picture = entry(one, "/Subtype") == "/Image" and not entry(one, "/ImageMask")
        same = bytes(one.read_raw_bytes()) == bytes(other.read_raw_bytes())
        if not picture:
            if not same:
                self.differences.append(f"{path}: the data differ")
            return frozenset({"/Length"})
        entries = [
            {key: _text(stream, key) for key in _MAY_CHANGE if key in stream}
            for stream in (one, other)
        ]
        if same and entries[0] == entries[1]:
            return frozenset()
        self.images.append(objgen(one))
        self.pairs.append((one, other))
        if not same and not self._is_whole(other):
            self.differences.append(f"{path}: the new samples do not fill the image")
        self._ink(other, path)
        return _MAY_CHANGE if _stencil_now(one, other) else _MAY_CHANGE - {"/Mask"}

    def _ink(self, image: Any, path: str) -> None:
        """Hold the inks of a new image against the limit."""
        try:
            found = most_ink(image)
        except (OSError, ValueError, FileError, pikepdf.PdfError) as problem:
            self.differences.append(f"{path}: the new samples cannot be read: {problem}")
            return
        self.most_ink = max(self.most_ink, found)
        if found > self.ink_limit + 0.01:
            self.differences.append(
                f"{path}: {found:.1f} % of ink, {self.ink_limit:g} % is the limit"
            )

    def _is_whole(self, image: Any) -> bool:
        """Whether an image that was written holds as many samples as its size asks for."""
        size = int(image["/Width"]), int(image["/Height"])
        space = image["/ColorSpace"]
        if JPEG_FILTERS & set(filters_of(image)):
            try:
                picture = read_jpeg(image.read_raw_bytes())
                return picture.samples.shape[1::-1] == size
            except FileError:
                return False
        channels = 1 if isinstance(space, pikepdf.Array) else _CHANNELS.get(str(space), 0)
        row = (size[0] * channels * int(image["/BitsPerComponent"]) + 7) // 8
        return bool(channels) and len(self._streams.read(image)) >= row * size[1]


def _text(holder: Any, key: str) -> bytes:
    """Return an entry as it is written, with what it refers to in place of numbers."""
    value = entry(holder, key)
    if isinstance(value, pikepdf.Stream):
        return bytes(value.read_raw_bytes())
    if isinstance(value, pikepdf.Object):
        return bytes(value.unparse(resolved=True))
    return repr(value).encode()


def _stencil_now(one: Any, other: Any) -> bool:
    old, new = entry(one, "/Mask"), entry(other, "/Mask")
    return (
        isinstance(old, pikepdf.Array)
        and isinstance(new, pikepdf.Stream)
        and bool(new.get("/ImageMask"))
        and (new.get("/Width"), new.get("/Height")) == (other.get("/Width"), other.get("/Height"))
    )


# -- renderings -------------------------------------------------------------------------------


def _rendering(
    pdf: pikepdf.Pdf, before: bytes, after: bytes, images: set[tuple[int, int]]
) -> ProofPart:
    if ghostscript_path() is None:
        return ProofPart.not_run("Ghostscript is not installed")
    pages = min(len(pdf.pages), PAGES)
    dpi = resolution(islice(pdf.pages, pages))
    covered = _covered(pdf, pages, images)
    details = []
    inside = outside_all = pixels = 0
    try:
        for one, other in ink_pairs(before, after, dpi=dpi, pages=range(1, pages + 1)):
            changed = _changed(
                np.asarray(one.samples, np.uint16), np.asarray(other.samples, np.uint16)
            )
            pixels += changed.size
            boxes, within = covered.get(one.page, (None, []))
            outside = changed.copy()
            if boxes is not None:
                for box in within:
                    outside[_window(box, boxes, changed.shape)] = False
            strays = int(np.count_nonzero(outside))
            inside += int(np.count_nonzero(changed)) - strays
            outside_all += strays
            if strays:
                details.append(f"page {one.page}: {strays} pixels changed outside the pictures")
    except FileError as problem:
        return ProofPart.not_drawn(problem.findings[0])
    return ProofPart.judged(
        f"{counted(pages, 'page')} at {dpi:.0f} dpi in 16-bit CMYK, {pixels} pixels: {inside} "
        f"changed within the boxes of the pictures, {outside_all} outside",
        details,
    )


def _changed(one: Pixels, other: Pixels) -> NDArray[np.bool_]:
    """Return the pixels that are not the same, shape (height, width)."""
    if one.shape != other.shape:
        return np.ones(one.shape[:2], np.bool_)
    apart = np.abs(one.astype(np.int32) - other.astype(np.int32)) > CLOSE
    return np.asarray(apart.any(axis=2), np.bool_)


def _covered(
    pdf: pikepdf.Pdf, pages: int, images: set[tuple[int, int]]
) -> dict[int, tuple[PageBoxes, list[Box]]]:
    """Return the boxes of the changed images, by page."""
    found: dict[int, tuple[PageBoxes, list[Box]]] = {}
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in list(pdf.pages)[:pages]:
        try:
            boxes = page_boxes(page)
        except FileError:  # a page without a size, which Ghostscript draws as it likes
            continue
        marks.clear()
        reader.read_page(page, boxes)
        within = [one.box for one in marks if one.picture is not None and one.picture.key in images]
        found[page.index + 1] = boxes, within
    return found


def _window(box: Box, boxes: PageBoxes, shape: tuple[int, ...]) -> tuple[slice, slice]:
    """Return the rows and columns of a box on a rendering, a pixel wider on every side."""
    media, turns = boxes.media, boxes.rotation // 90 % 4
    corners = [
        ((x - media.left) / media.width, (media.top - y) / media.height)
        for x in (box.left, box.right)
        for y in (box.bottom, box.top)
    ]
    for _ in range(turns):  # a quarter clockwise: what was left is up
        corners = [(1 - down, across) for across, down in corners]
    height, width = shape[:2]
    columns, rows = [x * width for x, _ in corners], [y * height for _, y in corners]
    return (
        slice(max(0, int(min(rows)) - 1), int(max(rows)) + 2),
        slice(max(0, int(min(columns)) - 1), int(max(columns)) + 2),
    )
