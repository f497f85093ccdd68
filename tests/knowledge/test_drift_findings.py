"""What a run says of a pair that has drifted."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.knowledge.drift import drift_findings, steadiness, wider_findings
from inkaccord.knowledge.holdings import gather
from inkaccord.knowledge.values import Evidence, Translation
from inkaccord.order.loading import LoadedOrder, load_order
from inkaccord.plugins import load_plugins
from inkaccord.sheets.model import Pick, Purpose, Reading, SampleSheet, SheetReadings
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.testing import draw_artwork, plain_press
from inkaccord.workbench import Workbench

PAIR = Pair.parse("press@white")
ORDER = """
order: drift
date: 2026-10-05
suites: 5
colours:
  leaf: {aim: {build: cmyk 75 20 80 10, on: press@white}, in_artwork: [cmyk 75 20 80 10]}
keep: [cmyk 0 0 0 100]
stocks:
  white: {size: letter}
vendors:
  studio:
    devices: {press: {sheets: [letter], stale_after_days: 100}}
pieces:
  card: {artwork: card.pdf, trim: 5in x 7in, device: press, stock: white}
"""


@pytest.fixture
def loaded(tmp_path) -> LoadedOrder:
    (tmp_path / "order.yaml").write_text(ORDER, "utf-8")
    (tmp_path / "card.pdf").write_bytes(draw_artwork("5in x 7in"))
    return load_order(tmp_path / "order.yaml", load_plugins().vendor_kinds())


def sheet(purpose: Purpose) -> SampleSheet:
    builds = tuple(Build.cmyk(*row) for row in scouting_set(Drive.CMYK, InkPolicy(), 28).tolist())
    planned = plan_sheet(
        PAIR,
        purpose,
        [] if purpose is Purpose.CONTROLS else [SwatchGroup(builds=builds)],
        SheetFormat(size=Size.parse("letter")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 10, 5),
    )
    assert planned is not None
    return planned


def read(printed: SampleSheet, month: int, more: float) -> SheetReadings:
    builds = np.array([swatch.build.values for swatch in printed.swatches])
    lab = plain_press(builds * more)
    return SheetReadings(
        sheet=printed.id,
        readings=tuple(
            Reading(swatch=swatch.id, lab=tuple(row))
            for swatch, row in zip(printed.swatches, lab.tolist(), strict=True)
        ),
        read_on=datetime.date(2026, month, 1),
    )


def said(loaded: LoadedOrder, tmp_path, *months_and_ink: tuple[int, float]) -> dict[str, str]:
    """Return what is said, by code, after the pair was read in these months with so much ink."""
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        for number, (month, more) in enumerate(months_and_ink):
            printed = sheet(Purpose.CONTROLS if number else Purpose.SCOUTING)
            shelf.add_sheet(printed)
            shelf.record_readings(read(printed, month, more))
        bench = Workbench(loaded, gather(shelf, loaded.order, loaded.order.pairs_needed()))
        known = bench.pair(PAIR)
        told = steadiness(loaded.order, known)
        found = {
            it.code: f"{it.message}; {it.hint}" for it in drift_findings(loaded.order, known, bench)
        }
        return {"state": told.state if told else "", **found}


def test_a_pair_read_once_and_lately_is_not_spoken_of(loaded, tmp_path) -> None:
    assert said(loaded, tmp_path, (9, 1.0)) == {"state": ""}


def test_an_old_reading_is(loaded, tmp_path) -> None:
    told = said(loaded, tmp_path, (3, 1.0))
    assert set(told) == {"state", "stale-readings"}
    assert "last read 218 days before the order" in told["stale-readings"]


@pytest.mark.parametrize(
    ("days", "code"),
    [
        ((datetime.date(2026, 3, 1),), {"stale-looks"}),
        ((datetime.date(2026, 3, 1), datetime.date(2026, 9, 1)), set()),
    ],
)
def test_so_is_an_old_look_where_nothing_was_read(loaded, tmp_path, days, code) -> None:
    """Next year's order of somebody without an instrument went out as if no device drifted."""
    printed = sheet(Purpose.SCOUTING)
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        shelf.add_sheet(printed)
        shelf.record_picks(
            [Pick(sheet=printed.id, colour="leaf", swatch="A1", picked_on=day) for day in days]
        )
        bench = Workbench(loaded, gather(shelf, loaded.order, loaded.order.pairs_needed()))
        found = list(drift_findings(loaded.order, bench.pair(PAIR), bench))
    assert {it.code for it in found} == code
    assert all("last looked at 218 days before the order" in it.message for it in found)
    assert all(f"'inkaccord shelf draw {printed.id}'" in (it.hint or "") for it in found)


def test_controls_like_before_end_that(loaded, tmp_path) -> None:
    assert said(loaded, tmp_path, (3, 1.0), (9, 1.0)) == {"state": "steady"}


def test_a_drift_is_named_and_the_aim_that_went_with_it(loaded, tmp_path) -> None:
    told = said(loaded, tmp_path, (3, 1.0), (9, 0.85))
    assert set(told) == {"state", "drifted", "aim-moved"}
    assert told["state"] == "re-anchored"
    assert "(limit 2)" in told["drifted"]
    assert "the aim of leaf is what press@white prints" in told["aim-moved"]
    was = [float(x) for x in told["aim-moved"].split("[")[1].split("]")[0].split(",")]
    truth = plain_press(np.array([[75.0, 20.0, 80.0, 10.0]]))[0]
    assert delta_e_2000(np.array(was), truth) < 0.5


@pytest.mark.slow
def test_a_second_print_that_makes_less_sure_is_explained(loaded, tmp_path) -> None:
    """Five percent more ink, within what the device may wander by: but it does wander."""
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        for number, more in enumerate((1.0, 1.05)):
            printed = sheet(Purpose.CONTROLS if number else Purpose.SCOUTING)
            shelf.add_sheet(printed)
            shelf.record_readings(read(printed, 8 + number, more))
        bench = Workbench(loaded, gather(shelf, loaded.order, loaded.order.pairs_needed()))
        known = bench.pair(PAIR)
        build = Build.cmyk(75, 20, 80, 10)
        translation = Translation(
            colour="leaf",
            **PAIR.parts,
            build=build,
            evidence=Evidence.READ,
            aim_lab=None,
            predicted_lab=(40.0, -30.0, 20.0),
            delta_e_00=0.0,
            uncertainty=known.bound_of(build),
        )
        earlier = float(known.model_without_newest.bound(np.array([build.values]))[0])
        (finding,) = wider_findings(known, [translation])
    assert f"leaf ±{known.bound_of(build):.1f}, before ±{earlier:.1f}" in finding.message
    assert known.bound_of(build) > earlier
    apart = known.course.compared[-1].apart.typical
    assert 0.5 < apart < 2.0
    assert f"came out {apart:.1f} ΔE00" in finding.message
