"""Pictures put into pages that were set without them, as they are packed."""

import io
import struct
import zlib
from collections.abc import Iterator, Sequence

import pikepdf

from inkaccord.pdf.writing import save_drawn

PLACEHOLDER = "InkaccordPicture"
"""In an empty picture: the number of the one that belongs there."""
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PLAIN = (8, 2, 0, 0, 0)
"""Eight bits of RGB whose lines follow each other, in the head of a PNG."""


def put_pictures(data: bytes, pictures: Sequence[bytes]) -> bytes:
    """Return a PDF with PNGs in the places that were left for them.

    Lines of pixels are packed alike in PNG (ISO/IEC 15948, clauses 9 and 10) and in PDF (ISO
    32000-2, 7.4.4.4, predictors 10 and above), so that most need not be unpacked.
    """
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Stream) and f"/{PLACEHOLDER}" in thing:
                _put(thing, pictures[int(thing[f"/{PLACEHOLDER}"])])
        return save_drawn(pdf)


def _put(place: pikepdf.Stream, png: bytes) -> None:
    width, height, *kind = struct.unpack_from(">IIBBBBB", png, len(_SIGNATURE) + 8)
    if tuple(kind) == _PLAIN:
        rows = {"/Predictor": 15, "/Colors": 3, "/BitsPerComponent": 8, "/Columns": width}
        parameters, packed = pikepdf.Dictionary(rows), b"".join(_packed(png))
    else:
        parameters, packed = None, zlib.compress(_unpacked(png))
    del place[f"/{PLACEHOLDER}"]
    place["/Width"], place["/Height"], place["/BitsPerComponent"] = width, height, 8
    place["/ColorSpace"] = pikepdf.Name.DeviceRGB
    place.write(packed, filter=pikepdf.Name.FlateDecode, decode_parms=parameters)


def _packed(png: bytes) -> Iterator[bytes]:
    """Yield the packed pixels, chunk by chunk."""
    at = len(_SIGNATURE)
    while at + 8 <= len(png):
        (length,) = struct.unpack_from(">I", png, at)
        if png[at + 4 : at + 8] == b"IDAT":
            yield png[at + 8 : at + 8 + length]
        at += length + 12


def _unpacked(png: bytes) -> bytes:
    from PIL import Image  # noqa: PLC0415 - slow to load, and seldom needed

    with Image.open(io.BytesIO(png)) as image:
        return image.convert("RGB").tobytes()
