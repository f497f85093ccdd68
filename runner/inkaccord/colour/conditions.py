"""The conditions a reading was made under, and how far an instrument's is off.

Readings under different conditions are never mixed.
"""

from typing import Literal

from inkaccord.models import Frozen

MeasurementMode = Literal["M0", "M1", "M2", "M3"]
Backing = Literal["white", "black"]

INSTRUMENT_NOISE = 0.3
"""Standard deviation expected of an instrument's reading of a print, ΔE00: 0.1 to 0.3 (from
memory), where nothing says more. What is printed next depends on it only weakly."""


class Conditions(Frozen):
    """Illuminant and observer of the colorimetry, measurement condition and backing.

    The measurement conditions M0 to M3 and the backings are those of ISO 13655. None means that
    the source does not say; what is not said clashes with nothing.
    """

    illuminant: str = "D50"
    observer: Literal["2", "10"] = "2"
    mode: MeasurementMode | None = None
    backing: Backing | None = None

    def clash(self, other: "Conditions") -> str | None:
        """Return in words why readings under these two can't be compared, or None."""
        if self.illuminant != other.illuminant:
            return f"illuminant {self.illuminant} beside {other.illuminant}"
        if self.observer != other.observer:
            return f"{self.observer}° observer beside {other.observer}°"
        if self.mode and other.mode and self.mode != other.mode:
            return f"measurement condition {self.mode} beside {other.mode}"
        if self.backing and other.backing and self.backing != other.backing:
            return f"{self.backing} backing beside {other.backing}"
        return None
