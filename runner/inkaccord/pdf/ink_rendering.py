"""Render pages ink by ink through Ghostscript.

Ghostscript is a program that may be missing; ask
:func:`~inkaccord.pdf.ghostscript.ghostscript_path` first. It alone tells ink values exactly:
DeviceCMYK comes through unconverted, spot colours as plates of their own.
"""

import contextlib
import itertools
import struct
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import unquote

import numpy as np
from numpy.typing import NDArray

from inkaccord.files import working_folder
from inkaccord.pdf.colours.spaces import PROCESS_INKS
from inkaccord.pdf.ghostscript import run_ghostscript
from inkaccord.pdf.opening import pdf_bytes
from inkaccord.pdf.rendering import cannot_render

InkBits = Literal[8, 16]
"""Of each sample of ink."""


@dataclass(frozen=True)
class InkSource:
    """A file to be rendered in ink.

    Attributes
    ----------
    data
        The PDF.
    dpi
        Pixels per inch.
    pages
        Page numbers from 1; all of them when None.
    """

    data: Path | bytes
    dpi: float
    pages: Sequence[int] | None


@dataclass(frozen=True)
class InkRaster:
    """The ink on one page.

    Attributes
    ----------
    page
        Page number, from 1.
    dpi
        Pixels per inch.
    inks
        Names of the plates: Cyan, Magenta, Yellow, Black, then spot colours.
    samples
        Ink, shape (height, width, inks), 0 none to the type's greatest value full; uint8 or
        uint16. Row 0 is the top of the page as a reader sees it.
    """

    page: int
    dpi: float
    inks: tuple[str, ...]
    samples: NDArray[np.uint8] | NDArray[np.uint16]

    @property
    def full(self) -> int:
        """The sample of full ink."""
        return int(np.iinfo(self.samples.dtype).max)

    def plate(self, ink: str) -> NDArray[np.float32]:
        """Return the ink of one plate, 0 to 1, shape (height, width); all 0 where it has none."""
        if ink not in self.inks:
            return np.zeros(self.samples.shape[:2], np.float32)
        share: NDArray[np.float32] = np.divide(
            self.samples[..., self.inks.index(ink)], self.full, dtype=np.float32
        )
        return share

    def total_percent(self, *, without: Collection[str] = ()) -> NDArray[np.float32]:
        """Return the sum of the inks in percent, shape (height, width), some left out."""
        # One ink after the other: a sum along so short an axis takes eight times as long.
        total = np.zeros(self.samples.shape[:2], np.uint32)
        for at, ink in enumerate(self.inks):
            if ink not in without:
                total += self.samples[..., at]
        percent: NDArray[np.float32] = np.multiply(total, 100.0 / self.full, dtype=np.float32)
        return percent


@dataclass(frozen=True)
class InkFile:
    """A page drawn in ink that lies in a file, as long as what gave it is asked for more.

    Attributes
    ----------
    file
        A TIFF of the four process inks.
    page
        Page number, from 1.
    dpi
        Pixels per inch.
    """

    file: Path
    page: int
    dpi: float

    def read(self) -> InkRaster:
        """Return its ink: so much that few pages are held at once."""
        return InkRaster(self.page, self.dpi, PROCESS_INKS, _cmyk_tiff(self.file.read_bytes()))


def ink_pages(
    source: Path | bytes,
    *,
    dpi: float = 150,
    bits: InkBits = 8,
    pages: Sequence[int] | None = None,
) -> Iterator[InkRaster]:
    """Render pages in the four process inks through Ghostscript.

    DeviceCMYK values arrive exactly, to 1 part in 255 or 65,535. Spot colours are mixed by their
    alternate colours; colours in RGB or with a profile go through Ghostscript's own profiles and
    are only an estimate. Nothing is smoothed. The whole MediaBox is drawn, rotated as the page
    says.

    Yields
    ------
    InkRaster
        Four plates, page by page.

    Raises
    ------
    FileError
        ``no-ghostscript``, ``cannot-render``, ``took-too-long`` and the like.
    """
    with _rendered((InkSource(source, dpi, pages),), _INK_DEVICES[bits]) as folder:
        for count, number in _numbered(pages):
            file = folder / f"p{count}.tif"
            if not file.exists():
                return
            yield InkFile(file, number, dpi).read()


def ink_pairs(
    before: bytes, after: bytes, *, dpi: float, pages: Sequence[int]
) -> Iterator[tuple[InkRaster, InkRaster]]:
    """Render the same pages of two files as :func:`inks_of_all` does, at 16 bits, side by side."""
    files = [InkSource(data, dpi, pages) for data in (before, after)]
    with _drawn_in_a_row(files, 16, profiles=True, allowed=2) as drawn:
        for one, other in zip(drawn[: len(pages)], drawn[len(pages) :], strict=True):
            yield one.read(), other.read()


def inks_of_all(
    sources: Sequence[InkSource], *, bits: InkBits, profiles: bool, allowed: int
) -> Iterator[InkFile]:
    """Render pages that are named of several files in a row, as :func:`ink_pages` does.

    All go through one process: to start the program takes longer than most pages. Without
    ``profiles`` it starts in half the time; then colours in RGB or with a profile are converted
    by plain formulas (ISO 32000-2, 10.4.2). Together the files may take what as many as are
    ``allowed`` may. Raises FileError, before anything is yielded, also when they come to another
    number of pages.
    """
    with _drawn_in_a_row(sources, bits, profiles=profiles, allowed=allowed) as drawn:
        yield from drawn


