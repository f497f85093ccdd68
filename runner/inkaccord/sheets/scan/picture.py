"""A scanned picture as an array."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from inkaccord.apart.crew import Allowance, TaskError, answers
from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.files import check_is_file
from inkaccord.sheets.scan.decoding import unpack

if TYPE_CHECKING:
    from PIL import Image

_HINT = "scan as PNG, TIFF or JPEG in colour at 300 dpi, without automatic correction"
_MOST_PIXELS = 170_000_000  # A3 at 900 dpi
_MOST_PAGES = 50
PILLOW = Allowance("Pillow", seconds=30, mib=2048, in_program=_HINT)
_WORKING_SIDE = 3000
"""Longer side, in pixels, of the copy in which sheets are looked for."""


@dataclass(frozen=True, eq=False)
class ScannedPicture:
    """One page of a scan.

    Attributes
    ----------
    pixels
        (h, w, 3) RGB in 8 bits, as the scanner gave them.
    name
        File and page, for messages.
    """

    pixels: NDArray[np.uint8]
    name: str

    @property
    def reduction(self) -> int:
        """How many pixels, each way, become one in :attr:`grey`."""
        longer = int(max(self.pixels.shape[:2]))
        return max(1, -(-longer // _WORKING_SIDE))

    @cached_property
    def grey(self) -> NDArray[np.uint8]:
        """A grey copy, averaged down so that its longer side is 3,000 pixels at most."""
        return np.asarray(self._grey().reduce(self.reduction))

    def full_grey(self) -> NDArray[np.uint8]:
        """Return a grey copy of every pixel."""
        return np.asarray(self._grey())

    def _grey(self) -> "Image.Image":
        from PIL import Image  # noqa: PLC0415  (only scans need it)

        return Image.fromarray(self.pixels).convert("L")


def is_picture(head: bytes) -> bool:
    """Tell from its first bytes whether a file is a PNG, TIFF or JPEG."""
    return head.startswith((b"\x89PNG\r\n\x1a\n", b"II*\0", b"MM\0*", b"\xff\xd8\xff"))


def load_pictures(path: Path) -> tuple[ScannedPicture, ...]:
    """Read every page of a PNG, TIFF or JPEG file.

    Raises FileError when it can't be read, is of another kind, not in colour, or too large.
    """
    return tuple(_pages(path))


def _pages(path: Path) -> Iterator[ScannedPicture]:
    try:
        check_is_file(path)
    except OSError as problem:
        raise _bad(path, f"the file can't be read as a picture: {problem}") from problem
    unpacked = answers(
        unpack,
        PILLOW,
        path=str(path.absolute()),
        most_pages=_MOST_PAGES,
        most_pixels=_MOST_PIXELS,
    )
    try:
        for number, page in enumerate(unpacked, start=1):
            if "unfit" in page:
                raise _bad(path, page["unfit"])
            rows = np.frombuffer(page["pixels"], np.uint8)
            pixels = rows.reshape(page["height"], page["width"], 3)
            yield ScannedPicture(pixels, str(path) if number == 1 else f"{path} (page {number})")
    except TaskError as problem:
        words = f"the file can't be read as a picture: {problem.words}"
        raise _bad(path, words) from problem


def _bad(path: Path, what: str) -> FileError:
    return FileError.of("bad-picture", what, place=Place(file=str(path)), hint=_HINT)
