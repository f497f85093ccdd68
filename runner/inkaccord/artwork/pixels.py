"""Pixels told apart by one number each: to sort rows of channels takes twenty times as long."""

import numpy as np
from numpy.typing import NDArray


def codes_of(pixels: NDArray[np.uint8] | NDArray[np.uint16]) -> NDArray[np.uint64]:
    """Return a number for each of some pixels, (count, channels), in the order of their channels.

    A pixel has 64 bits at most.
    """
    bits = np.uint64(8 * pixels.dtype.itemsize)
    codes = np.zeros(len(pixels), np.uint64)
    for channel in pixels.T:
        codes = codes << bits | channel
    return codes


def commonest(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return what most of some pixels are, (count, channels); of several the lowest."""
    codes = codes_of(pixels)
    seen, counts = np.unique(codes, return_counts=True)
    most: NDArray[np.uint8] = pixels[np.argmax(codes == seen[counts.argmax()])]
    return most