@contextlib.contextmanager
def _drawn_in_a_row(
    sources: Sequence[InkSource], bits: InkBits, *, profiles: bool, allowed: int
) -> Iterator[list[InkFile]]:
    """Run Ghostscript; give each page."""
    with _rendered(sources, _INK_DEVICES[bits], profiles, allowed) as folder:
        pages = [(number, one.dpi) for one in sources for number in one.pages or ()]
        files = [folder / f"p{count}.tif" for count in range(1, len(pages) + 2)]
        if not files[-2].exists() or files[-1].exists():
            raise cannot_render("Ghostscript drew fewer or more pages than there are")
        yield [InkFile(file, *page) for file, page in zip(files, pages, strict=False)]


_INK_DEVICES: dict[InkBits, str] = {8: "tiff32nc", 16: "tiff64nc"}


def separations(
    source: Path | bytes,
    *,
    dpi: float = 150,
    pages: Sequence[int] | None = None,
) -> Iterator[InkRaster]:
    """Render pages plate by plate through Ghostscript, with spot colours as their own plates.

    As :func:`ink_pages`, 8 bits a sample, overprint simulated.
    """
    from PIL import Image  # noqa: PLC0415 - only here

    with _rendered((InkSource(source, dpi, pages),), "tiffsep") as folder:
        for count, number in _numbered(pages):
            prefix = f"p{count}("
            plates: dict[str, NDArray[np.uint8]] = {}
            for file in folder.iterdir():
                if file.name.startswith(prefix) and file.name.endswith(").tif"):
                    with Image.open(file) as plate:
                        plates[unquote(file.name[len(prefix) : -5])] = 255 - np.asarray(plate)
            if not plates:
                return
            spots = sorted(set(plates) - set(PROCESS_INKS))
            inks = (*(ink for ink in PROCESS_INKS if ink in plates), *spots)
            yield InkRaster(number, dpi, inks, np.stack([plates[ink] for ink in inks], axis=2))


@contextlib.contextmanager
def _rendered(
    sources: Sequence[InkSource], device: str, profiles: bool = True, allowed: int = 1
) -> Iterator[Path]:
    """Run Ghostscript into a temporary folder, and give that.

    Each file may take its time; all of them that of as many as are ``allowed``.
    """
    with working_folder() as folder:
        named: list[str] = []
        for count, source in enumerate(sources):
            (folder / f"in{count}.pdf").write_bytes(pdf_bytes(source.data))
            pages = "1-" if source.pages is None else ",".join(map(str, source.pages))
            # Not -r, which holds for all of them.
            named += ["-c", f"<</HWResolution [{source.dpi:.6g} dup]>> setpagedevice"]
            named += [f"-sPageList={pages}", "-f", f"in{count}.pdf"]
        run_ghostscript(
            [
                *("-dNOINTERPOLATE", f"-sDEVICE={device}"),
                *(() if profiles else ("-dUseFastColor=true",)),
                *("-dTextAlphaBits=1", "-dGraphicsAlphaBits=1", "-sCompression=none"),
                *("-o", "p%d.tif", *named),
            ],
            folder,
            makes="p1.tif",
            files=min(allowed, len(sources)),
        )
        yield folder


def _numbered(pages: Sequence[int] | None) -> Iterator[tuple[int, int]]:
    """Yield the place, from 1, and the number of each page: of some, or of all there may be."""
    yield from enumerate(itertools.count(1) if pages is None else pages, start=1)


_TYPES = {1: "B", 3: "H", 4: "I"}


def _cmyk_tiff(data: bytes) -> NDArray[np.uint8] | NDArray[np.uint16]:
    """Read the uncompressed, chunky CMYK TIFF that Ghostscript writes, at 8 or 16 bits.

    Pillow reads 16-bit CMYK as 8-bit; hence this. Layout: Adobe TIFF 6.0, sections 2 and 16.
    """
    order: Literal["<", ">"] = "<" if data[:2] == b"II" else ">"
    (start,) = struct.unpack_from(order + "I", data, 4)
    (count,) = struct.unpack_from(order + "H", data, start)
    fields: dict[int, tuple[int, ...]] = {}
    for entry in range(count):
        tag, kind, number = struct.unpack_from(order + "HHI", data, start + 2 + 12 * entry)
        if kind not in _TYPES:
            continue
        layout = order + _TYPES[kind] * number
        size = struct.calcsize(layout)
        at = start + 10 + 12 * entry
        if size > 4:
            (at,) = struct.unpack_from(order + "I", data, at)
        fields[tag] = struct.unpack_from(layout, data, at)
    width, height, depth, samples = fields[256][0], fields[257][0], fields[258][0], fields[277][0]
    if fields.get(259, (1,))[0] != 1 or samples != 4 or depth not in {8, 16}:
        raise ValueError("not an uncompressed CMYK TIFF of 8 or 16 bits")
    whole = memoryview(data)
    strips = zip(fields[273], fields[279], strict=True)
    joined = b"".join(whole[at : at + size] for at, size in strips)
    kind_of = np.dtype(np.uint8 if depth == 8 else np.uint16).newbyteorder(order)
    array = np.frombuffer(joined, kind_of).reshape(height, width, 4)
    own_order = kind_of.newbyteorder("=")
    return array.astype(own_order, copy=False)
