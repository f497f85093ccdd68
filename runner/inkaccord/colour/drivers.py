"""What a driver in RGB may be that nobody has read: one that aims at a screen, or one that mixes.

Drivers that aim at a screen's colours print within a few ΔE00 of it. Those that mix inks by rule
print 10 to 20 off; which of the two a pair has, looks at its swatches tell.
"""

from inkaccord.colour.builds import Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.press.rgb_inks import usual_press_prior
from inkaccord.colour.press.rgb_screen import screen_prior
from inkaccord.colour.sampling.design import GenericPress

_TONES = (0.7, 1.25)
"""Gammas on top of the screen's: of soft prints, and of darkened and glossy ones."""
_GAINS = (-0.2, -0.8, 0.8)
"""Tone curves of complements in front of a usual press: as they are, by densities, and heavier.
Chosen one after the other for what they bring on drivers drawn by number 1 before Debian's three
profiles (``tests/benchmarks/drawn_drivers.py``, docs/colour-decisions.md)."""


def other_drivers(drive: Drive, paper: Lab) -> tuple[GenericPress, ...]:
    """Return what a pair on a paper may be beside what is taken for it first; in CMYK nothing."""
    if drive is Drive.CMYK:
        return ()
    priors = [screen_prior(it) for it in _TONES] + [usual_press_prior(it) for it in _GAINS]
    return tuple(GenericPress.of(drive, paper, prior) for prior in priors)
