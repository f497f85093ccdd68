"""What the decisions ask of a press model, so that any model of a pair will do."""

from typing import Protocol

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive


class Predictor(Protocol):
    """Predicts the colour that a pair prints. Builds are (n, k) in percent, or RGB 0 to 255."""

    @property
    def drive(self) -> Drive:
        """How the device is driven."""
        ...

    @property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the unprinted stock."""
        ...

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB."""
        ...

    def lab_and_jacobian(self, builds: Array) -> tuple[Array, Array]:
        """Return (n, 3) CIELAB, and (n, 3, k) its change by one unit of each channel."""
        ...

    def bound(self, builds: Array) -> Array:
        """Return (n,) the ΔE00 within which a print lies with 95 % probability."""
        ...
