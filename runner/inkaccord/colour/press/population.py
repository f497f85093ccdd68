"""The kinds of device that a pair nobody has read may be."""

from inkaccord.colour.builds import Drive
from inkaccord.colour.press.priors import Prior, press_prior
from inkaccord.colour.press.rgb_inks import mixed_inks_prior
from inkaccord.colour.press.rgb_screen import screen_prior


def populations(drive: Drive) -> tuple[Prior, ...]:
    """Return the priors of devices driven in this way, the one to plan with first.

    Of a press in CMYK there is one kind. A driver in RGB may aim at what a screen shows, or mix
    inks by rule; the readings tell which.
    """
    return (press_prior(),) if drive is Drive.CMYK else (screen_prior(), mixed_inks_prior())
