"""What is asked beside a sheet: rows and the whole of every colour, and how answers are read."""

import datetime

import pytest

from inkaccord.colour.direction import Direction
from inkaccord.colour.picks import LOOKS_A_SHEET
from inkaccord.errors import OrderError
from inkaccord.knowledge.apart import FarApart
from inkaccord.recording.looking import Looking, offered
from inkaccord.sheets.model import Pick
from planning_kit import order_of
from recording_kit import DATE, sheet_of

SHEET = sheet_of()
FOR_EYE = SHEET.model_copy(
    update={
        "swatches": tuple(
            it.model_copy(update={"for_eye": True, "colour": "kelp" if at < 30 else "slate"})
            if at >= 12
            else it
            for at, it in enumerate(SHEET.swatches)
        )
    }
)
ROW_B = tuple(f"B{number}" for number in range(3, 11))
IDA = Looking(FOR_EYE, by="Ida", light="window", day=DATE, sure=0.6)


def of_kelp():
    return IDA.questions(["kelp"])


def test_a_sheet_offers_the_colours_of_its_swatches_for_the_eye():
    assert offered(FOR_EYE) == ("kelp", "slate")
    assert offered(SHEET) == ()


def test_a_colour_is_asked_along_its_rows_and_then_whole():
    assert [(it.text, it.turn, it.among is None) for it in of_kelp()] == [
        ("Along row B, B3 to B10: which is nearest?", 1, False),
        ("Along row C, C1 to C10: which is nearest?", 1, False),
        ("Of all of them, B3 to C10: which is nearest?", 1, True),
        ("kelp once more, B3 to C10: which is nearest now?", 2, True),
        ("A last look at kelp, B3 to C10: which is nearest?", 3, True),
    ]
    assert of_kelp()[0].among == ROW_B


def test_a_ladder_is_asked_along_by_the_ways_that_it_leads():
    told = {
        "B3": (Direction.DARKER,),
        "B10": (Direction.LIGHTER, Direction.WEAKER),
        "C1": (Direction.WEAKER,),
    }
    swatches = [it.model_copy(update={"ways": told.get(it.id, ())}) for it in FOR_EYE.swatches]
    sheet = FOR_EYE.model_copy(update={"swatches": tuple(swatches)})
    row, end, *_ = Looking(sheet, by="", light="", day=DATE).questions(["kelp"])
    assert row.text == "Along row B, from darker to lighter: which is nearest?"
    assert end.text == "Along row C, C1 to C10: which is nearest?"


def test_a_row_that_two_colours_share_is_named_with_its_swatches():
    told = {"B3": (Direction.DARKER,), "B7": (Direction.LIGHTER,)}
    ours = {f"{row}{number}" for row in "BC" for number in range(3, 8)}
    halves = [
        it.model_copy(
            update={
                "colour": "kelp" if it.id in ours else "slate",
                "ways": told.get(it.id, ()),
            }
        )
        if it.for_eye
        else it
        for it in FOR_EYE.swatches
    ]
    sheet = FOR_EYE.model_copy(update={"swatches": tuple(halves)})
    row, other, *_ = Looking(sheet, by="", light="", day=DATE).questions(["kelp"])
    assert row.text == "Along row B, B3 to B7, from darker to lighter: which is nearest?"
    assert other.text == "Along row C, C3 to C7: which is nearest?"


def test_what_stands_in_one_row_is_asked_whole_alone():
    one_row = FOR_EYE.model_copy(update={"swatches": FOR_EYE.swatches[:20]})
    looking = Looking(one_row, by="", light="", day=DATE)
    assert [it.among for it in looking.questions(["kelp"])] == [None] * LOOKS_A_SHEET


def test_a_colour_without_swatches_of_its_own_is_looked_for_among_all():
    sheet = sheet_of(30)
    plain = [it.model_copy(update={"colour": None}) for it in sheet.swatches]
    looking = Looking(sheet.model_copy(update={"swatches": tuple(plain)}), "", "", DATE)
    asked = looking.questions(["slate"])
    assert [it.among for it in asked] == [None] * LOOKS_A_SHEET
    assert asked[0].text == "Of all of them, B3 to C10: which is nearest?"
    assert {it.id for it in looking.others(asked[0])} == {it.id for it in sheet.swatches[:12]}


def test_the_other_colours_come_between_two_looks_at_one():
    colours = [(it.turn, it.colour) for it in IDA.questions(["kelp", "slate"]) if not it.among]
    assert colours == [
        (turn, name) for turn in range(1, LOOKS_A_SHEET + 1) for name in ("kelp", "slate")
    ]


