"""What is asked beside a sheet: every colour in turns, and nothing that was answered."""

import datetime

from inkaccord.recording.looking import LOOKS, offered, questions
from inkaccord.sheets.model import Pick
from recording_kit import DATE, sheet_of

SHEET = sheet_of()
FOR_EYE = SHEET.model_copy(
    update={
        "swatches": tuple(
            it.model_copy(update={"for_eye": True, "colour": "kelp" if at < 30 else "door blue"})
            if at >= 12
            else it
            for at, it in enumerate(SHEET.swatches)
        )
    }
)
COLOURS = ("kelp", "door blue")


def asked(*looks, by="Ida", today=DATE):
    found = questions(FOR_EYE, COLOURS, looks, by=by, today=today)
    return [(it.colour, it.turn) for it in found]


def look(colour="kelp", by="Ida", day=DATE):
    return Pick(sheet=SHEET.id, colour=colour, swatch="B7", by=by, picked_on=day)


def test_a_sheet_offers_the_colours_of_its_swatches_for_the_eye():
    assert offered(FOR_EYE) == COLOURS
    assert offered(SHEET) == ()


def test_the_other_colours_come_between_two_looks_at_one():
    assert asked() == [(name, turn) for turn in range(1, LOOKS + 1) for name in COLOURS]


def test_what_was_answered_today_is_not_asked_again():
    assert asked(look()) == [("door blue", 1), ("kelp", 2), ("door blue", 2), ("kelp", 3),
                             ("door blue", 3)]  # fmt: skip
    assert asked(*[look()] * 3, *[look("door blue")] * 3) == []


def test_another_person_or_another_day_is_asked_anew():
    earlier = DATE - datetime.timedelta(days=1)
    everything = asked()
    assert asked(look(by="Ole"), look(day=earlier), look(day=None)) == everything


def test_a_question_says_where_the_swatches_stand_and_how_often_it_is_asked():
    first, *_, last = questions(FOR_EYE, ["kelp"], (), by="", today=DATE)
    own = [it.id for it in FOR_EYE.swatches if it.colour == "kelp"]
    assert f"({own[0]} to {own[-1]})" in first.text
    assert first.text.startswith("Hold what kelp is to match beside")
    assert last.text.startswith("A last look at")
    assert all(len(it.text) < 120 for it in (first, last))


def test_the_same_answer_on_another_turn_is_another_look():
    first, second, _ = questions(FOR_EYE, ["kelp"], (), by="Ida", today=DATE)
    assert first.answered(look()) == look()
    assert second.answered(look()).turn == 2
