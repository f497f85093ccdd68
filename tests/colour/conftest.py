"""Toy printers: exact, fast, and nothing to do with any real device."""

from dataclasses import dataclass

import numpy as np
import pytest

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.spaces import lab_jacobian, lab_to_xyz, xyz_to_lab


@dataclass(frozen=True, eq=False)
class ToyPrinter:
    """A Neugebauer printer: Demichel weights, Yule-Nielsen n = 2, dot gain by a power."""

    drive: Drive
    primaries: np.ndarray
    """(2**k, 3) XYZ of all overprints, ink i in primary p where bit i of p is set."""
    gain: float = 0.8
    uncertainty: float = 0.4

    @property
    def paper_lab(self):
        return xyz_to_lab(self.primaries[0])

    def _weights(self, builds):
        builds = np.asarray(builds, dtype=np.float64)
        share = builds / FULL_SCALE[self.drive]
        slope = np.ones_like(share) / FULL_SCALE[self.drive]
        if self.drive is Drive.RGB:
            share, slope = 1.0 - share, -slope
        share = np.clip(share, 1e-9, 1.0)
        area = share**self.gain
        slope = slope * self.gain * share ** (self.gain - 1.0)
        bits = (np.arange(len(self.primaries))[:, None] >> np.arange(builds.shape[1])) & 1
        factors = np.where(bits, area[:, None, :], 1.0 - area[:, None, :])
        weights = factors.prod(axis=-1)
        others = np.stack(
            [np.delete(factors, i, axis=-1).prod(axis=-1) for i in range(builds.shape[1])], axis=-1
        )
        return weights, others * np.where(bits, 1.0, -1.0) * slope[:, None, :]

    def predict_xyz(self, builds):
        weights, _ = self._weights(builds)
        return (weights @ np.sqrt(self.primaries)) ** 2

    def predict_lab(self, builds):
        return xyz_to_lab(self.predict_xyz(builds))

    def lab_and_jacobian(self, builds):
        weights, slopes = self._weights(builds)
        root = weights @ np.sqrt(self.primaries)
        by_build = np.einsum("npk,pj->njk", slopes, np.sqrt(self.primaries)) * 2 * root[..., None]
        return self.predict_lab(builds), lab_jacobian(root**2) @ by_build

    def bound(self, builds):
        return np.full(len(builds), self.uncertainty)


def toy_printer(
    drive=Drive.CMYK, paper=(95.0, 0.0, -2.0), *, strength=1.0, uncertainty=0.4, tint=0.0
):
    """Return a printer whose overprints are products of its inks' transmittances."""
    inks = np.array(
        [[0.20 + tint, 0.30, 0.75], [0.42, 0.19, 0.28 + tint], [0.80, 0.84, 0.08], [0.02] * 3]
    )
    if drive is Drive.RGB:
        inks = inks[:3]
    inks = inks**strength
    count = len(inks)
    bits = (np.arange(2**count)[:, None] >> np.arange(count)) & 1
    passed = np.where(bits[:, :, None], inks[None], 1.0).prod(axis=1)
    primaries = lab_to_xyz(paper) * (passed * 0.985 + 0.006)
    return ToyPrinter(drive, primaries, uncertainty=uncertainty)


@pytest.fixture(scope="session")
def cmyk_printer():
    return toy_printer()


@pytest.fixture(scope="session")
def rgb_printer():
    return toy_printer(Drive.RGB)


@pytest.fixture(scope="session")
def make_printer():
    return toy_printer