def test_the_thing_to_hold_is_named_before_the_first_question_and_on_every_new_turn():
    assert [it.before for it in of_kelp()] == [
        *["Hold what kelp is to match right beside the swatches for kelp, B3 to C10."] * 3,
        *["Rest your eyes on something grey, then hold what kelp is to match beside B3 to C10 "
          "again."] * 2,
    ]  # fmt: skip
    order = order_of(colours__slate={"aim": {"by_eye": "the boathouse roof"}})
    told = Looking(FOR_EYE, by="", light="", day=DATE, order=order).questions(["slate"])[0]
    assert told.before == "Hold the boathouse roof right beside the swatches for slate, D1 to F10."


def test_every_question_is_one_short_sentence():
    for question in IDA.questions(["kelp", "slate"]):
        assert len(question.text) < 80
        assert question.text.count("?") == question.text.count(".") + 1 == 1


def test_an_answer_is_a_look_at_what_was_asked():
    row, _, whole, again, _ = of_kelp()
    assert IDA.read(row, "b4, then B5!") == Pick(
        sheet=SHEET.id, colour="kelp", swatch="B4", then="B5", among=ROW_B, by="Ida",
        light="window", sure=0.9, picked_on=DATE,
    )  # fmt: skip
    first, second = IDA.read(whole, "none: bluer"), IDA.read(again, "none: bluer")
    assert (first.turn, first.among, first.sure) == (None, None, 0.6)
    assert second == first.model_copy(update={"turn": 2})


@pytest.mark.parametrize(
    ("number", "answer", "said"),
    [
        (0, "C4", "C4 is not among the swatches that this is about, B3 to B10"),
        (0, "between B4 and C4", "C4 is not among"),
        (0, "B4, then C4", "C4 is not among"),
        (1, "D1 or D2", "D1 and D2 are not among"),
    ],
)
def test_a_swatch_that_was_not_asked_for_is_no_answer(number, answer, said):
    with pytest.raises(OrderError, match=said):
        IDA.read(of_kelp()[number], answer)


def test_where_none_of_a_colours_is_right_the_nearest_on_the_whole_sheet_is_an_answer():
    row, _, whole, *_ = of_kelp()
    assert IDA.others(row) == []
    assert [it.id for it in IDA.others(whole)][-3:] == ["F8", "F9", "F10"]
    answer = IDA.read(whole, "D1, then D2")
    assert (answer.colour, answer.swatch, answer.then, answer.among) == ("kelp", "D1", "D2", None)
    assert "D1 is not one of kelp's own" in (IDA.remark(whole, answer) or "")
    assert "comes nearer" in (IDA.remark(whole, IDA.read(whole, "none: bluer")) or "")
    assert IDA.remark(row, IDA.read(row, "none")) is None
    assert IDA.remark(whole, IDA.read(whole, "B4")) is None


def test_a_question_knows_its_answer():
    questions = of_kelp()
    for question in questions:
        answer = IDA.read(question, "none")
        assert [it.is_answered_by(answer) for it in questions] == [
            it == question for it in questions
        ]


def test_what_another_person_or_another_day_answered_is_not_ones_own():
    mine = IDA.read(of_kelp()[0], "B4")
    yesterday = DATE - datetime.timedelta(days=1)
    others = [mine.model_copy(update=it) for it in ({"by": "Ole"}, {"picked_on": yesterday})]
    assert IDA.own([*others, mine]) == (mine,)


def test_two_looks_far_apart_are_looked_at_alone():
    whole, again = of_kelp()[2:4]
    one, other = IDA.read(whole, "B4"), IDA.read(again, "C9, a little darker")
    question = IDA.of_two(FarApart(one, other, 7.4))
    assert question.before == (
        "For kelp you chose B4 and C9, a little darker, about 7 ΔE00 apart: look again at these "
        "two."
    )
    assert question.text == "Look at B4 and C9 alone: which is nearer to what kelp is to match?"
    assert IDA.read(question, "C9").among == ("B4", "C9")


def test_the_swatches_that_a_scanner_named_are_asked_of_first():
    three = ("B7", "B8", "C7")
    scan = Pick(
        sheet=FOR_EYE.id,
        colour="kelp",
        swatch="B7",
        among=three,
        by="Ida",
        light="a scanner's lamp",
        picked_on=DATE,
        build=(60.0, 20.0, 50.0, 10.0),
        error=2.0,
    )
    looking = Looking(FOR_EYE, by="Ida", light="", day=DATE, scanned=(scan,))
    first, *others = looking.questions(["kelp"])
    assert first.text == (
        "The scanner names B7, B8 and C7: which is nearest to what kelp is to match?"
    )
    assert (first.among, tuple(others)) == (three, of_kelp())
    # What the scanner said is no look of Ida's, though she laid the thing there.
    assert looking.own([scan]) == ()
    assert looking.read(first, "C7").among == three
