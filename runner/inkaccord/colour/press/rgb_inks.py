"""A driver in RGB that mixes inks by rule: each the complement of a channel, grey made of black.

In front of the halftone model of a CMYK press stands a nominal driver. It gives each ink a tone,
e tᵍ, in which the ink may be full before its channel ends; lets it spare the others what they
bring of its colour (masking): cᵢ = e tᵢᵍ − Σⱼ mᵢⱼ e tⱼᵍ, from nothing to full. Black
is taken from what cyan, magenta and yellow then have in common, and a share of it out of them again
(grey component replacement): k = κ S^γ, where S is a power mean of the three that runs from their
geometric mean to the least of them; then cᵢ' = cᵢ (1 − u k). All of these are learned.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import block_diag
from scipy.special import expit

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.halftone import Layout
from inkaccord.colour.press.priors import MEANS, MODES, Means, Prior, Rest, Spreads, ink_prior
from inkaccord.colour.press.rgb_places import stretched
from inkaccord.colour.press.surface import Printed

_SPREADS = Spreads(
    strength_all=0.0,
    strength=0.4,
    solid=0.3,
    overprint=0.6,
    overprint_hue=0.4,
    gain_all=0.0,
    gain=0.9,
    gain_hue=0.3,
    fall=1.1,
    fall_hue=1.1,
)
"""What a solid of the driver is made of is not known, so all is wider than for inks."""
_MEANS = Means(
    paper=(94.0, 0.0, -2.0),
    inks=((57.0, -32.0, -47.0), (50.0, 70.0, -2.0), (88.0, -5.0, 86.0), (20.0, 0.5, 0.5)),
    paper_of_inks=(94.0, 0.0, -2.0),
    floor=0.008,
    departures=(),
    gains=(((0.7, 0.7, 0.7), 0.0, 0.0),) * 4,
    yule_nielsen=1.3,
)
"""Half tones are between those of lights, which add up (n = 1, a gamma of about 2), and those of
inks; overprints are taken to be plain, as rules would make them."""
_RULES = np.array([np.log(2.0), np.log(2.0), 0.5, -0.5, 0.0, 0.0, *(0.0,) * 6])
_RULE_SPREADS = np.array([0.5, 0.7, 2.0, 1.2, 0.5, 0.15, *(0.1,) * 6])
"""ln γ, ln of the mean's power, and the logits of κ and u: from no black to full grey component
replacement; ln g, ln e and the m (common practice, no source)."""
_OTHERS = np.nonzero(~np.eye(3, dtype=bool))
"""Which ink spares what other one."""
_TINY = 1e-3
_POWER_LIMITS = (-3.0, 4.0)
"""Of its logarithm, so that a step gone astray in the search meets no overflow."""
_TONE_LIMITS = (-2.0, 2.0)
_ROUND = 0.02
"""Coverage over which the ends of an ink's range are rounded off."""
_CAUTION = 2.0
"""Black that sets in, and inks that reach their limit, leave edges."""


@dataclass(frozen=True, eq=False)
class Mixed:
    """Nominal inks with derivatives."""

    inks: Array
    """(n, 4), 0 to 1."""
    by_coverage: Array
    """(n, 4, 3): by the complements of R, G and B."""
    by_rule: Array
    """(n, 4, 12)"""


def mix_inks(rules: Array, nominal: Array) -> Mixed:
    """Return the inks that a driver with these rules (12,) mixes for coverages (n, 3)."""
    areas, by_coverage, by_tone = _colours(rules[4:], np.clip(nominal, 0.0, 1.0))
    count = len(areas)
    gamma = float(np.exp(rules[0]))
    power = float(np.exp(np.clip(rules[1], *_POWER_LIMITS)))
    most, taken = expit(rules[2:4])

    # The offset keeps all smooth where a channel is not there; it is taken out at full ink.
    raised = (areas + _TINY) / (1.0 + _TINY)
    powers = raised**-power
    mean = powers.mean(axis=1)
    common = mean ** (-1.0 / power)
    black = most * common**gamma
    left = 1.0 - taken * black

    log_by_area = powers / (areas + _TINY) / (3.0 * mean[:, None])  # of ln common
    log_by_power = (
        np.log(mean) / power + (np.log(raised) * powers).mean(axis=1) / mean
    )  # d ln common / d ln power
    black_by_area = (black * gamma)[:, None] * log_by_area
    black_by_rule = np.stack(
        [
            black * gamma * np.log(common),
            black * gamma * log_by_power,
            black * (1.0 - most),
            np.zeros(count),
        ],
        axis=1,
    )
    by_area = np.empty((count, 4, 3))
    by_area[:, :3] = left[:, None, None] * np.eye(3)
    by_area[:, :3] -= taken * areas[:, :, None] * black_by_area[:, None, :]
    by_area[:, 3] = black_by_area
    by_rule = np.empty((count, 4, 4))
    by_rule[:, :3] = -taken * areas[:, :, None] * black_by_rule[:, None, :]
    by_rule[:, :3, 3] -= areas * (black * taken * (1.0 - taken))[:, None]
    by_rule[:, 3] = black_by_rule
    inks = np.concatenate([areas * left[:, None], black[:, None]], axis=1)
    return Mixed(inks, by_area @ by_coverage, np.concatenate([by_rule, by_area @ by_tone], axis=2))


