"""What is known of the example's pairs: its invented printers print, and are read.

They stand in for the press models too, so that nothing has to be fitted.
"""

import datetime
import importlib.util
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.files import sha256_of
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.order.model import Order
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import (
    Pick,
    Purpose,
    Reading,
    SampleSheet,
    SheetReadings,
    Swatch,
)
from inkaccord.shelf.kept import KeptPick, KeptReadings
from inkaccord.sizes import Size

EXAMPLE = Path(__file__).parents[1] / "jobs_example"
FIRST_DAY, SECOND_DAY = datetime.date(2026, 4, 9), datetime.date(2026, 9, 21)
TWICE, PICKED_ON = "millrace-press", "north-quay-press"


@dataclass(frozen=True, eq=False)
class PrinterModel:
    """An invented printer in the place of a fitted press model."""

    device: Any
    stock: Any
    drive: Drive

    @property
    def paper_lab(self) -> Array:
        blank = [[0.0] * 4] if self.drive is Drive.CMYK else [[255.0] * 3]
        return np.asarray(self.predict_lab(np.array(blank))[0])

    def predict_lab(self, builds: Array) -> Array:
        return np.asarray(printers().true_lab(self.device, self.stock, np.asarray(builds)))

    def bound(self, builds: Array) -> Array:
        return np.full(len(builds), 0.7)


@cache
def printers() -> ModuleType:
    """Return the example's invented printers."""
    name = "example_printers_of_report_kit"
    spec = importlib.util.spec_from_file_location(name, EXAMPLE / "printers.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def model_of(pair: Pair) -> PrinterModel:
    """Return the invented printer of a pair as a model."""
    device = printers().DEVICES[pair.device]
    return PrinterModel(device, printers().STOCKS[pair.stock], device.drive)


def sample_sheet(pair: Pair, name: str) -> SampleSheet:
    """Return a sheet of controls and a spread of builds."""
    drive = model_of(pair).drive
    full = 100.0 if drive is Drive.CMYK else 255.0
    dice = np.random.default_rng(7)
    rows = np.round(dice.random((40, 4 if drive is Drive.CMYK else 3)) * full)
    if drive is Drive.CMYK:
        rows[:, 3] = np.where(dice.random(40) < 0.6, 0, rows[:, 3])
    builds = (*control_builds(drive), *(Build(drive=drive, values=tuple(r)) for r in rows.tolist()))
    controls = len(control_builds(drive))
    return SampleSheet(
        id=name,
        pair=pair,
        drive=drive,
        purpose=Purpose.SCOUTING,
        swatches=tuple(
            Swatch(
                id=f"X{at + 1}" if at < controls else f"A{at - controls + 1}",
                build=build,
                control=at < controls,
            )
            for at, build in enumerate(builds)
        ),
        size=Size.parse("letter"),
        order="members-evening",
        date=FIRST_DAY,
    )


def read_sheet(sheet: SampleSheet, day: datetime.date) -> KeptReadings:
    """Print and read a sheet on an invented printer."""
    model = model_of(sheet.pair)
    spectra = printers().read_sheet(
        model.device,
        model.stock,
        np.array([it.build.values for it in sheet.swatches]),
        sheet_id=f"{sheet.id} {day}",
        swatch_ids=[it.id for it in sheet.swatches],
        day=day,
    )
    labs = np.round(spectra_to_lab(spectra, printers().WAVELENGTHS_NM), 2)
    readings = SheetReadings(
        sheet=sheet.id,
        readings=tuple(
            Reading(swatch=it.id, lab=tuple(lab))
            for it, lab in zip(sheet.swatches, labs.tolist(), strict=True)
        ),
        read_on=day,
    )
    return KeptReadings(
        digest=sha256_of(readings.model_dump_json().encode()),
        sheet=sheet,
        readings=readings,
        recorded_at=datetime.datetime.combine(day, datetime.time(12), datetime.UTC),
    )


def knowledge(order: Order, pair: Pair) -> PairKnowledge:
    """Return what is known of a pair of the example."""
    model = model_of(pair)
    names = {name: f"{chr(65 + at)}7Q-XM{at}" for at, name in enumerate(printers().DEVICES)}
    sheet = sample_sheet(pair, names[pair.device])
    days = (FIRST_DAY, SECOND_DAY) if pair.device == TWICE else (SECOND_DAY,)
    kept = () if pair.device == "laser" else tuple(read_sheet(sheet, day) for day in days)
    pick = KeptPick(
        digest="p" * 64,
        sheet=sheet,
        pick=Pick(sheet=sheet.id, colour="slate", swatch="A7", sure=0.7, picked_on=SECOND_DAY),
        recorded_at=datetime.datetime(2026, 9, 21, 12, tzinfo=datetime.UTC),
    )
    known = PairKnowledge(
        pair=pair,
        drive=model.drive,
        policy=InkPolicy(total_ink_limit=300.0),
        paper=(94.0, 0.0, -2.0),
        kept=kept,
        course=follow(kept, 2.0),
        picks=(pick,) if pair.device == PICKED_ON else (),
        sheets=(sheet,),
    )
    known.__dict__["model"] = model  # instead of the fit that cached_property would make
    return known
