"""What is otherwise between two runs, and why."""

import pytest

from inkaccord.colour.builds import Build
from inkaccord.knowledge.values import ControlsCompared, DriftState, Evidence, Steadiness
from inkaccord.run.differing import UNTOLD, differences
from inkaccord.run.record import Run
from report_kit import mid_flight


@pytest.fixture(scope="module")
def run() -> Run:
    return mid_flight().run


def with_build(run: Run, number: int, **changed: object) -> Run:
    """Return a run of which one translation is another."""
    known = list(run.translations)
    known[number] = known[number].model_copy(update=changed)
    return run.model_copy(update={"translations": tuple(known)})


def test_a_run_differs_from_itself_in_nothing(run: Run) -> None:
    found = differences(run, run)
    assert found.none
    assert found.parts == ()
    assert found.same_files == sum(it.what == "print" for it in run.files) > 0


def test_numbers_and_dates_are_said(run: Run) -> None:
    piece = run.pieces[0].model_copy(update={"quantity": 1500})
    later = run.model_copy(update={"suites": 130, "pieces": (piece, *run.pieces[2:])})
    found = differences(run, later)
    assert found.order == ("suites: 120 then, 130 now",)
    assert found.pieces == (
        f"{piece.name}: {run.pieces[0].quantity} copies then, 1\u202f500 copies now",
        f"{run.pieces[1].name}: a piece less, {run.pieces[1].quantity} copies",
    )
    assert not found.builds
    assert ("Builds", (f"none is another: {len(run.translations)} builds as then",)) in found.parts


def test_each_reason_for_another_build_is_said(run: Run) -> None:
    was = run.translations[0]
    other = Build.parse("cmyk 1 2 3 4")
    lab = (50.0, 0.0, 0.0)
    then = with_build(run, 0, aim_lab=lab, sheets=("AAA-AAA",), evidence=Evidence.READ)
    compared = ControlsCompared(
        sheet="BBB-BBB", read_on="2026-10-01", since_sheet="AAA-AAA", since="2026-04-01",
        delta_e_00=3.0, largest=4.0, swatches=12, beyond=True,
    )  # fmt: skip
    drifted = Steadiness(
        **was.pair.parts, state=DriftState.RE_ANCHORED, tolerance=2.0, compared=(compared,)
    )

    def why(**changed: object) -> tuple[str, ...]:
        now = with_build(then, 0, build=other, **changed)
        (found,) = differences(then, now).builds
        assert (found.colour, found.pair, found.now) == (was.colour, str(was.pair), str(other))
        return found.why

    # A grey of L* 50 and one of 55: ΔE00 is 5 / S_L with S_L by CIE 142-2001 at the mean of 52.5.
    s_l = 1 + 0.015 * 2.5**2 / (20 + 2.5**2) ** 0.5
    assert why(aim_lab=(55.0, 0.0, 0.0)) == (f"its aim is another, by {5 / s_l:.1f} ΔE00",)
    assert why(sheets=("AAA-AAA", "BBB-BBB")) == ("new readings: sheet BBB-BBB",)
    assert why(sheets=()) == ("AAA-AAA no longer counts",)
    assert why(evidence=Evidence.PICKED) == ("read then, picked now",)
    assert why() == (UNTOLD,)
    now = with_build(then, 0, build=other).model_copy(update={"steadiness": (drifted,)})
    (found,) = differences(then, now).builds
    assert found.why == ("the pair has drifted, and is re-anchored",)
    assert f"{was.build} then, cmyk 1 2 3 4 now (the pair has drifted" in found.words


def test_files_are_matched_by_what_they_show(run: Run) -> None:
    """Their names hold the order's, which a next season's order changes."""
    files = list(run.files)
    at = next(number for number, it in enumerate(files) if it.what == "print")
    files[at] = files[at].model_copy(update={"path": "studio/winter.pdf"})
    assert differences(run, run.model_copy(update={"files": tuple(files)})).none
    files[at] = files[at].model_copy(update={"sha256": "0" * 64})
    (said,) = differences(run, run.model_copy(update={"files": tuple(files)})).files
    assert "other bytes (studio/winter.pdf)" in said
