"""How much ink the samples of a picture ask for, read by other means than those that wrote them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.pdf.entries import entry
from inkaccord.pdf.jpeg import read_jpeg
from inkaccord.pdf.streams import JPEG_FILTERS, filters_of


def most_ink(image: Any) -> float:
    """Return the largest sum of inks, in percent, of an image in DeviceCMYK; 0 for any other.

    A table of colours counts with all its entries. Unpacked by qpdf and Pillow. Raises OSError,
    FileError, PdfError and ValueError for what they can't read.
    """
    space = entry(image, "/ColorSpace")
    if isinstance(space, pikepdf.Array) and str(space[0]) == "/Indexed":
        if str(space[1]) != "/DeviceCMYK":
            return 0.0
        table = space[3]
        data = bytes(table.read_bytes() if isinstance(table, pikepdf.Stream) else table)
        return _percent(np.frombuffer(data[: len(data) // 4 * 4], np.uint8), 255)
    if str(space) != "/DeviceCMYK":
        return 0.0
    if filters_of(image)[-1:] and filters_of(image)[-1] in JPEG_FILTERS:
        samples = (255 - read_jpeg(image.read_raw_bytes()).samples).reshape(-1)
        full = 255
    else:
        wide = int(image["/BitsPerComponent"]) == 16
        samples = np.frombuffer(image.read_bytes(), ">u2" if wide else np.uint8)
        full = 65535 if wide else 255
        samples = samples[: len(samples) // 4 * 4]
    decode = entry(image, "/Decode")
    if decode is not None and float(decode[0]) > float(decode[1]):
        samples = full - samples
    return _percent(samples, full)


def _percent(samples: NDArray[Any], full: int) -> float:
    sums = samples.reshape(-1, 4).sum(axis=1, dtype=np.float64)
    return float(sums.max(initial=0.0)) / full * 100
