"""Devices from published profiles, to draw orders on: what Debian packages carry, where installed.

A profile is a press on its own stock; other stocks and drivers in RGB are those of the other
benchmarks. Here too a day and a sheet change half tones and solids a little.
"""

import numpy as np
from drawn_orders import ink_limit
from invented_devices import USUAL
from rgb_drivers import drivers
from virtual_pairs import INSTALLED, other_stock, profile_pair

from inkaccord.colour.builds import Drive

PROFILES = [path for path in INSTALLED if path.exists()]
WEAKER = {"coated": 1.0, "uncoated": 0.85, "tinted": 0.95, "kraft": 0.9}
"""The power of each ink's transmittance on a kind of stock."""
_SOLID = 0.985


class PublishedDevice:
    """A press of a published profile, perhaps behind a driver in RGB."""

    def __init__(self, drive, rng):
        self.path = PROFILES[rng.integers(len(PROFILES))]
        self.drive, self.ink_limit = drive, 400 if drive is Drive.RGB else ink_limit(rng)
        ways = drivers(self.path)
        self.driver = ways[str(rng.choice(list(ways)))] if drive is Drive.RGB else None
        self.press, self._on = profile_pair(self.path), {}
        self.curves = rng.normal(0, [0.03, 0.007], (4, 2))

    def lab(self, builds, stock, state=USUAL):
        """Return CIELAB, (n, 3), of builds on a stock."""
        builds = np.asarray(builds, dtype=np.float64)
        inks = self.driver(builds / 255.0) if self.driver else builds
        share = np.clip(inks / 100.0, 0, 1)
        room = 4 * share * (1 - share)
        bent = share + room * (self.curves[:, 0] + state.gain)
        bent = bent + self.curves[:, 1] * np.sin(3 * np.pi * share)
        bent = np.clip(np.clip(bent, 0, 1) * np.minimum(_SOLID * state.strength, 1.0), 0, 1)
        return self._pair(stock).lab(100.0 * bent)

    def _pair(self, stock):
        if id(stock) not in self._on:
            kind = stock.name
            self._on[id(stock)] = (
                stock,
                other_stock(
                    self.press, stock.lab, strength=WEAKER[kind], gain=0.12 * (stock.spread - 1)
                ),
            )
        return self._on[id(stock)][1]
