"""A scanned picture as an array."""

import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.files import check_is_file

if TYPE_CHECKING:
    from PIL import Image
    from PIL.ImageFile import ImageFile

_HINT = "scan as PNG, TIFF or JPEG in colour at 300 dpi, without automatic correction"
_MOST_PIXELS = 170_000_000  # A3 at 900 dpi
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
    from PIL import Image, UnidentifiedImageError  # noqa: PLC0415  (only scans need it)

    try:
        check_is_file(path)
        with warnings.catch_warnings():
            # Pillow warns from 90 million pixels on; ours is a limit of its own, refused below.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path, formats=("PNG", "TIFF", "JPEG")) as image:
                return tuple(_pages(image, path))
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError) as problem:
        raise FileError.of(
            "bad-picture",
            f"the file can't be read as a picture: {problem}",
            place=Place(file=str(path)),
            hint=_HINT,
        ) from problem


def _pages(image: "ImageFile", path: Path) -> Iterator[ScannedPicture]:
    from PIL import ImageSequence  # noqa: PLC0415

    for number, page in enumerate(ImageSequence.Iterator(image), start=1):
        if page.width * page.height > _MOST_PIXELS:
            raise _unfit(path, f"the picture has {page.width} × {page.height} pixels")
        if page.mode not in {"RGB", "RGBA", "RGBX", "P"}:
            raise _unfit(path, f"the picture is not in RGB colour (Pillow calls it {page.mode})")
        name = str(path) if number == 1 else f"{path} (page {number})"
        yield ScannedPicture(np.asarray(page.convert("RGB")), name)


def _unfit(path: Path, what: str) -> FileError:
    return FileError.of("bad-picture", what, place=Place(file=str(path)), hint=_HINT)
