"""Readings that do not fit: a swatch read twice, two swatches swapped, a smear on the lens.

Each reading is predicted from all the others. One that lies far outside what that prediction
allows is named, and counts for little until it has been read again; none is dropped.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import inv

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.colour.perceptual import even_jacobian, even_to_lab
from inkaccord.colour.press.fitting import Data, linearise
from inkaccord.colour.press.noise import Noise, noise_delta_e
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.uncertainty import delta_e_bound
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.words import counted

SURPRISE = 30.0
"""A reading is named from this χ² (3 degrees of freedom) on: about 1 good one in 700,000, were the
model's error Gaussian."""
_MIDDLE = 2.37
"""The median of χ² with 3 degrees of freedom (``scipy.stats.chi2(3).median()``)."""
FEWEST = 12
"""Fewer readings than these can't contradict one of them, nor what is known of any device."""
_SMALLEST = 1.0
"""ΔE00 below which a misfit is not worth a second look."""
_JUDGED, _CAUTION = 0.95, 15.0
"""The quantile at which stated uncertainty is judged, and how many readings it is taken on trust
for."""
_OPTIMISM = 1.45
"""By how much less a reading that was left out is missed (squared) than one that was never there:
it took part in learning the kernel and the noise. With it the bound holds for about 95 in 100 of
the readings held out of open sets (docs/measured.md)."""
_FAR_MORE = 1.4
"""From how many times its stated error on a scan is said to disagree with the instrument: what is
learned of it is held back towards what is stated. Counted on scans left as they are and on scans
that were moved (docs/measured.md)."""
_TOGETHER = 400
"""At most this many readings are held against each other: the cost grows with their cube."""


@dataclass(frozen=True)
class Suspect:
    """A reading that the others contradict."""

    index: int
    """Its row in the readings as given."""
    expected_lab: Lab
    """What the other readings lead one to expect."""
    got_lab: Lab
    delta_e_00: float
    swapped_with: int | None = None
    """The row that it seems to have been swapped with."""

    def finding(self) -> Diagnostic:
        """Return it in words."""
        expected = " ".join(f"{value:.1f}" for value in self.expected_lab)
        got = " ".join(f"{value:.1f}" for value in self.got_lab)
        swapped = (
            f"; it looks swapped with reading {self.swapped_with + 1}"
            if self.swapped_with is not None
            else ""
        )
        return warning(
            "suspect-reading",
            f"reading {self.index + 1} is CIELAB {got}, but the others lead one to expect "
            f"{expected} (ΔE00 {self.delta_e_00:.1f} apart){swapped}",
            hint="read it a second time; until then it counts for little",
        )


@dataclass(frozen=True, eq=False)
class LeftOut:
    """Each reading as the others predict it."""

    even: Array
    """(n, 3) expected even coordinates."""
    spread: Array
    """(n, 3) variance of what is read about what is expected, the reading's own noise included."""
    misfit: Array
    """(n,) χ² of all readings under what is known beforehand, shared out among them."""

    def surprise(self, data: Data, mistrust: Array) -> Array:
        """Return χ² (n,) of what was read, its noise taken back by ``mistrust`` (n,)."""
        own = np.maximum(self.spread - mistrust[:, None], data.noise.variance.min())
        return np.asarray(((data.even - self.even) ** 2 / own).sum(axis=1))


def leave_one_out(
    prior: Prior, data: Data, parameters: Array, kernel: Kernel, coverages: Array
) -> LeftOut:
    """Predict each reading from all the others, in closed form.

    With covariance Σ of all readings, the error of the i-th prediction is [Σ⁻¹r]ᵢ / [Σ⁻¹]ᵢᵢ and
    its variance 1 / [Σ⁻¹]ᵢᵢ (Rasmussen & Williams 2006, eq. 5.12).
    """
    linear = linearise(prior, parameters, data.nominal, data.sheet)
    residual = (data.even - linear.even).T + linear.by_parameter @ (parameters - prior.mean)
    shape = kernel.shape(coverages, coverages)
    expected = np.empty_like(data.even)
    spread = np.empty_like(data.even)
    misfit = np.zeros(len(data))
    for coordinate in range(3):
        matrix = shape * kernel.scale[coordinate] ** 2
        data.noise.add_to(matrix, shape)
        slopes = linear.by_parameter[coordinate]
        matrix += slopes @ prior.covariance @ slopes.T
        inverse = inv(matrix, overwrite_a=True, check_finite=False)
        pull, own = inverse @ residual[coordinate], np.diag(inverse)
        expected[:, coordinate] = data.even[:, coordinate] - pull / own
        spread[:, coordinate] = 1.0 / own
        misfit += residual[coordinate] * pull
    return LeftOut(expected, spread, misfit)


