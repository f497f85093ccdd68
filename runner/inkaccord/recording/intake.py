"""What was taken in, and what both ways of taking in share."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.files import sha256_of
from inkaccord.knowledge.course import Compared
from inkaccord.knowledge.pairs import DEFAULT_INK_LIMIT
from inkaccord.order.model import Order
from inkaccord.order.vendors import Device
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.on_glass import FoundOnGlass


@dataclass(frozen=True)
class Intake:
    """What was taken in of a sheet, and what is worth saying about it."""

    sheet: SampleSheet
    findings: tuple[Diagnostic, ...] = ()
    readings: int = 0
    """How many readings the files held."""
    new_readings: bool = False
    """Whether the shelf did not have them yet."""
    new_picks: int = 0
    things: tuple[FoundOnGlass, ...] = ()
    """What was found for things that lay on the glass."""
    drift: Compared | None = None
    """What its controls tell of the pair, where they were read before."""


@dataclass(frozen=True)
class FilesRead:
    """Where readings came from: the files' names, and a digest of what is in them."""

    names: str
    sha256: str

    @classmethod
    def of(cls, paths: Iterable[Path], contents: Iterable[bytes]) -> "FilesRead":
        """Return them for files and what is in them, in the same order."""
        return cls(", ".join(path.name for path in paths), sha256_of(b"".join(contents)))


def device_of(pair: Pair, order: Order | None) -> Device | None:
    """Return the device of a pair; None where no order describes it."""
    try:
        return order.device(pair.device) if order is not None else None
    except KeyError:
        return None


def policy_of(device: Device | None) -> InkPolicy:
    """Return how much ink a pair takes by its device; the usual where no order describes it."""
    limit = None if device is None else device.ink_limit
    return InkPolicy(total_ink_limit=limit or DEFAULT_INK_LIMIT)


def tolerance_of(device: Device | None) -> float:
    """Return the drift, ΔE00, that a device allows; the usual one where no order describes it."""
    return (device or Device()).drift_tolerance
