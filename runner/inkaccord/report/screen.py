"""Screen colours for CIELAB: what is drawn, and whether a screen can show it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.spaces import lab_to_srgb


@dataclass(frozen=True)
class ScreenColour:
    """A colour for the screen.

    Attributes
    ----------
    hex
        sRGB as ``#rrggbb``.
    shown
        False where the screen's own range is too small and this is the clipped colour.
    """

    hex: str
    shown: bool

    @property
    def rgb(self) -> tuple[int, int, int]:
        """Red, green and blue, 0 to 255."""
        red, green, blue = bytes.fromhex(self.hex[1:])
        return red, green, blue

    @property
    def ink(self) -> str:
        """Black or white, whichever reads better on this colour (WCAG 2.2 contrast)."""
        light = luminance(self)
        return "#000000" if (light + 0.05) / 0.05 >= 1.05 / (light + 0.05) else "#ffffff"


def screen_colour(lab: ArrayLike) -> ScreenColour:
    """Return the screen colour of one CIELAB (3,), D50."""
    return screen_colours(np.asarray(lab))[0]


def screen_colours(labs: ArrayLike) -> tuple[ScreenColour, ...]:
    """Return the screen colours of CIELAB (n, 3), D50 adapted to the screen's white."""
    rgb, shown = lab_to_srgb(np.asarray(labs, dtype=np.float64).reshape(-1, 3))
    steps = np.rint(rgb * 255).astype(np.uint8)
    return tuple(
        ScreenColour(f"#{bytes(row).hex()}", bool(fits))
        for row, fits in zip(steps, shown, strict=True)
    )


def luminance(colour: ScreenColour) -> float:
    """Return the relative luminance that WCAG 2.2 defines, 0 to 1."""
    linear = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in (channel / 255 for channel in colour.rgb)
    ]
    return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))
