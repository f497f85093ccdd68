"""What the shelf knows of one pair, and the press model that follows from it."""

import datetime
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.press.model import PressModel, fit
from inkaccord.colour.readings import Array, Readings
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.model import Order
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.shelf.evidence import joined
from inkaccord.shelf.kept import KeptPick, KeptReadings
from inkaccord.shelf.store import Shelf
from inkaccord.stages.picking import Picked, weigh_picks

DEFAULT_INK_LIMIT = 300.0
"""Total ink where a device states none: the SWOP specification's limit for large areas."""
ENOUGH = 8
"""Readings from which on a pair counts as read; fewer only steer an estimate."""
KIN_HELPS_BELOW = 100
"""Readings from which on a pair needs no kin."""
UNREAD_PAPER = (94.0, 0.0, -2.0)
"""CIELAB taken for a stock that states no colour and was never read: a bright white paper."""


@dataclass(frozen=True, eq=False)
class PairKnowledge:
    """All that is known of a pair.

    Attributes
    ----------
    readings
        Every reading in use; None where there is none.
    kept, picks
        The records they come from, and what was picked by eye.
    sheets
        Every sheet in use, also those that wait to be read.
    """

    pair: Pair
    drive: Drive
    policy: InkPolicy
    paper: tuple[float, float, float]
    readings: Readings | None
    kept: tuple[KeptReadings, ...]
    picks: tuple[KeptPick, ...]
    sheets: tuple[SampleSheet, ...]
    kin: PressModel | None = None
    """The model of the same device on another stock, where that was read."""
    stale: str = ""
    """Why the readings can't be trusted alone any more; empty while they can."""
    _picked: dict[str, Picked | None] = field(default_factory=dict, repr=False)

    @property
    def is_read(self) -> bool:
        """Whether there are readings enough to print by."""
        return self.readings is not None and len(self.readings) >= ENOUGH

    @cached_property
    def model(self) -> PressModel:
        """The press model: of the readings, or of the paper and experience alone."""
        it = self.readings
        return fit(it if it is not None else paper_readings(self.drive, self.paper), prior=self.kin)

    def reading_findings(self) -> tuple[Diagnostic, ...]:
        """Return what the model says of its readings; suspect ones are named by their swatch."""
        if not self.is_read:
            return ()
        rows = [
            f"swatch {reading.swatch} of sheet {it.sheet.id}"
            for it in self.kept
            for reading in it.readings.readings
        ]
        suspects = {suspect.finding(): suspect for suspect in self.model.suspects}
        return tuple(
            finding
            if finding not in suspects
            else finding.model_copy(
                update={
                    "message": f"{self.pair}: {rows[suspects[finding].index]}: {finding.message}"
                }
            )
            for finding in self.model.findings
        )

    def model_under(self, light: str) -> PressModel | None:
        """Return a model whose CIELAB is that under another light; None without spectra.

        It is fitted to what the spectra give under that light, each relative to its white.
        Raises OrderError for a light whose spectrum is not known.
        """
        it = self.readings
        if it is None or it.spectra is None or it.wavelengths is None or not self.is_read:
            return None
        lab = spectra_to_lab(it.spectra, it.wavelengths, light=light)
        return fit(replace(it, xyz=lab_to_xyz(lab), spectra=None, wavelengths=None))

    @property
    def last_read(self) -> datetime.date | None:
        """When the newest readings were made, as far as that is known."""
        return max((it.day for it in self.kept), default=None)

    @property
    def read_sheets(self) -> tuple[str, ...]:
        """Ids of the sheets with readings."""
        return tuple(dict.fromkeys(it.sheet.id for it in self.kept))

    @property
    def picked_sheets(self) -> tuple[str, ...]:
        """Ids of the sheets with picks."""
        return tuple(dict.fromkeys(it.sheet.id for it in self.picks))

    def known_builds(self) -> tuple[Build, ...]:
        """Return every build with a reading."""
        return tuple(
            swatch.build
            for it in self.kept
            for reading in it.readings.readings
            if (swatch := it.sheet.swatch(reading.swatch))
        )

    def waiting(self) -> tuple[SampleSheet, ...]:
        """Return the sheets that were planned for orders and have neither readings nor picks.

        A house deck is no part of an order: it may lie unread as long as its owner likes.
        """
        done = {*self.read_sheets, *self.picked_sheets}
        return tuple(
            sheet
            for sheet in self.sheets
            if sheet.id not in done and sheet.purpose is not Purpose.DECK
        )

    def lab_of(self, build: Build) -> Array:
        """Return the predicted CIELAB (3,) of a build."""
        lab: Array = self.model.predict_lab(np.array([build.values]))[0]
        return lab

    def bound_of(self, build: Build) -> float:
        """Return the 95 % bound, ΔE00, on that prediction."""
        return float(self.model.bound(np.array([build.values]))[0])

    def picked(self, colour: str) -> Picked | None:
        """Return what was picked by eye for a colour on this pair, all picks weighed once."""
        if colour not in self._picked:
            self._picked[colour] = weigh_picks(self, colour)
        return self._picked[colour]


def paper_readings(drive: Drive, paper: tuple[float, float, float]) -> Readings:
    """Return what is known of a pair that was never printed: the colour of its paper."""
    blank = (0.0, 0.0, 0.0, 0.0) if drive is Drive.CMYK else (255.0, 255.0, 255.0)
    return Readings(
        drive=drive,
        builds=np.array([blank]),
        xyz=lab_to_xyz(np.array([paper])),
        sheet=np.zeros(1, dtype=np.int_),
        noise=np.array([2.0]),
    )


def learn_pair(order: Order, shelf: Shelf, pair: Pair) -> PairKnowledge:
    """Ask the shelf for all that is known of a pair. Raises OrderError for mixed conditions."""
    device = order.device(pair.device)
    stock = order.stocks.get(pair.stock)
    kept = shelf.readings_of(pair)
    readings = joined(kept)
    few = readings is None or len(readings) < KIN_HELPS_BELOW
    return PairKnowledge(
        pair=pair,
        drive=device.drive,
        policy=InkPolicy(total_ink_limit=device.ink_limit or DEFAULT_INK_LIMIT),
        paper=(stock.colour if stock and stock.colour else UNREAD_PAPER),
        readings=readings,
        kept=kept,
        picks=shelf.picks_of(pair),
        sheets=tuple(it.sheet for it in shelf.sheets(pair)),
        kin=_kin(shelf, pair, device.drive) if few else None,
        stale=_stale(kept, order.date, device.stale_after_days),
    )


def _kin(shelf: Shelf, pair: Pair, drive: Drive) -> PressModel | None:
    """Return the model of the same device and setting on the stock that was read most."""
    found: list[Readings] = []
    for other in shelf.pairs():
        if (other.device, other.setting) == (pair.device, pair.setting) and other != pair:
            readings = joined(shelf.readings_of(other))
            if readings is not None and readings.drive is drive and len(readings) >= ENOUGH:
                found.append(readings)
    return fit(max(found, key=len)) if found else None


def _stale(kept: tuple[KeptReadings, ...], today: datetime.date, days: int) -> str:
    """Say why readings are too old on the order's date, or nothing."""
    if not kept:
        return ""
    age = (today - max(it.day for it in kept)).days
    return f"last read {age} days before the order; trusted for {days}" if age > days else ""
