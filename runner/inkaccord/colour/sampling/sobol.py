"""Points that fill a cube evenly: 512 of Sobol's sequence in three dimensions, scrambled.

SciPy has it in any number of dimensions, with all of its statistics: a third of a second to load.
"""

import numpy as np

from inkaccord.colour.arrays import Array

_BITS = 30
_DIRECTIONS = (
    (1, 1, 1, 1, 1, 1, 1, 1, 1),
    (1, 3, 5, 15, 17, 51, 85, 255, 257),
    (1, 3, 3, 9, 29, 23, 71, 197, 209),
)
"""Of each dimension, the n-th over 2ⁿ: as SciPy 1.17 has them, by Joe and Kuo (2008)."""


def scrambled_points(rng: np.random.Generator) -> Array:
    """Return (512, 3) points from 0 up to 1.

    Scrambled by random matrices and a shift, so that they are those of
    ``scipy.stats.qmc.Sobol(3, seed=rng).random(512)``, to the last bit.
    """
    own = rng.spawn(1)[0]
    shift = own.integers(2, size=(3, _BITS), dtype=np.uint32)[:, None, ::-1]
    mixing = np.tril(own.integers(2, size=(3, _BITS, _BITS), dtype=np.uint32), -1)
    mixing += np.eye(_BITS, dtype=np.uint32)
    numbers = np.array(_DIRECTIONS)
    steps = np.arange(numbers.shape[1])
    # Bits are columns from here on, the highest first.
    directions = (numbers << (_BITS - 1 - steps))[..., None] >> np.arange(_BITS)[::-1] & 1
    place = np.arange(2 ** len(steps))[:, None]
    taken = (place ^ place >> 1) >> steps & 1  # in the order of Gray's code
    bits = (taken @ (directions @ mixing.transpose(0, 2, 1)) + shift) & 1
    return np.asarray((bits @ 0.5 ** np.arange(1, _BITS + 1)).T)
