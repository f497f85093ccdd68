"""What is known of a pair that has drifted: which readings, picks and builds still count."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.drift import Drifted
from inkaccord.colour.press.model import fit
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge, paper_readings
from inkaccord.sheets.model import Pick, Reading, SampleSheet, SheetReadings
from inkaccord.shelf.kept import KeptPick, KeptReadings
from recording_kit import DATE, PAIR, printed_lab, sheet_of

FULL, CONTROLS, ANEW = sheet_of(60), sheet_of(12, name="C5C-C5C"), sheet_of(40, name="N7N-N7N")
LATER = DATE + datetime.timedelta(days=120)
NOON = datetime.datetime(2026, 3, 14, 12, tzinfo=datetime.UTC)


def stronger(builds: np.ndarray) -> np.ndarray:
    """Print a fifth more ink than the printer did before, solids too."""
    return printed_lab(builds * 1.2, Drive.CMYK, seed=7)


def kept(
    sheet: SampleSheet, day: datetime.date, *, drifted: bool = False, odd: str = ""
) -> KeptReadings:
    builds = np.array([swatch.build.values for swatch in sheet.swatches])
    lab = stronger(builds) if drifted else printed_lab(builds, Drive.CMYK, seed=1)
    lab += np.array([[25.0 * (swatch.id == odd), 0, 0] for swatch in sheet.swatches])
    read = tuple(
        Reading(swatch=swatch.id, lab=tuple(row))
        for swatch, row in zip(sheet.swatches, lab.tolist(), strict=True)
    )
    readings = SheetReadings(sheet=sheet.id, readings=read, read_on=day)
    return KeptReadings(
        digest=f"{sheet.id} {day}", sheet=sheet, readings=readings, recorded_at=NOON
    )


def known(
    *records: KeptReadings, re_anchors: bool = True, picked_on: SampleSheet | None = None
) -> PairKnowledge:
    picks = [
        KeptPick(
            digest="p",
            sheet=sheet,
            pick=Pick(sheet=sheet.id, colour="kelp", swatch="B5", sure=0.9),
            recorded_at=NOON,
        )
        for sheet in (picked_on,)
        if sheet is not None
    ]
    return PairKnowledge(
        pair=PAIR,
        drive=Drive.CMYK,
        policy=InkPolicy(total_ink_limit=300.0),
        paper=(92.0, 0.0, 5.0),
        kept=records,
        picks=tuple(picks),
        sheets=tuple(record.sheet for record in records),
        course=follow(records, 2.0),
        re_anchors=re_anchors,
    )


BEFORE, CHECK = kept(FULL, DATE), kept(CONTROLS, LATER, drifted=True)
WHOLE = kept(ANEW, LATER, drifted=True)
PROBES = np.array([[60, 20, 70, 10], [20, 60, 30, 5], [70, 60, 10, 0], [15, 10, 40, 20]], float)


def test_a_re_anchored_pair_prints_as_it_does_now() -> None:
    it = known(BEFORE, CHECK)
    assert isinstance(it.model, Drifted)
    truth = stronger(PROBES)
    was = np.median(delta_e_2000(known(BEFORE).model.predict_lab(PROBES), truth))
    now = delta_e_2000(it.model.predict_lab(PROBES), truth)
    assert np.median(now) < 0.6 * was
    assert np.all(now < it.model.bound(PROBES))
    assert it.is_read
    assert it.read_sheets == (FULL.id, CONTROLS.id)
    assert f"sheet {CONTROLS.id}, read {LATER}" in it.stale


def test_only_what_was_read_since_is_known() -> None:
    it = known(BEFORE, CHECK)
    assert set(it.known_builds()) == {swatch.build for swatch in CONTROLS.swatches}
    assert len(known(BEFORE).known_builds()) == 60
    assert not known(BEFORE).stale


def test_a_device_that_asks_for_a_new_sheet_waits_for_it() -> None:
    it = known(BEFORE, CHECK, re_anchors=False)
    assert it.waits_for_new_sheet
    assert not it.is_read
    anew = known(BEFORE, CHECK, WHOLE, re_anchors=False)
    assert anew.is_read
    assert anew.before is None
    assert not anew.stale
    assert anew.read_sheets == (CONTROLS.id, ANEW.id)
    assert np.median(delta_e_2000(anew.model.predict_lab(PROBES), stronger(PROBES))) < 1.5


def test_a_suspect_reading_is_named_by_its_own_sheet() -> None:
    odd = kept(ANEW, LATER, drifted=True, odd="D4")
    named = [it.message for it in known(BEFORE, CHECK, odd).reading_findings()]
    assert any(f"swatch D4 of sheet {ANEW.id}" in text for text in named)


def test_a_suspect_reading_that_was_read_again_later_is_not_told_of() -> None:
    """Last season's controls, read again on this season's sheet, were to be read a second time."""
    odd = kept(FULL, DATE, odd="X2")
    assert any("swatch X2 of" in it.message for it in known(odd).reading_findings())
    again = known(odd, kept(CONTROLS, LATER))
    assert len(again.model.suspects) == 1  # it counts for little, as before
    assert not again.reading_findings()
    at_once = kept(CONTROLS, DATE).model_copy(update={"recorded_at": NOON + datetime.timedelta(1)})
    assert not known(odd, at_once).reading_findings()
    # The newest is told of, whatever was read before.
    newest = known(kept(FULL, DATE), kept(CONTROLS, LATER, odd="X2")).reading_findings()
    assert any(f"swatch X2 of sheet {CONTROLS.id}" in it.message for it in newest)


@pytest.mark.parametrize("re_anchors", [True, False])
def test_a_pick_from_before_keeps_its_colour_but_not_its_build(re_anchors: bool) -> None:
    it = known(BEFORE, CHECK, WHOLE, re_anchors=re_anchors, picked_on=FULL)
    picked = it.picked("kelp")
    assert picked is not None
    assert picked.outdated
    build = FULL.swatch("B5")
    assert build is not None
    then = printed_lab(np.array([build.build.values]), Drive.CMYK)[0]
    # Among swatches that lie far apart it is somewhere round the one that was picked.
    assert delta_e_2000(np.array(picked.lab), then) < 4.0
    fresh = known(BEFORE, CHECK, WHOLE, re_anchors=re_anchors, picked_on=ANEW).picked("kelp")
    assert fresh is not None
    assert not fresh.outdated


def test_a_steady_pair_has_nothing_behind_it() -> None:
    it = known(BEFORE, kept(CONTROLS, LATER))
    assert (it.before, it.model_before, it.stale) == (None, None, "")
    assert len(it.known_builds()) == 72
    assert it.lab_of(Build.cmyk(0, 0, 0, 0))[0] > 85


def test_another_light_is_re_anchored_too() -> None:
    """What the spectra give under tungsten, before and after more ink."""
    nm = np.arange(400.0, 701.0, 20.0)
    middles = np.array([640.0, 540.0, 440.0])
    bells = 1.4 * np.exp(-(((nm - middles[:, None]) / 70.0) ** 2))
    absorbs = np.vstack([bells, np.full(len(nm), 1.6)])

    def spectra_of(builds: np.ndarray, more: float = 1.0) -> np.ndarray:
        return np.asarray(0.85 * 10.0 ** (-more * (builds / 100) @ absorbs))

    def spectral(sheet: SampleSheet, day: datetime.date, more: float) -> KeptReadings:
        plain = kept(sheet, day)
        builds = np.array([swatch.build.values for swatch in sheet.swatches])
        spectra = spectra_of(builds, more)
        labs = spectra_to_lab(spectra, nm)
        read = tuple(
            Reading(swatch=swatch.id, lab=tuple(lab), spectrum=tuple(spectrum))
            for swatch, lab, spectrum in zip(
                sheet.swatches, labs.tolist(), spectra.tolist(), strict=True
            )
        )
        readings = plain.readings.model_copy(
            update={"readings": read, "wavelengths_nm": tuple(nm.tolist())}
        )
        return plain.model_copy(update={"readings": readings})

    it = known(spectral(FULL, DATE, 1.0), spectral(CONTROLS, LATER, 1.2))
    assert it.course.drifted
    model = it.model_under("A")
    assert isinstance(model, Drifted)
    truth = spectra_to_lab(spectra_of(PROBES, 1.2), nm, light="A")
    earlier = known(spectral(FULL, DATE, 1.0)).model_under("A")
    assert earlier is not None
    was = delta_e_2000(earlier.predict_lab(PROBES), truth)
    assert np.median(delta_e_2000(model.predict_lab(PROBES), truth)) < 0.6 * np.median(was)
    assert known(BEFORE, CHECK).model_under("A") is None  # no spectra, no other light


@pytest.mark.parametrize("drive", list(Drive))
@pytest.mark.parametrize("paper", [(25.0, 2.0, -8.0), (65.7, 10.8, 23.1), (95.0, 1.0, -3.0)])
def test_a_stock_that_was_told_is_taken_as_told(
    drive: Drive, paper: tuple[float, float, float]
) -> None:
    model = fit(paper_readings(drive, paper))
    assert delta_e_2000(model.paper_lab, np.array(paper)) < 0.5
