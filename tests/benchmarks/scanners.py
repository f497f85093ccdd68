"""Simulated scanners that look at prints of which only builds and colours are known.

``Invented`` sees bands of its own of X, Y and Z. ``Published`` sees spectra, by a sensor that
colour-science carries and under a lamp of the CIE, as ``glass.py`` does: the measured spectra of
krita-data's proof at the same builds, bent to the colours that a profile gives them.
"""

from functools import cache

import numpy as np
from glass import NM, Press, scanned, scanner, things

from inkaccord.colour.builds import FULL_SCALE
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab

BANDS = np.array([[1.1, 0.0, -0.1], [-0.5, 1.5, 0.0], [0.0, 0.0, 1.0]])
"""Red, green and blue from relative XYZ."""
_BENDS = np.stack([np.ones(len(NM)), (NM - 550) / 150, ((NM - 550) / 150) ** 2], axis=-1)


class Invented:
    """Sees three bands of its own through a curve and stray light, inks a little otherwise."""

    def __init__(self, rng, drive):
        self.rng, self.drive = rng, drive
        self.bands = (np.eye(3) + rng.normal(0, 0.08, (3, 3)) * (1 - np.eye(3))) @ BANDS
        self.curve, self.stray = rng.uniform(0.9, 1.15), rng.uniform(0, 0.015)
        self.by_ink = rng.normal(0, 0.006, (3, 10))

    def linear(self, builds, lab):
        """Return linear RGB (n, 3)."""
        shares = builds / FULL_SCALE[self.drive]
        first, second = np.triu_indices(shares.shape[1])
        otherwise = (shares[:, first] * shares[:, second]) @ self.by_ink[:, : len(first)].T
        rgb = np.maximum(lab_to_xyz(lab) / D50_WHITE @ self.bands.T, 1e-3) * np.exp(otherwise)
        seen = 0.95 * rgb**self.curve + self.stray
        return seen * (1 + self.rng.normal(0, 0.004, seen.shape))


class Published:
    """Sees spectra by a sensor under a lamp, as ``glass.scanner`` names them."""

    def __init__(self, rng, sensor, lamp):
        self.rng, self.seeing = rng, scanner(sensor, lamp, _charts())

    def linear(self, builds, lab):
        """Return linear RGB (n, 3)."""
        return scanned(bent(_press().spectra(builds), lab), self.seeing, self.rng)


def bent(spectra, lab):
    """Return spectra (n, w) times smooth curves, so that they have colours (n, 3)."""
    by = np.zeros((len(spectra), 3))
    for _ in range(20):
        now = spectra * np.exp(by @ _BENDS.T)
        at = spectra_to_lab(now, NM)
        moved = [(spectra_to_lab(now * np.exp(1e-3 * it), NM) - at) / 1e-3 for it in _BENDS.T]
        step = np.linalg.pinv(np.stack(moved, axis=-1)) @ (lab - at)[..., None]
        by += np.clip(step[..., 0], -0.3, 0.3)
    found = spectra * np.exp(by @ _BENDS.T)
    assert delta_e_2000(spectra_to_lab(found, NM), lab).max() < 0.1
    return found


@cache
def _press():
    return Press()


@cache
def _charts():
    return things()["charts"]


def name_of(sensor, lamp):
    """Return the sensor and lamp of a published scanner in words."""
    return f"{'three LEDs' if sensor is None else ('filters', 'layers')[sensor]}, {lamp}"