def _colours(rules: Array, share: Array) -> tuple[Array, Array, Array]:
    """Return cyan, magenta and yellow (n, 3) before black, by ``share`` and by the rules (n, 3, 8).

    Rules are ln g, ln e and what each ink spares the others; ``share`` (n, 3) is 0 to 1.
    """
    bend, full = np.exp(np.clip(rules[:2], *_TONE_LIMITS)).tolist()
    spared = np.eye(3)
    spared[_OTHERS] = -rules[2:]
    # The offset keeps the slope at bare paper within bounds.
    least = _TINY / (1.0 + _TINY)
    raised = (share + _TINY) / (1.0 + _TINY)
    powers, lowest = raised**bend, least**bend
    whole = 1.0 - lowest
    tone = full * np.maximum(powers - lowest, 0.0) / whole  # rounding may end below 0
    by_share = full * bend * powers / (share + _TINY) / whole
    rise = bend * (powers * np.log(raised) - lowest * np.log(least))
    by_bend = (full * rise + tone * bend * lowest * np.log(least)) / whole

    # No less than nothing and no more than full, rounded off, so that slopes tell where to go; and
    # where a channel is not there, none at all.
    wanted = tone @ spared.T
    near, far = np.hypot(wanted, _ROUND), np.hypot(wanted - 1.0, _ROUND)
    within = 0.5 * (near - far + 1.0)
    absent = np.exp(-tone / _ROUND)
    slope = 0.5 * (wanted / near - (wanted - 1.0) / far) * (1.0 - absent)
    by_tone = slope[:, :, None] * spared
    by_tone += (within * absent / _ROUND)[:, :, None] * np.eye(3)
    by_rule = np.zeros((len(share), 3, len(rules)))
    by_rule[:, :, :2] = by_tone @ np.stack([by_bend, tone], axis=2)
    sparing, other = _OTHERS
    by_rule[:, sparing, 2 + np.arange(len(sparing))] = -slope[:, sparing] * tone[:, other]
    return within * (1.0 - absent), by_tone * by_share[:, None, :], by_rule


@dataclass(frozen=True)
class MixedInks:
    """A :class:`~inkaccord.colour.press.surface.Surface`: a driver's rules in front of a press."""

    press: Layout
    inks: int = 3
    shared: int = 12

    @property
    def solids(self) -> int:
        """How many overprints the press has, the paper included."""
        return self.press.solids

    @property
    def per_value(self) -> int:
        """How many parameters one tristimulus value has."""
        return self.press.per_value

    @property
    def size(self) -> int:
        """How many parameters there are in all."""
        return self.press.size + self.shared

    def bands(self, xyz: Array) -> Array:
        """Return XYZ (..., 3) in the bands that inks mix in."""
        return self.press.bands(xyz)

    def prints(self, parameters: Array, nominal: Array, *, by_parameter: bool = False) -> Printed:
        """Return the colours of nominal coverages (n, 3), each the complement of a channel."""
        mixed = mix_inks(parameters[self.press.size : self.size], nominal)
        printed = self.press.prints(parameters, mixed.inks, by_parameter=by_parameter)
        return replace(
            printed,
            by_coverage=printed.by_coverage @ mixed.by_coverage,
            by_shared=printed.by_coverage @ mixed.by_rule if by_parameter else printed.by_shared,
        )

    def places(self, _: Array, nominal: Array, /) -> tuple[Array, Array]:
        """Return where the residual sees coverages (n, 3), and how fast that moves."""
        return stretched(nominal)


def mixed_inks_prior(means: Means = _MEANS) -> Prior:
    """Return the prior of a driver that mixes inks by rule, in front of a press with such means."""
    press = ink_prior(means, _SPREADS)
    return Prior(
        MixedInks(Layout(4, MODES)),
        np.concatenate([press.mean, _RULES]),
        block_diag(press.covariance, np.diag(_RULE_SPREADS**2)),
        Rest(scale=4.0, length=0.35, spreads=(0.35, 0.35, 0.5)),
        caution=_CAUTION,
    )


def usual_press_prior(gain: float) -> Prior:
    """Return the prior of a driver that mixes inks for a press as most are.

    ``gain`` is added to the first coefficient of all tone curves: below 0 half tones are lighter.
    """
    gains = tuple(
        ((first[0] + gain, first[1] + gain, first[2] + gain), second, third)
        for first, second, third in MEANS.gains
    )
    return mixed_inks_prior(replace(MEANS, gains=gains))
