"""What the shelf knows of one pair, and the press model that follows from it."""

from __future__ import annotations

import datetime
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.diagnostics import Diagnostic
from inkaccord.knowledge.course import Course, follow
from inkaccord.knowledge.evidence import builds_read, joined
from inkaccord.knowledge.holdings import ENOUGH, Holdings
from inkaccord.order.answers import SwatchName
from inkaccord.order.model import Order
from inkaccord.order.vendors import WhenDrifted
from inkaccord.recall.recall import Recall, computed
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.shelf.kept import KeptPick, KeptReadings, Move
from inkaccord.shelf.whereabouts import sent_of
from inkaccord.units import mm

if TYPE_CHECKING:  # slow to load: models, which nobody may ask for
    from inkaccord.colour.belief import Told
    from inkaccord.colour.press.drift import Drifted
    from inkaccord.colour.press.model import PressModel
    from inkaccord.knowledge.picking import Picked

DEFAULT_INK_LIMIT = 300.0
"""Total ink where a device states none: the SWOP specification's limit for large areas."""
UNREAD_PAPER = (94.0, 0.0, -2.0)
"""CIELAB taken for a stock that states no colour and was never read: a bright white paper."""


@dataclass(frozen=True, eq=False)
class PairKnowledge:
    """All that is known of a pair.

    Attributes
    ----------
    kept, picks
        Every record of readings in use, and what was picked by eye.
    sheets
        Every sheet in use, also those that wait to be read.
    course
        Which of the records hold today, as the controls tell.
    re_anchors
        Whether a pair that has drifted is re-anchored; else it counts as unread until it has been
        read anew.
    """

    pair: Pair
    drive: Drive
    policy: InkPolicy
    paper: Lab
    kept: tuple[KeptReadings, ...]
    picks: tuple[KeptPick, ...]
    sheets: tuple[SampleSheet, ...]
    course: Course
    kin: PressModel | None = None
    """The model of the same device on another stock, where that was read."""
    re_anchors: bool = True
    printed: frozenset[str] = frozenset()
    """Ids of the sheets that a person said are printed, or sent to be."""
    moves: Mapping[str, Sequence[Move]] = field(default_factory=dict)
    """Where sheets went on paper, by id."""
    withdrawn: frozenset[str] = frozenset()
    """Ids of the sheets that no order asks for any more."""
    aperture_mm: float = 0.0
    """What the swatches of a sheet have to hold, where the order says it."""
    decided: Mapping[str, SwatchName] = field(default_factory=dict)
    """The picked swatches that the order says are the thing, by colour."""
    aged: str = ""
    """Why the readings are too old to be trusted alone; empty while they are not."""
    looks_aged: str = ""
    """The same of what the eye picked, where nothing was read."""
    recall: Recall = computed
    """How what follows from the readings alone is found: computed, or recalled."""
    _picked: dict[tuple[Hashable, ...], Picked | None] = field(default_factory=dict, repr=False)
    _under_light: dict[str, PressModel | Drifted | None] = field(default_factory=dict, repr=False)

    @cached_property
    def before(self) -> Readings | None:
        """Readings of before the pair drifted that it is re-anchored from; None for a steady one.

        Where the device asks for a new sheet they are kept as an estimate only, and are done with
        once it has been read.
        """
        if self.course.read_anew and not self.re_anchors:
            return None
        return joined(self.course.before)

    @cached_property
    def now(self) -> Readings | None:
        """Readings of the state that the pair is in; None where there are none."""
        return joined(self.course.now)

    @cached_property
    def readings(self) -> Readings | None:
        """Every reading that counts; None where there is none."""
        return joined(self._counting)

    @property
    def _counting(self) -> tuple[KeptReadings, ...]:
        """The records behind the model, in the order that it was fitted to."""
        return (*(self.course.before if self.before is not None else ()), *self.course.now)

    @property
    def is_read(self) -> bool:
        """Whether there are readings enough to print by."""
        if self.waits_for_new_sheet:
            return False
        return sum(len(it.readings.readings) for it in self._counting) >= ENOUGH

    @property
    def waits_for_new_sheet(self) -> bool:
        """Whether it has drifted, and its device asks for a new sheet that is not read yet."""
        return self.course.drifted and not self.re_anchors and not self.course.read_anew

    @property
    def drift(self) -> str:
        """Why earlier readings no longer hold as they are; empty for a pair that is steady."""
        seen = self.course.event
        if seen is None or not self.course.drifted or self.course.read_anew:
            return ""
        return (
            f"the controls of sheet {seen.sheet}, read {seen.day}, lie {seen.apart.typical:.1f} "
            f"ΔE00 from those of sheet {seen.since_sheet}, read {seen.since}"
        )

    @property
    def stale(self) -> str:
        """Why the readings can't be trusted alone any more; empty while they can."""
        return self.drift or self.aged

    @cached_property
    def model(self) -> PressModel | Drifted:
        """The press model: of the readings, or of the paper and experience alone."""
        if self.now is None:
            paper = paper_readings(self.drive, self.paper)
            return self._fitted(paper)
        if self.before is None or self.model_before is None:
            return self._fitted(self.now)
        return self._re_anchored(self.model_before, self.before, self.now)

    @property
    def other_models(self) -> tuple[Predictor, ...]:
        """What the pair may print as well, while no reading of it or of its kin tells."""
        unknown = self.now is None and self.kin is None
        if not unknown:
            return ()
        from inkaccord.colour.drivers import other_drivers  # noqa: PLC0415 - as above

        return other_drivers(self.drive, self.paper)

    @cached_property
    def model_before(self) -> PressModel | None:
        """The model of the pair before it drifted; None for a steady one."""
        before = joined(self.course.before)
        return None if before is None else self._fitted(before)

    @cached_property
    def model_without_newest(self) -> PressModel | None:
        """The model as it was before the newest print was read; None where that began anew."""
        if self.before is not None or not self.course.compared or self.course.compared[-1].beyond:
            return None
        newest = self.course.compared[-1]
        others = [
            record
            for record in self.course.now
            if (record.sheet.id, record.day) != (newest.sheet, newest.day)
        ]
        earlier = joined(others)
        return None if earlier is None else self._fitted(earlier)

    @property
    def paper_lightness(self) -> float:
        """L* of the bare stock: as read, or as the order says."""
        return float(self.model.paper_lab[0]) if self.is_read else self.paper[0]

    def reading_findings(self) -> tuple[Diagnostic, ...]:
        """Return what the model says of its readings; suspect ones are named by their swatch.

        One whose build was read once more later is not told of: what was to be done has been done,
        and last season's print may have been another.
        """
        if not self.is_read:
            return ()
        rows = [
            (record, reading.swatch, record.sheet.swatch(reading.swatch))
            for record in self._counting
            for reading in record.readings.readings
        ]
        newest: dict[Build, tuple[datetime.date, datetime.datetime]] = {}
        for record, _, swatch in rows:
            if swatch is not None:
                read = (record.day, record.recorded_at)
                newest[swatch.build] = max(read, newest.get(swatch.build, read))
        suspects = {suspect.finding(): suspect for suspect in self.model.suspects}
        found = []
        for finding in self.model.findings:
            where = ""
            if finding in suspects:
                record, name, swatch = rows[suspects[finding].index]
                if swatch is not None and newest[swatch.build] > (record.day, record.recorded_at):
                    continue
                where = f"swatch {name} of sheet {record.sheet.id}: "
            message = f"{self.pair}: {where}{finding.message}"
            found.append(finding.model_copy(update={"message": message}))
        return tuple(found)

    def model_under(self, light: str) -> PressModel | Drifted | None:
        """Return a model whose CIELAB is that under another light; None without spectra.

        It is fitted once, to what the spectra give under that light, each relative to its white.
        Raises OrderError for a light whose spectrum is not known.
        """
        if light not in self._under_light:
            self._under_light[light] = self._fitted_under(light)
        return self._under_light[light]

    def _fitted_under(self, light: str) -> PressModel | Drifted | None:
        if not self.is_read or self.now is None:
            return None
        before, now = (None if it is None else _under(it, light) for it in (self.before, self.now))
        if now is None or (before is None) != (self.before is None):
            return None
        if before is None:
            return self._fitted(now, of_kin=False)
        return self._re_anchored(self._fitted(before, of_kin=False), before, now)

    def _fitted(self, readings: Readings, *, of_kin: bool = True) -> PressModel:
        from inkaccord.colour.press.model import fit  # noqa: PLC0415 - as above

        return self.recall(fit, readings, prior=self.kin if of_kin else None)

    def _re_anchored(self, model: PressModel, before: Readings, now: Readings) -> Drifted:
        from inkaccord.colour.press.drift import re_anchor  # noqa: PLC0415 - as above

        return self.recall(re_anchor, model, before, now)

    @property
    def last_read(self) -> datetime.date | None:
        """When the newest readings were made, as far as that is known."""
        return max((it.day for it in self.kept), default=None)

    @property
    def read_sheets(self) -> tuple[str, ...]:
        """Ids of the sheets whose readings count."""
        return tuple(dict.fromkeys(it.sheet.id for it in self._counting))

    @property
    def picked_sheets(self) -> tuple[str, ...]:
        """Ids of the sheets with picks."""
        return tuple(dict.fromkeys(it.sheet.id for it in self.picks))

    @property
    def last_looked_at(self) -> str:
        """Id of the sheet that was looked at last, on a pair with picks."""
        return max(self.picks, key=lambda it: it.day).sheet.id

    def known_builds(self) -> tuple[Build, ...]:
        """Return every build that has been read since the pair last drifted."""
        return builds_read(self.course.now)

    def waiting(self) -> tuple[SampleSheet, ...]:
        """Return the sheets that were planned for orders and have neither readings nor picks.

        A withdrawn one waits no more. A swatch set is no part of an order: it may lie unread as
        long as its owner likes. A sheet of controls tells nothing but drift, and stands aside: see
        :meth:`waiting_controls`.
        """
        aside = {Purpose.SWATCH_SET, Purpose.CONTROLS}
        return tuple(it for it in self._readable_sheets() if it.purpose not in aside)

    def still_to_look_at(self, colour: str) -> tuple[SampleSheet, ...]:
        """Return the sheets that were looked at, but not for a colour that they offer the eye."""
        looked = {it.sheet.id: it.sheet for it in self.picks}
        done = {it.sheet.id for it in self.picks if it.pick.colour == colour}
        done.update(self.read_sheets, self.withdrawn)
        return tuple(
            sheet
            for name, sheet in looked.items()
            if name not in done and any(it.for_eye and it.colour == colour for it in sheet.swatches)
        )

    def waiting_controls(self) -> tuple[SampleSheet, ...]:
        """Return the sheets of controls that wait to be read."""
        return tuple(it for it in self._readable_sheets() if it.purpose is Purpose.CONTROLS)

    def too_small(self) -> tuple[SampleSheet, ...]:
        """Return the sheets for orders that wait in vain: the instrument can't read them.

        One that is marked as printed waits on; the eye may judge it.
        """
        readable = {sheet.id for sheet in self._readable_sheets()}
        return tuple(
            sheet
            for sheet in self._unread_sheets()
            if sheet.id not in readable and sheet.purpose is not Purpose.SWATCH_SET
        )

    def _readable_sheets(self) -> Iterator[SampleSheet]:
        """Yield the unread sheets whose swatches hold the instrument's aperture, or that exist."""
        for sheet in self._unread_sheets():
            if sheet.settings.aperture_mm >= self.aperture_mm or sheet.id in self.printed:
                yield sheet

    def _unread_sheets(self) -> tuple[SampleSheet, ...]:
        done = {*(it.sheet.id for it in self.kept), *self.picked_sheets, *self.withdrawn}
        return tuple(sheet for sheet in self.sheets if sheet.id not in done)

    def lab_of(self, build: Build) -> Array:
        """Return the predicted CIELAB (3,) of a build."""
        lab: Array = self.model.predict_lab(np.array([build.values]))[0]
        return lab

    def bound_of(self, build: Build) -> float:
        """Return the 95 % bound, ΔE00, on that prediction."""
        return float(self.model.bound(np.array([build.values]))[0])

    def predates_drift(self, sheets: Iterable[str]) -> bool:
        """Tell whether all of some sheets were printed before the pair drifted."""
        earlier = {it.sheet.id for it in self.course.before}
        return set(sheets) <= earlier - {it.sheet.id for it in self.course.now}

    def picked(self, colour: str, told: Told | None = None) -> Picked | None:
        """Return what was picked by eye for a colour on this pair, all picks weighed once.

        ``told`` is where the thing lies here by what was found out elsewhere.
        """
        from inkaccord.colour.picks import guides  # noqa: PLC0415 - as above
        from inkaccord.knowledge.picking import weigh_picks  # noqa: PLC0415 - as above

        told = told if guides(told) else None
        asked = (colour, None if told is None else (*told.lab.tolist(), told.error))
        if asked not in self._picked:
            self._picked[asked] = weigh_picks(self, colour, told)
        return self._picked[asked]