def distrust(
    prior: Prior, data: Data, parameters: Array, kernel: Kernel, coverages: Array
) -> tuple[NDArray[np.bool_], Data, LeftOut]:
    """Raise the noise of the readings that the others contradict.

    The worst go first, since one bad reading makes its neighbours look bad; at the end those are
    trusted again that fit once the others are known for bad.

    Returns
    -------
    flagged : (n,)
    data
        With the noise that is believed.
    left_out
        Each reading as the others predict it.
    """
    flagged = np.zeros(len(data), dtype=np.bool_)
    mistrust = np.zeros(len(data))
    left_out = LeftOut(data.even.copy(), np.ones_like(data.even), np.zeros(len(data)))
    # Readings are in canonical order, so the groups depend on nothing but them.
    mixed = np.random.default_rng(1).permutation(len(data))
    for group in np.array_split(mixed, -(-len(data) // _TOGETHER)):
        chosen = np.sort(group)
        flagged[chosen], mistrust[chosen], of_group = _distrust_group(
            prior, data.of(chosen), parameters, kernel, coverages[chosen]
        )
        left_out.even[chosen], left_out.spread[chosen] = of_group.even, of_group.spread
        left_out.misfit[chosen] = of_group.misfit
    return flagged, data.with_noise(data.noise.mistrusted(mistrust)), left_out


def _distrust_group(
    prior: Prior, data: Data, parameters: Array, kernel: Kernel, coverages: Array
) -> tuple[NDArray[np.bool_], Array, LeftOut]:
    """Return flags, what is added to variances, and few readings as the others predict them."""
    mistrust = np.zeros(len(data))
    most = len(data) // 8 if len(data) >= FEWEST else 0
    while True:
        believed = data.with_noise(data.noise.mistrusted(mistrust))
        left_out = leave_one_out(prior, believed, parameters, kernel, coverages)
        surprise = left_out.surprise(data, mistrust)
        # Where most readings surprise, the device is unlike others, and no reading is to blame.
        surprise /= max(1.0, float(np.median(surprise)) / _MIDDLE)
        missed = np.mean((left_out.even - data.even) ** 2, axis=1)
        apart = delta_e_2000(even_to_lab(left_out.even), even_to_lab(data.even))
        odd = (surprise > SURPRISE) & (apart > _SMALLEST)
        new = odd & (mistrust == 0.0)
        new &= surprise >= 0.4 * np.max(surprise, where=new, initial=0.0)
        if not new.any() or (mistrust > 0.0).sum() + new.sum() > most:
            flagged = odd & (mistrust > 0.0)
            mistrust = np.where(flagged, mistrust, 0.0)
            return flagged, mistrust, left_out
        mistrust = np.where(new, missed, mistrust)


def overconfidence(left_out: LeftOut, data: Data, good: NDArray[np.bool_]) -> float:
    """Return by how much variances are too small, at least 1, from what good readings missed by.

    Judged where 95 readings in 100 should lie, as the bound is, and trusted the more the more
    readings there are.
    """
    count = int(good.sum())
    if not count:
        return 1.0
    expected, got = even_to_lab(left_out.even[good]), even_to_lab(data.even[good])
    back = np.linalg.inv(even_jacobian(expected))
    covariance = np.einsum("nij,nj,nkj->nik", back, left_out.spread[good], back)
    missed = delta_e_2000(expected, got) / delta_e_bound(expected, covariance)
    rank = min(count, int(np.ceil((count + 1) * _JUDGED)))
    ratio = _OPTIMISM * float(np.sort(missed)[rank - 1]) ** 2
    return float(max(1.0, ratio) ** (count / (count + _CAUTION)))


def contradicted(stated: Noise, factors: Array) -> list[Diagnostic]:
    """Name the scans that err more than they state, by what an instrument read.

    ``factors`` (2, s) are what was learned, as in :meth:`Noise.scaled`.
    """
    found = []
    learned = stated.scaled(factors)
    for source in range(1, factors.shape[1]) if (stated.source == 0).any() else ():
        here = stated.source == source
        said, errs = (noise_delta_e(noise.variance[here]) for noise in (stated, learned))
        if errs > _FAR_MORE * said:
            found.append(
                warning(
                    "scan-disagrees",
                    f"a scan of {counted(int(here.sum()), 'swatch', 'swatches')} lies farther from "
                    "what the instrument's readings lead one to expect than its calibration stated "
                    f"(ΔE00 {said:.1f})",
                    hint="scan that sheet again without automatic correction, or read it; until "
                    "then it counts for little",
                )
            )
    return found


def describe(
    left_out: LeftOut, data: Data, flagged: NDArray[np.bool_], rows: NDArray[np.int_]
) -> tuple[Suspect, ...]:
    """Name the flagged readings by their rows as given, swapped pairs recognised."""
    expected, got = even_to_lab(left_out.even), even_to_lab(data.even)
    apart = delta_e_2000(expected, got)
    partner: dict[int, int] = {}
    where = np.flatnonzero(flagged)
    for first in where:
        crossed = np.maximum(
            delta_e_2000(expected[first], got[where]), delta_e_2000(got[first], expected[where])
        )
        crossed[where == first] = np.inf
        if crossed.size and crossed.min() < 0.35 * apart[first]:
            partner[int(first)] = int(where[np.argmin(crossed)])
    suspects = [
        Suspect(
            index=int(rows[at]),
            expected_lab=_triple(expected[at]),
            got_lab=_triple(got[at]),
            delta_e_00=float(apart[at]),
            swapped_with=int(rows[partner[int(at)]]) if int(at) in partner else None,
        )
        for at in where
    ]
    return tuple(sorted(suspects, key=lambda suspect: suspect.index))


def _triple(values: Array) -> Lab:
    return (float(values[0]), float(values[1]), float(values[2]))
