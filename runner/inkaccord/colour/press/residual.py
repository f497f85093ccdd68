"""What the halftone model leaves over, as a Gaussian process over effective coverages.

The kernel is a product over the inks of Matérn 5/2 factors, with a small part of shorter reach for
what no smooth surface follows: screens, tables, the press (M. L. Stein, 'Interpolation of Spatial
Data', Springer 1999; C. E. Rasmussen, C. K. I. Williams, 'Gaussian Processes for Machine Learning',
MIT Press 2006, ch. 4).
"""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array

_SQRT3, _SQRT5 = np.sqrt(3.0), np.sqrt(5.0)
_ROUGH = 0.03
"""The rough part's share of the variance."""
_ROUGH_REACH = 0.3
"""Its reach beside that of the smooth part."""
_AT_ONCE = 100_000
"""Correlations worked out at a time: so few that the processor keeps them at hand."""


@dataclass(frozen=True, eq=False)
class Kernel:
    """How strongly the left-over errors of two builds go together.

    Attributes
    ----------
    scale
        (3,) standard deviation in each even coordinate.
    length
        (k,) effective coverage over which an error forgets itself, for each ink.
    """

    scale: Array
    length: Array

    def shape(self, a: Array, b: Array) -> Array:
        """Return the correlations (n, m) of coverages (n, k) and (m, k)."""
        rows = max(1, _AT_ONCE // max(1, len(b)))
        if len(a) <= rows:
            return self._shape(a, b)
        return np.concatenate([self._shape(a[at : at + rows], b) for at in range(0, len(a), rows)])

    def _shape(self, a: Array, b: Array) -> Array:
        smooth, rough = _Product.start(a, b), _Product.start(a, b)
        for ink, length in enumerate(self.length):
            apart = np.abs(a[:, ink, None] - b[None, :, ink])
            smooth.add_smooth(apart * (_SQRT5 / length))
            rough.add_rough(apart * (_SQRT3 / (_ROUGH_REACH * length)))
        return (1.0 - _ROUGH) * smooth.value() + _ROUGH * rough.value()

    def shape_slopes(self, a: Array, b: Array) -> tuple[Array, Array]:
        """Return the correlations (n, m), and their derivatives by ``a`` (k, n, m)."""
        smooth, rough = _Product.start(a, b), _Product.start(a, b)
        smooth_rates, rough_rates = [], []
        for ink, length in enumerate(self.length):
            signed = a[:, ink, None] - b[None, :, ink]
            apart, side = np.abs(signed), np.sign(signed)
            rate, rough_rate = _SQRT5 / length, _SQRT3 / (_ROUGH_REACH * length)
            smooth_rates.append(-rate * side * smooth.add_smooth_rated(apart * rate))
            rough_rates.append(-rough_rate * side * rough.add_rough_rated(apart * rough_rate))
        return _with_slopes(smooth, smooth_rates, rough, rough_rates)

    def shape_by_length(self, a: Array) -> tuple[Array, Array]:
        """Return the correlations (n, n), and their derivatives by ln length (k, n, n)."""
        smooth, rough = _Product.start(a, a), _Product.start(a, a)
        smooth_rates, rough_rates = [], []
        for ink, length in enumerate(self.length):
            apart = np.abs(a[:, ink, None] - a[None, :, ink])
            distance = apart * (_SQRT5 / length)
            smooth_rates.append(distance * smooth.add_smooth_rated(distance))
            distance = apart * (_SQRT3 / (_ROUGH_REACH * length))
            rough_rates.append(distance * rough.add_rough_rated(distance))
        return _with_slopes(smooth, smooth_rates, rough, rough_rates)


@dataclass(eq=False)
class _Product:
    """A product of Matérn factors, their exponentials taken once for all."""

    polynomial: Array
    exponent: Array

    @classmethod
    def start(cls, a: Array, b: Array) -> "_Product":
        return cls(np.ones((len(a), len(b))), np.zeros((len(a), len(b))))

    def add_smooth(self, distance: Array) -> Array:
        """Multiply by a Matérn 5/2 factor; return its polynomial."""
        polynomial: Array = 1.0 + distance + distance**2 / 3.0
        self._add(polynomial, distance)
        return polynomial

    def add_smooth_rated(self, distance: Array) -> Array:
        """Do the same; return the factor's logarithm's negative slope by distance."""
        polynomial = self.add_smooth(distance)
        return np.asarray(distance * (1.0 + distance) / (3.0 * polynomial))

    def add_rough(self, distance: Array) -> Array:
        """Multiply by a Matérn 3/2 factor; return its polynomial."""
        polynomial: Array = 1.0 + distance
        self._add(polynomial, distance)
        return polynomial

    def add_rough_rated(self, distance: Array) -> Array:
        """Do the same; return the factor's logarithm's negative slope by distance."""
        return np.asarray(distance / self.add_rough(distance))

    def _add(self, polynomial: Array, distance: Array) -> None:
        self.polynomial *= polynomial
        self.exponent -= distance

    def value(self) -> Array:
        return np.asarray(self.polynomial * np.exp(self.exponent))


def _with_slopes(
    smooth: _Product, smooth_rates: list[Array], rough: _Product, rough_rates: list[Array]
) -> tuple[Array, Array]:
    """Return both parts' correlations together, and their slopes from those of the logarithms."""
    smooth_value = (1.0 - _ROUGH) * smooth.value()
    rough_value = _ROUGH * rough.value()
    slopes = [
        s * smooth_value + r * rough_value for s, r in zip(smooth_rates, rough_rates, strict=True)
    ]
    return smooth_value + rough_value, np.stack(slopes)
