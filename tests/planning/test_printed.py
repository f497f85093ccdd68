"""A printed sheet keeps its table while its readings are asked for, and says what to look for."""

from types import SimpleNamespace

from inkaccord.knowledge.values import Translations
from inkaccord.planning.printed import record_steps, still_to_read
from inkaccord.planning.unknowns import Unknowns
from inkaccord.planning.wording import thing
from inkaccord.run.plan import Choice, NextStep, StepKind
from planning_kit import KRAFT, LASER, bench_of, order_of, sheet_of, translation

ORDER = order_of()
PICKED = sheet_of(KRAFT, ["slate"], name="PPP-PPP")
READ = sheet_of(LASER, name="RRR-RRR")


def known(*sheets, read=(), kept=()):
    return SimpleNamespace(
        sheets=sheets,
        read_sheets=tuple(it.id for it in read),
        picked_sheets=tuple(it.id for it in sheets if it not in read),
        kept=kept,
    )


def readings(sheet, **labs):
    values = tuple(SimpleNamespace(swatch=name, lab=lab) for name, lab in labs.items())
    return SimpleNamespace(sheet=sheet, readings=SimpleNamespace(readings=values))


def test_a_sheet_that_was_picked_from_keeps_its_table_while_its_readings_are_asked_for():
    steps = [NextStep(kind=StepKind.RECORD, text="Read it.", sheet=PICKED.id)]
    kept = list(still_to_read(steps, [known(PICKED), known(READ, read=[READ])]))
    assert [(it.sheet.id, it.printed) for it in kept] == [("PPP-PPP", True)]
    choice = Choice(words="No: read it.", sheets=(PICKED.id,))
    question = NextStep(kind=StepKind.QUESTION, text="May the eye decide?", choices=(choice,))
    assert [it.sheet.id for it in still_to_read([question], [known(PICKED)])] == ["PPP-PPP"]


def test_a_sheet_that_is_read_or_asked_for_by_nobody_is_not_drawn_again():
    steps = [NextStep(kind=StepKind.RECORD, text="Pick from it.", sheet=READ.id)]
    assert not list(still_to_read(steps, [known(PICKED), known(READ, read=[READ])]))


def test_where_no_thing_shows_a_colour_the_nearest_swatch_that_was_read_does():
    near = readings(READ, A1=(90.5, 0.0, 30.0), A2=(80.0, 0.0, 30.0))
    far = readings(READ, A2=(80.0, 0.0, 30.0))
    for kept, told in (
        (near, ", beside swatch A1 of sheet RRR-RRR for butter:"),
        (far, "best: butter"),
    ):
        pairs = dict.fromkeys(ORDER.pairs_needed(), known())
        pairs[KRAFT] = known(PICKED)
        pairs[LASER] = known(READ, read=[READ], kept=(kept,))
        translations = Translations(known=(translation("butter", LASER, 0.5),))
        steps = record_steps(
            ORDER,
            Unknowns(at_hand={KRAFT: ["butter"]}),
            translations,
            bench_of(ORDER, pairs),
        )
        (step,) = steps
        assert step.command == "inkaccord record PPP-PPP READINGS-FILE"
        assert told in step.text


def test_a_colour_is_held_against_its_thing_or_goes_by_its_name():
    assert thing(ORDER, "slate") == "the roof (slate)"
    assert thing(ORDER, "butter") == "butter"
