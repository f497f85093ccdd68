"""The type of numbers that every part of the colour engine takes and gives."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Floats in the shape that the function names: ``(3,)`` a colour, ``(n, 3)`` colours."""
