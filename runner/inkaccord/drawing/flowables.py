"""Parts of a page that reportlab sets: our own drawing, and pictures as they are packed."""

import hashlib
import struct
from collections.abc import Callable, Iterator
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_RGB, _DEPTH = 2, 8


class Drawn(Flowable):
    """A part of a size in points that draws itself, from its lower left corner."""

    def __init__(self, width_pt: float, height_pt: float, draw: Callable[[Canvas], None]) -> None:
        super().__init__()
        self.width, self.height = width_pt, height_pt
        self._draw = draw

    def draw(self) -> None:
        """Draw it; reportlab calls this."""
        self._draw(self.canv)


def packed_picture(png: bytes, width_pt: float, height_pt: float) -> Drawn | None:
    """Return a picture whose pixels go into the page as they are packed; None for other PNGs.

    Lines of pixels are packed alike in PNG (ISO/IEC 15948, 9 and 10) and in PDF (ISO 32000-2,
    7.4.4.4, predictors 10 and above), so that nothing has to be unpacked: for 8-bit RGB whose lines
    follow each other.
    """
    size = _size_of(png)
    if size is None:
        return None
    name = hashlib.sha256(png).hexdigest()

    def draw(canvas: Canvas) -> None:
        if not canvas.hasForm(name):
            document: Any = canvas._doc  # type: ignore[attr-defined]  # noqa: SLF001 - no other way
            document.addForm(name, _image(png, *size))
        canvas.transform(width_pt, 0, 0, height_pt, 0, 0)
        canvas.doForm(name)

    return Drawn(width_pt, height_pt, draw)


def _size_of(png: bytes) -> tuple[int, int] | None:
    """Return width and height in pixels of 8-bit RGB, not interlaced; None for other files."""
    if png[:8] != _SIGNATURE or png[12:16] != b"IHDR" or len(png) < 33:
        return None
    width, height, *kind = struct.unpack_from(">IIBBBBB", png, 16)
    return (width, height) if kind == [_DEPTH, _RGB, 0, 0, 0] else None


def _image(png: bytes, width: int, height: int) -> Any:
    rows = {"Predictor": 15, "Colors": 3, "BitsPerComponent": _DEPTH, "Columns": width}
    entries = {
        "Type": PDFName("XObject"),
        "Subtype": PDFName("Image"),
        "Width": width,
        "Height": height,
        "BitsPerComponent": _DEPTH,
        "ColorSpace": PDFName("DeviceRGB"),
        "Filter": PDFArray([PDFName("FlateDecode")]),
        "DecodeParms": PDFArray([PDFDictionary(rows)]),
    }
    return PDFStream(PDFDictionary(entries), b"".join(_packed(png)))


def _packed(png: bytes) -> Iterator[bytes]:
    """Yield the packed pixels, chunk by chunk."""
    at = len(_SIGNATURE)
    while at + 8 <= len(png):
        (length,) = struct.unpack_from(">I", png, at)
        if png[at + 4 : at + 8] == b"IDAT":
            yield png[at + 8 : at + 8 + length]
        at += length + 12
