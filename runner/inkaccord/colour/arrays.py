"""The types of numbers that every part of the colour engine takes and gives."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Floats in the shape that the function names: ``(3,)`` a colour, ``(n, 3)`` colours."""

Array32 = NDArray[np.float32]
"""The same in single precision, where there are very many and seven digits are enough."""
