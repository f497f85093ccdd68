"""Reading JPEG pictures of artwork, once their own header says that they can be unpacked.

What the file says of a picture need not be so: a small one may say in its own data that it has
billions of pixels, or go over them thousands of times. The header is read here; what it heads is
unpacked by a worker, under limits of memory and time.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.apart.crew import Allowance, answer
from inkaccord.errors import FileError
from inkaccord.pdf.limits import MIB, FileLimits
from inkaccord.pdf.streams import too_big
from inkaccord.pdf.unpacking import unpack_jpeg, unpack_jpeg_of_inks

_MOST_SCANS = 100
"""Times that a progressive picture may go over its pixels; programs write some ten."""
MOST_INKS = 4
"""Channels that are unpacked. Of a JPEG of five PDFium and poppler make black, Ghostscript 10.00
nothing (tried)."""
PACK_ANEW = "place the picture packed without loss, as ZIP"
_BEGIN, _SCAN, _END, _MARKER = b"\xff\xd8", b"\xff\xda", b"\xff\xd9", 0xFF
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Markers of a frame's header, by their second byte (ITU-T T.81, table B.1)."""
_MEND = "save the picture again as a plain JPEG, and place it anew"
_ALLOWANCE = Allowance(
    "the JPEG library",
    seconds=30,
    mib=2048,  # of the most that one may unpack to: all scans twice, the picture, and two copies
    in_program=_MEND,
)


@dataclass(frozen=True)
class Jpeg:
    """An unpacked JPEG picture.

    Attributes
    ----------
    mode
        ``L``, ``RGB`` or ``CMYK``. Samples of CMYK are turned round, as photo editors store them.
    samples
        Shape (height, width, channels).
    """

    mode: str
    samples: NDArray[np.uint8]


def read_jpeg(data: bytes) -> Jpeg:
    """Unpack JPEG data of one, three or four channels.

    Raises FileError for more bytes of pixels than one stream may have, more scans than any
    program writes, data that are none, are damaged or break off, or more memory or time than a
    picture needs.
    """
    jpeg_shape(data)
    found = answer(unpack_jpeg, _ALLOWANCE, data=data)
    pixels = np.frombuffer(found["pixels"], np.uint8)
    return Jpeg(found["mode"], pixels.reshape(found["height"], found["width"], -1))


def read_jpeg_of_inks(data: bytes) -> NDArray[np.uint8]:
    """Unpack JPEG data whose channels are inks, as a PDF means them; raises as :func:`read_jpeg`.

    Returns
    -------
    NDArray
        Shape (height, width, inks): the samples, 0 for the least.
    """
    shape = jpeg_shape(data)
    if shape[2] > MOST_INKS:
        raise FileError.of(
            "jpeg-of-many-inks",
            f"it is a JPEG of {shape[2]} inks, and most devices read no more than {MOST_INKS}",
            in_program=PACK_ANEW,
        )
    if data.rfind(_END) < data.rfind(_SCAN):  # what lacks would be filled with a middle tint
        raise _damaged("it breaks off")
    found = np.frombuffer(answer(unpack_jpeg_of_inks, _ALLOWANCE, data=data)["pixels"], np.uint8)
    if found.size != shape[0] * shape[1] * shape[2]:
        raise _damaged("it is of another size than it says")
    return found.reshape(shape)


def jpeg_shape(data: bytes) -> tuple[int, int, int]:
    """Return height, width and channels of JPEG data by their header.

    Raises FileError where that asks for too much, or there is none.
    """
    height, width, channels = _frame(data)
    if height * width * channels > FileLimits.stream_mib * MIB:
        raise too_big("a picture", FileLimits.stream_mib)
    if data.count(_SCAN) > _MOST_SCANS:
        raise FileError.of(
            "too-many-scans",
            f"a progressive JPEG goes over its pixels more than {_MOST_SCANS} times",
            in_program=_MEND,
        )
    return height, width, channels


def _frame(data: bytes) -> tuple[int, int, int]:
    """Return height, width and channels as the header of the frame has them (T.81, B.2.2)."""
    if not data.startswith(_BEGIN):
        raise _damaged("it does not begin as one")
    at = len(_BEGIN)
    while at + 10 <= len(data) and data[at] == _MARKER:
        kind = data[at + 1]
        if kind == _MARKER:  # filled up
            at += 1
        elif kind in _FRAMES:
            height, width = (int.from_bytes(data[at + n : at + n + 2], "big") for n in (5, 7))
            return height, width, data[at + 9]
        else:
            at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    raise _damaged("it says nowhere how large it is")


def _damaged(how: str) -> FileError:
    return FileError.of("bad-jpeg", f"a JPEG is damaged: {how}", in_program=_MEND)
