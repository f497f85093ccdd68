"""What the shelf holds for the pairs of an order, asked for once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.evidence import joined
from inkaccord.order.model import Order
from inkaccord.recall.recall import Recall
from inkaccord.shelf.kept import KeptReadings, PairEvidence

if TYPE_CHECKING:
    from inkaccord.colour.press.model import PressModel

ENOUGH = 8
"""Readings from which on a pair counts as read; fewer only steer an estimate."""
KIN_HELPS_BELOW = 100
"""Readings from which on a pair needs no kin."""


class Keeps(Protocol):
    """What keeps evidence: :class:`inkaccord.shelf.store.Shelf` does."""

    def evidence_of(self, pairs: Iterable[Pair]) -> dict[Pair, PairEvidence]:
        """Return all that is known of pairs: their sheets in use, with readings and picks."""
        ...

    def readings_counted(self, devices: Iterable[str]) -> dict[tuple[Pair, Drive], int]:
        """Return how many readings in use each pair of some devices has."""
        ...


@dataclass(frozen=True, eq=False)
class Holdings:
    """What is held of some pairs, and of the pair that is next of kin to each.

    Attributes
    ----------
    pairs
        The evidence of each pair.
    kin
        The pair of the same device and setting on the stock that was read most, for each pair that
        has one.
    kin_readings
        Of each kin that a pair has use for, because little was read of the pair itself.
    """

    pairs: Mapping[Pair, PairEvidence] = field(default_factory=dict)
    kin: Mapping[Pair, Pair] = field(default_factory=dict)
    kin_readings: Mapping[Pair, tuple[KeptReadings, ...]] = field(default_factory=dict)
    _models: dict[Pair, PressModel] = field(default_factory=dict, repr=False)

    def of(self, pair: Pair) -> PairEvidence:
        """Return what is held of a pair."""
        return self.pairs.get(pair, PairEvidence())

    def kin_model(self, pair: Pair, recall: Recall) -> PressModel | None:
        """Return the press model of a pair's kin, fitted once; None where none helps.

        Raises OrderError for readings that can't be compared.
        """
        kin = self.kin.get(pair)
        if kin is None or number_read(self.of(pair)) >= KIN_HELPS_BELOW:
            return None
        if kin not in self._models:
            readings = joined(self.kin_readings[kin])
            if readings is None:
                return None
            from inkaccord.colour.press.model import fit  # noqa: PLC0415 - slow to load

            self._models[kin] = recall(fit, readings)
        return self._models[kin]


def number_read(evidence: PairEvidence) -> int:
    """Return how many swatches of a pair are read."""
    return sum(len(record.readings.readings) for record in evidence.readings)


def gather(shelf: Keeps, order: Order, pairs: Iterable[Pair]) -> Holdings:
    """Ask a shelf once for all that it holds of some pairs of an order."""
    held = shelf.evidence_of(pairs)
    counted = shelf.readings_counted({pair.device for pair in held})
    kin = {
        pair: nearest
        for pair in held
        if (nearest := kin_of(pair, order.device(pair.device).drive, counted))
    }
    needed = {kin[pair] for pair in kin if number_read(held[pair]) < KIN_HELPS_BELOW}
    others = shelf.evidence_of(sorted(needed - held.keys(), key=str))
    return Holdings(
        pairs=held,
        kin=kin,
        kin_readings={pair: (held | others)[pair].readings for pair in needed},
    )


def kin_of(pair: Pair, drive: Drive, counted: Mapping[tuple[Pair, Drive], int]) -> Pair | None:
    """Return the pair of the same device and setting on the stock that was read most."""
    counts = {
        other: number
        for (other, driven), number in counted.items()
        if (other.device, other.setting) == (pair.device, pair.setting)
        and other != pair
        and driven is drive
        and number >= ENOUGH
    }
    return max(counts, key=counts.__getitem__, default=None)
