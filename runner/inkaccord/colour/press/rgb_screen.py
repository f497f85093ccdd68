"""A driver in RGB that aims at what a screen shows: sRGB on this paper, down to this black.

The colour of sRGB (IEC 61966-2-1) is scaled to the paper and lifted to the darkest print, with a
gamma of its own for each channel, after contrast round the middle and the channels' distances have
been made larger or smaller, as drivers do to please. What the driver does beyond that, above all
where sRGB leaves the reach of the inks, is left to the residual, which is large here.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.priors import PAPER_SPREAD, Prior, Rest, paper_logs
from inkaccord.colour.press.rgb_places import stretched
from inkaccord.colour.press.surface import Printed
from inkaccord.colour.spaces import D50_WHITE, linear_light, srgb_to_xyz_matrix

_DARKEST = 1e-4
"""RGB below this counts as this: a gamma below 1 would rise without bound from 0."""
_BLACK, _BLACK_SPREAD = 0.015, 0.5
"""Light from the darkest print as a share of the paper's, and the spread of its logarithm."""
_GAMMA_SPREAD = 0.15
_LIVELY_SPREAD = 0.15
"""Of the logarithm of how much livelier than the screen a driver makes colours."""
_LIVELY_LIMITS = (-1.0, 1.0)
_CONTRAST_SPREAD = 0.2
"""Of how much light tones are lightened and dark ones darkened, a fifth of it at most."""
_ENHANCED = 0.35
"""Liveliness and contrast together from which a driver is said to change colours by itself. Drawn
drivers that do nothing to please stay below 0.35 (tests/benchmarks/enhancing.py)."""
_LUMA = np.array([0.2126, 0.7152, 0.0722])
_ODDS = 4.0
"""ln odds against the other kind: a few readings say more of how wide a prior is than of what kind
a device is of, and of the two only this one knows what grey is."""
_CAUTION = 2.0
"""Where sRGB leaves the reach of the inks, drivers have edges that no smooth residual follows."""


@dataclass(frozen=True)
class Screen:
    """A :class:`~inkaccord.colour.press.surface.Surface`.

    Parameters: the logarithm of the paper for X, Y and Z; then, shared, that of the black floor,
    those of three gammas on top of sRGB's, and that of how lively colours are made; last, the
    contrast that is added to each channel.
    """

    inks: int = 3
    solids: int = 1
    per_value: int = 1
    shared: int = 6

    @property
    def size(self) -> int:
        """How many parameters there are in all."""
        return 3 * self.per_value + self.shared

    def bands(self, xyz: Array) -> Array:
        """Return XYZ (..., 3) relative to the perfect white: here the bands are X, Y and Z."""
        return np.asarray(xyz / D50_WHITE)

    def prints(self, parameters: Array, nominal: Array, *, by_parameter: bool = False) -> Printed:
        """Return the colours of nominal coverages (n, 3), each the complement of a channel."""
        paper = D50_WHITE * np.exp(parameters[:3])
        floor, gamma = float(np.exp(parameters[3])), np.exp(parameters[4:7])
        lively = float(np.exp(np.clip(parameters[7], *_LIVELY_LIMITS)))
        plain = np.clip(1.0 - nominal, 0.0, 1.0)
        room, contrast = plain * (1.0 - plain), 4.0 * float(parameters[8])
        curve = room * (plain - 0.5)
        asked = plain + contrast * curve
        grey = (asked @ _LUMA)[:, None]
        made = grey + lively * (asked - grey)
        inside = (made > _DARKEST) & (made < 1.0)
        rgb = np.clip(made, _DARKEST, 1.0)
        encoded = rgb**gamma
        light, by_encoded = linear_light(encoded)
        # To XYZ relative to white, (3 values, 3 channels).
        mixing = srgb_to_xyz_matrix() / (D50_WHITE[:, None] / 100.0)
        shares = light @ mixing.T
        xyz = paper * (floor + (1.0 - floor) * shares)
        by_log = by_encoded * encoded * gamma  # light by ln rgb
        spread = (1.0 - floor) * paper[:, None] * mixing
        by_made = spread * (by_log / rgb * inside)[:, None, :]
        by_asked = by_made @ (lively * np.eye(3) + (1.0 - lively) * _LUMA)
        by_coverage = -by_asked * (1.0 + contrast * (3.0 * room - 0.5))[:, None, :]
        if not by_parameter:
            nothing = np.empty((len(nominal), 3, 0))
            return Printed(xyz, nothing, by_coverage, nothing)
        by_gamma = spread * (by_log * np.log(rgb))[:, None, :]
        by_floor = (paper * floor * (1.0 - shares))[:, :, None]
        by_lively = by_made @ (lively * (asked - grey))[:, :, None]
        by_contrast = by_asked @ (4.0 * curve)[:, :, None]
        by_shared = np.concatenate([by_floor, by_gamma, by_lively, by_contrast], axis=2)
        return Printed(xyz, xyz[:, :, None], by_coverage, by_shared)

    def enhances(self, parameters: Array) -> bool:
        """Tell whether a driver with these parameters makes colours livelier to please."""
        return float(parameters[7] + parameters[8]) > _ENHANCED

    def places(self, _: Array, nominal: Array, /) -> tuple[Array, Array]:
        """Return where the residual sees coverages (n, 3), and how fast that moves."""
        return stretched(nominal)


def screen_prior(tone: float = 1.0) -> Prior:
    """Return the prior of a driver that aims at a screen's colours.

    ``tone`` is the gamma on top of the screen's: below 1 half tones are lighter. The spreads are
    rounded judgements (common practice, no source).
    """
    gammas = np.full(3, np.log(tone))
    mean = np.concatenate([paper_logs(), [np.log(_BLACK)], gammas, [0.0, 0.0]])
    paper = PAPER_SPREAD**2 * (np.ones((3, 3)) + 0.05 * np.eye(3))
    spreads = [_BLACK_SPREAD, *(_GAMMA_SPREAD,) * 3, _LIVELY_SPREAD, _CONTRAST_SPREAD]
    own = np.diag(np.square(spreads))
    rest = Rest(scale=7.0, length=0.9, spreads=(0.5, 0.5, 0.5))
    return Prior(Screen(), mean, block_diag(paper, own), rest, caution=_CAUTION, odds=_ODDS)
