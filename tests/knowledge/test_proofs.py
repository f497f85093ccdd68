"""What a proof swatch says of a build."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.proofs import Proof, proof_of, settled
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings, Swatch
from inkaccord.shelf.kept import KeptReadings
from recording_kit import DATE, PAIR, printed_lab, readings_of, sheet_of

AIM = (52.0, -20.0, 18.0)
NOON = datetime.datetime(2026, 3, 14, 12, tzinfo=datetime.UTC)


def kept(sheet: SampleSheet, readings: SheetReadings) -> KeptReadings:
    return KeptReadings(digest=sheet.id, sheet=sheet, readings=readings, recorded_at=NOON)


def knowledge(*proofs: KeptReadings) -> PairKnowledge:
    first = sheet_of(60)
    records = (kept(first, readings_of(first, read_on=DATE)), *proofs)
    return PairKnowledge(
        pair=PAIR,
        drive=Drive.CMYK,
        policy=InkPolicy(total_ink_limit=300.0),
        paper=(92.0, 0.0, 5.0),
        kept=records,
        picks=(),
        sheets=(first,),
        course=follow(records, 2.0),
    )


def proved(build: Build, shift: tuple[float, float, float] = (0, 0, 0)) -> KeptReadings:
    """Return the proof of a build, read so far from what the printer usually gives."""
    sheet = sheet_of(12, name="P5P-P5P").model_copy(update={"purpose": Purpose.PROOF})
    swatch = Swatch(id="A1", build=build, colour="kelp")
    sheet = sheet.model_copy(update={"swatches": (*sheet.swatches, swatch)})
    lab = printed_lab(np.array([build.values]), Drive.CMYK, seed=9)[0] + np.array(shift)
    controls = readings_of(sheet_of(12), seed=4).readings
    readings = (*controls, Reading(swatch="A1", lab=tuple(lab.tolist())))
    return kept(sheet, SheetReadings(sheet=sheet.id, readings=readings, read_on=DATE))


@pytest.fixture(scope="module")
def build() -> Build:
    known = knowledge()
    return match(known.model, np.array([AIM]), known.policy)[0].build


def after(*proofs: KeptReadings) -> tuple[PairKnowledge, Proof | None]:
    known = knowledge(*proofs)
    return known, proof_of(known, "kelp", "members-evening")


def test_without_a_proof_the_match_stands() -> None:
    known, proof = after()
    found = match(known.model, np.array([AIM]), known.policy)[0]
    assert settled(found, proof, known) == (found, "")
    assert proof_of(knowledge(), "slate", "members-evening") is None


def test_a_good_proof_keeps_its_own_build(build: Build) -> None:
    known, proof = after(proved(build))
    assert proof == Proof("P5P-P5P", build, proof.lab if proof else (0, 0, 0))
    aim = np.array([proof.lab if proof else AIM])  # the nearest build need not be the proof's
    found = match(known.model, aim + 0.2, known.policy)[0]
    stands, said = settled(found, proof, known)
    assert said.startswith("confirmed by its proof swatch: 0.")
    assert stands.build == build
    assert stands.bound == known.bound_of(build)
    lab = known.lab_of(build)
    assert stands.predicted_lab == pytest.approx(lab.tolist())
    assert stands.delta_e_00 == pytest.approx(float(delta_e_2000(lab, np.array(found.aim_lab))))


def test_a_proof_off_the_aim_corrects_the_build(build: Build) -> None:
    known, proof = after(proved(build, (1.5, 0, 2.0)))
    found = match(known.model, np.array([AIM]), known.policy)[0]
    stands, said = settled(found, proof, known)
    assert said.startswith(f"corrected by its proof swatch: {build} read ")
    assert stands == found
    assert found.build != build


def test_a_proof_against_all_other_readings_widens_the_bound(build: Build) -> None:
    known, proof = after(proved(build, (20.0, 0, 30.0)))
    found = match(known.model, np.array([AIM]), known.policy)[0]
    stands, said = settled(found, proof, known)
    assert "contradicts the other readings" in said
    assert proof is not None
    gap = delta_e_2000(np.array(proof.lab), known.lab_of(build))
    assert stands.bound == pytest.approx(float(gap))
    assert stands.bound > 5 * found.bound
    assert any("A1 of sheet P5P-P5P" in it.message for it in known.reading_findings())


def test_a_proof_for_another_order_says_nothing_here(build: Build) -> None:
    known, _ = after(proved(build))
    assert proof_of(known, "kelp", "another-order") is None
