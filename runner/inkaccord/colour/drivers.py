"""What a driver in RGB may be that nobody has read: softer or steeper than a screen.

Drivers that aim at a screen's colours print within a few ΔE00 of it. Those that mix inks by rule
print 10 to 15 off, mostly lighter; which of the two a pair has, looks at its swatches tell.
"""

from inkaccord.colour.builds import Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.press.rgb_screen import screen_prior
from inkaccord.colour.sampling.design import GenericPress

_TONES = (0.6, 0.8, 1.25)
"""Gammas on top of the screen's. Of 72 drivers before five presses, most that mix by densities and
masks were met best by 0.45 to 0.85, darkened and glossy ones by 1.2: counted once, by a script that
is not kept (docs/colour-decisions.md)."""


def other_drivers(drive: Drive, paper: Lab) -> tuple[GenericPress, ...]:
    """Return what a pair on a paper may be beside what is taken for it first; in CMYK nothing."""
    if drive is Drive.CMYK:
        return ()
    return tuple(GenericPress.of(drive, paper, screen_prior(tone)) for tone in _TONES)