def _under(readings: Readings, light: str) -> Readings | None:
    """Return readings as they look under another light; None without spectra."""
    if readings.spectra is None or readings.wavelengths is None:
        return None
    lab = spectra_to_lab(readings.spectra, readings.wavelengths, light=light)
    return replace(readings, xyz=lab_to_xyz(lab), spectra=None, wavelengths=None)


def paper_readings(drive: Drive, paper: Lab) -> Readings:
    """Return what is known of a pair that was never printed: the colour of its paper."""
    blank = (0.0, 0.0, 0.0, 0.0) if drive is Drive.CMYK else (255.0, 255.0, 255.0)
    return Readings(
        drive=drive,
        builds=np.array([blank]),
        xyz=lab_to_xyz(np.array([paper])),
        sheet=np.zeros(1, dtype=np.int_),
        # As good as a reading, or a dark stock would be taken for a pale one that was misread.
        noise=np.array([0.5]),
    )


def learn_pair(order: Order, holdings: Holdings, pair: Pair, recall: Recall) -> PairKnowledge:
    """Return what is known of a pair of an order. Raises OrderError for mixed conditions."""
    device = order.device(pair.device)
    stock = order.stocks.get(pair.stock)
    evidence = holdings.of(pair)
    kept = evidence.readings
    return PairKnowledge(
        pair=pair,
        drive=device.drive,
        policy=InkPolicy(total_ink_limit=device.ink_limit or DEFAULT_INK_LIMIT),
        paper=(stock.ground if stock and stock.ground else UNREAD_PAPER),
        kept=kept,
        picks=evidence.picks,
        sheets=tuple(it.sheet for it in evidence.sheets),
        printed=frozenset(
            one.sheet.id for one in evidence.sheets if one.printed_at or sent_of(one.moves)
        ),
        moves={it.sheet.id: it.moves for it in evidence.sheets},
        withdrawn=frozenset(it.sheet.id for it in evidence.sheets if it.withdrawn_at),
        aperture_mm=round(mm(order.aperture or 0.0), 3),
        kin=holdings.kin_model(pair, recall),
        course=follow(kept, device.drift_tolerance),
        re_anchors=device.when_drifted is WhenDrifted.RE_ANCHOR,
        decided={
            name: SwatchName.parse(brand.aim.picked_on)
            for name, brand in order.colours.items()
            if brand.aim.picked_on is not None
        },
        aged=_aged("read", (it.day for it in kept), order.date, device.stale_after_days),
        looks_aged=""
        if kept
        else _aged(
            "looked at",
            (it.day for it in evidence.picks),
            order.date,
            device.stale_after_days,
        ),
        recall=recall,
    )


def _aged(done: str, days: Iterable[datetime.date], today: datetime.date, trusted: int) -> str:
    """Say why what was last done on one of these days is too old on the order's, or nothing."""
    age = (today - max(days, default=today)).days
    said = f"last {done} {age} days before the order; trusted for {trusted} days"
    return said if age > trusted else ""
