"""The colour that stands for a label in a marker copy, and back."""

import numpy as np
from numpy.typing import NDArray

_SCRAMBLE = 0x9E3779B1
_UNSCRAMBLE = pow(_SCRAMBLE, -1, 1 << 24)
_PAPER = 0xFFFFFF


def marker_rgb(label: int) -> tuple[int, int, int]:
    """Return the marker of a label from 1, as 8-bit RGB; neighbours lie far apart."""
    code = label * _SCRAMBLE & 0xFFFFFF
    return code >> 16, code >> 8 & 255, code & 255


def labels_in(codes: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """Return the label of each pixel or run, given as ``0xRRGGBB``; 0 is bare paper.

    A pixel of no marker gives a number above all labels in use.
    """
    label = codes * np.uint32(_UNSCRAMBLE)  # wraps at 2**32, a multiple of 2**24
    label &= np.uint32(0xFFFFFF)
    label[codes == _PAPER] = 0
    return label
