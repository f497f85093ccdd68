"""How a pair has kept to itself: the controls of every print against those of the first.

A print that differs from what was read before by more than a tolerance begins a new **state** of
the pair; later prints join the state that they agree with, so a device that comes back to an
earlier one is known again.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.colour.readings import Readings
from inkaccord.knowledge.evidence import builds_read, joined, known_for
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.planning.plan import FEWEST
from inkaccord.shelf.kept import KeptReadings

if TYPE_CHECKING:
    from inkaccord.colour.press.drift import Wandering


@dataclass(frozen=True)
class Compared:
    """The controls of one print beside those of the print that its state began with.

    Where a print began a new state, it is compared with the state before.
    """

    sheet: str
    day: datetime.date
    since_sheet: str
    since: datetime.date
    apart: Wandering
    beyond: bool
    """Whether they lie farther apart than the tolerance, and it is no noise."""


@dataclass(frozen=True)
class Course:
    """What of a pair's readings holds today.

    Attributes
    ----------
    now
        The readings of the state that the pair is in.
    before
        Readings from before it drifted into that state; empty for a steady pair.
    compared
        Every comparison of controls, the oldest first.
    left_behind
        Whether there are readings from before a drift, whether or not they still serve.
    """

    now: tuple[KeptReadings, ...] = ()
    before: tuple[KeptReadings, ...] = ()
    compared: tuple[Compared, ...] = ()
    left_behind: bool = False

    @property
    def drifted(self) -> bool:
        """Whether the pair has left the state that earlier readings are of."""
        return bool(self.before)

    @property
    def read_anew(self) -> bool:
        """Whether enough was read of today's state to know it by itself."""
        return is_full(self.now)

    @property
    def event(self) -> Compared | None:
        """The comparison that showed the last drift."""
        return next((it for it in reversed(self.compared) if it.beyond), None)


@dataclass
class _Print:
    """One print of a sheet, read on one day, perhaps in several files."""

    records: list[KeptReadings]
    controls: Readings | None = None

    @property
    def sheet(self) -> str:
        return self.records[0].sheet.id

    @property
    def day(self) -> datetime.date:
        return self.records[0].day


@dataclass
class _State:
    """Prints that agree with the first of them."""

    prints: list[_Print] = field(default_factory=list)

    @property
    def first(self) -> _Print | None:
        return next((it for it in self.prints if it.controls is not None), None)

    @property
    def records(self) -> tuple[KeptReadings, ...]:
        return tuple(record for it in self.prints for record in it.records)


def follow(kept: Sequence[KeptReadings], tolerance: float) -> Course:
    """Follow a pair's readings from print to print.

    Parameters
    ----------
    kept
        All readings of one pair that are in use.
    tolerance
        Root mean square ΔE00 of the controls, the readings' noise taken off, that counts as drift.

    Raises
    ------
    OrderError
        ``mixed-conditions`` or ``mixed-drive``: such readings can't be compared.
    """
    joined(kept)  # refuses what can't be compared, whatever its order
    states = [_State()]
    compared: list[Compared] = []
    current = 0
    for one in _prints(kept):
        if one.controls is None:
            _home(states, states[current], one.sheet).prints.append(one)
            continue
        seen = _compare(one, states[current], tolerance)
        if seen is not None:
            compared.append(seen)
            if seen.beyond:
                current = _elsewhere(one, states, current, tolerance)
        states[current].prints.append(one)
    now = states[current].records
    return Course(
        now=now,
        before=_before(states, current),
        compared=tuple(compared),
        left_behind=current > 0,
    )


def known_today(
    sheet: SampleSheet, kept: Sequence[KeptReadings], tolerance: float
) -> tuple[SheetReadings, ...]:
    """Return what is known of a sheet's swatches, as :func:`known_for` does, drift left behind.

    The sheet's own readings come in any case: to compare with them is the reader's business.
    """
    holds = {it.digest for it in follow(kept, tolerance).now}
    return known_for(sheet, [it for it in kept if it.sheet.id == sheet.id or it.digest in holds])


def compared_of(
    sheet: SampleSheet, kept: Sequence[KeptReadings], tolerance: float
) -> Compared | None:
    """Return how the newest print of a sheet compares; None where it has nothing to compare with.

    ``kept`` and ``tolerance`` as for :func:`follow`, which it raises as.
    """
    compared = follow(kept, tolerance).compared
    return next((one for one in reversed(compared) if one.sheet == sheet.id), None)


def is_full(records: Iterable[KeptReadings]) -> bool:
    """Tell whether readings are of so many swatches beside the controls that they stand alone."""
    records = tuple(records)
    controls = {it for record in records for it in control_builds(record.sheet.drive)}
    return len(set(builds_read(records)) - controls) >= FEWEST


def _before(states: Sequence[_State], current: int) -> tuple[KeptReadings, ...]:
    """Return what a drifted pair can be re-anchored from: the newest earlier state in full."""
    earlier = [state.records for state in states[:current]]
    full = [records for records in earlier if is_full(records)]
    if full:
        return full[-1]
    if is_full(states[current].records):
        return ()
    return tuple(record for records in earlier for record in records)


def _prints(kept: Sequence[KeptReadings]) -> list[_Print]:
    """Return the prints in the order of their days."""
    found: dict[tuple[datetime.date, str], _Print] = {}
    for record in sorted(kept, key=lambda it: (it.day, it.recorded_at, it.digest)):
        found.setdefault((record.day, record.sheet.id), _Print([])).records.append(record)
    for one in found.values():
        one.controls = _controls(one.records)
    return list(found.values())


def _controls(records: Sequence[KeptReadings]) -> Readings | None:
    """Return the readings of the control builds in some records; None where there are none."""
    readings = joined(records)
    if readings is None:
        return None
    wanted = np.array([build.values for build in control_builds(readings.drive)])
    are = (np.abs(readings.builds[:, None, :] - wanted) < 1e-6).all(axis=2).any(axis=1)
    if not are.any():
        return None
    return Readings(
        drive=readings.drive,
        builds=readings.builds[are],
        xyz=readings.xyz[are],
        sheet=readings.sheet[are],
        noise=readings.noise[are],
        conditions=readings.conditions,
    )


def _elsewhere(one: _Print, states: list[_State], current: int, tolerance: float) -> int:
    """Return the newest other state that a print agrees with; a new one if none."""
    for at in reversed(range(len(states))):
        compared = None if at == current else _compare(one, states[at], tolerance)
        if compared is not None and not compared.beyond:
            return at
    states.append(_State())
    return len(states) - 1


def _home(states: Sequence[_State], current: _State, sheet: str) -> _State:
    """Return the state that a print without controls belongs to: its sheet's, if one has it."""
    return next(
        (it for it in reversed(states) if any(one.sheet == sheet for one in it.prints)), current
    )


def _compare(one: _Print, state: _State, tolerance: float) -> Compared | None:
    """Compare a print with the first of a state; None where they have no control in common."""
    first = state.first
    if first is None or first.controls is None or one.controls is None:
        return None
    shared = (first.controls.builds[:, None, :] == one.controls.builds).all(axis=2)
    if not shared.any():
        return None
    from inkaccord.colour.press.drift import drift_between  # noqa: PLC0415 - slow to load

    apart = drift_between(first.controls, one.controls)
    return Compared(
        sheet=one.sheet,
        day=one.day,
        since_sheet=first.sheet,
        since=first.day,
        apart=apart,
        beyond=apart.typical > tolerance and apart.seen,
    )
