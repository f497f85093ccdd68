"""How a pair's inks are to be used: limits, black, and when one ink less is better."""

from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import Field

from inkaccord.colour.arrays import Array
from inkaccord.colour.black_wish import BlackWish
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.models import Frozen

Percent = Annotated[float, Field(ge=0, le=100)]


class Black(StrEnum):
    """How much black to use, where cyan, magenta and yellow could do the same."""

    LEAST = "least"
    """As little as the colour allows: clean, without grain."""
    MOST = "most"
    """As much as the colour allows: less ink in all, and greys that do not drift."""
    NEAR = "near"
    """As close as possible to a given build, in all channels."""


class InkPolicy(Frozen):
    """The rules that every build for a pair obeys. Only ``whole`` matters to RGB devices."""

    total_ink_limit: Annotated[float, Field(gt=0, le=400)] = 280.0
    """Largest sum of the inks in percent. Print shops ask 240, 280 or 300; the SWOP
    specification has 300 over large areas, 325 in small ones."""
    channel_limits: tuple[Percent, Percent, Percent, Percent] = (100.0, 100.0, 100.0, 100.0)
    """Largest C, M, Y and K in percent."""
    channel_floors: tuple[Percent, Percent, Percent, Percent] = (0.0, 0.0, 0.0, 0.0)
    """Smallest C, M, Y and K in percent."""
    black: Black = Black.LEAST
    black_free_above: Annotated[float, Field(ge=0, le=100)] | None = 60.0
    """Aims lighter than this L* get no black, whose dots show in light tones (common practice,
    no source). None: black everywhere."""
    black_free_within: Annotated[float, Field(ge=0)] = 0.5
    """Light tones get black after all where leaving it out costs more than this ΔE00."""
    spare_ink_within: Annotated[float, Field(ge=0, le=2)] = 0.05
    """An ink is left out where that costs no more than this ΔE00."""
    whole: bool = True
    """Builds in whole percent, or whole 8-bit steps for RGB."""

    def upper(self, drive: Drive) -> Array:
        """Return the largest value of each channel, in the units of a build."""
        if drive is Drive.CMYK:
            return np.array(self.channel_limits)
        return np.full(len(CHANNELS[drive]), FULL_SCALE[drive])

    def lower(self, drive: Drive) -> Array:
        """Return the smallest value of each channel, in the units of a build."""
        if drive is Drive.CMYK:
            return np.array(self.channel_floors)
        return np.zeros(len(CHANNELS[drive]))

    def total(self, drive: Drive) -> float:
        """Return the largest sum of a build, infinite for RGB."""
        return self.total_ink_limit if drive is Drive.CMYK else np.inf

    def allows(self, builds: ArrayLike, drive: Drive) -> NDArray[np.bool_]:
        """Return for (..., k) builds whether each keeps to the limits."""
        builds = np.asarray(builds, dtype=np.float64)
        slack = 1e-9
        inside = np.all(
            (builds >= self.lower(drive) - slack) & (builds <= self.upper(drive) + slack), axis=-1
        )
        return np.asarray(inside & (builds.sum(axis=-1) <= self.total(drive) + slack))

    def wishing(self, wish: BlackWish, designed: ArrayLike) -> "InkPolicy":
        """Return the policy for a colour whose black is wished for.

        Parameters
        ----------
        wish
            What the designer asks.
        designed
            (4,) the artwork's own CMYK in percent, whose black may be kept.
        """
        if wish is BlackWish.LEAST:
            return self.model_copy(update={"black": Black.LEAST})
        free = self.model_copy(update={"black": Black.MOST, "black_free_above": None})
        if wish is BlackWish.MOST:
            return free
        inks = np.asarray(designed, dtype=np.float64)
        if not inks[:3].any():
            # In one ink it is the amount that the colour is matched with.
            return free.model_copy(
                update={"channel_limits": (0.0, 0.0, 0.0, self.channel_limits[3])}
            )
        kept = min(float(np.rint(inks[3])), self.channel_limits[3])
        return free.model_copy(
            update={
                "channel_limits": (*self.channel_limits[:3], kept),
                "channel_floors": (*self.channel_floors[:3], kept),
            }
        )
