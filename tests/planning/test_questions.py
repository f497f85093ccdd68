"""What is asked of a person: about the piece that is the cause, with lines that answer it."""

from types import SimpleNamespace

import numpy as np
import pytest
import yaml
from scipy.stats import chi2, ncx2

from inkaccord.knowledge.values import Trade, Translations
from inkaccord.planning.causes import causes_of
from inkaccord.planning.questions import Asker
from inkaccord.planning.wording import to_tell
from inkaccord.run.agreement import Agreement
from planning_kit import (
    INKJET,
    KRAFT,
    LASER,
    PRESS,
    bench_of,
    distance,
    doubt,
    order_of,
    translation,
)

SIDES = {
    "card": translation("butter", LASER, 0.5),
    "menu": translation("butter", PRESS, 0.5),
    "tag": translation("butter", KRAFT, 0.6, off=8.0),
    "label": translation("butter", KRAFT, 0.6, off=8.0),
    "note": translation("butter", INKJET, 2.0),
}
DISTANCES = (
    distance("tag", None, 8.0, 0.6, 3.0),
    distance("label", None, 8.0, 0.6, 3.0),
    *(
        distance(one, other, 8.1, 0.8)
        for one, other in [("card", "tag"), ("card", "label"), ("menu", "tag"), ("menu", "label")]
    ),
    distance("card", "note", 0.9, 2.1),
)
READ = SimpleNamespace(kept=(), picks=())


def asked(distances=DISTANCES, order=None, trades=()):
    order = order or order_of()
    doubts = [
        doubt(it, *(SIDES[piece] for piece in (it.piece, it.other) if piece)) for it in distances
    ]
    known = tuple({it.pair: it for it in SIDES.values()}.values())
    translations = Translations(known=known, trades=trades)
    bench = bench_of(order, dict.fromkeys((LASER, PRESS, KRAFT, INKJET), READ))
    asker = Asker(order, translations, Agreement(distances=tuple(distances)), bench)
    causes = causes_of(order, translations, doubts)
    return {pair: asker.about(pair, them) for pair, them in causes.items()}


def lines(step, at):
    return {it.line for it in step.choices[at].answers}


def test_the_pair_that_is_the_cause_is_asked_about_alone_and_once_for_its_pieces():
    steps = asked()
    assert list(steps) == [KRAFT, INKJET]
    assert steps[KRAFT].pieces == ("tag", "label")
    assert lines(steps[KRAFT], 0) == {
        f"pieces.{piece}.accept.butter: {{why: 8.0 from its aim is accepted, up_to: 9.0}}"
        for piece in ("tag", "label")
    }


def test_a_question_says_what_it_is_in_words_then_in_numbers_and_why_no_paper_helps():
    text = asked()[KRAFT].text
    assert text.startswith("butter does not come out as wanted on tag and label (laser@kraft).")
    assert "butter lies 8.0 ΔE00 from its aim, 8 darker (sure to ±0.6, limit 3)." in text
    assert "Sample sheets can't change that. What shall be done?" in text
    text = asked()[INKJET].text
    assert text.startswith("butter may not look the same on note as on card (inkjet@card).")
    assert "One more sample sheet would hardly settle it." in text


def test_every_answer_is_a_line_of_yaml_that_says_what_its_parts_say():
    answers = [it for step in asked().values() for one in step.choices for it in one.answers]
    assert len(answers) > 3
    for it in answers:
        assert yaml.safe_load(it.line) == {".".join(it.field): it.value}


def test_a_limit_is_offered_where_it_need_not_be_much_wider():
    sigma = 2.1 / np.sqrt(chi2.ppf(0.95, 3))
    within = [ncx2.cdf((limit / sigma) ** 2, 3, (0.9 / sigma) ** 2) for limit in (2.5, 3.0)]
    assert within[0] < 0.95 < within[1]
    wider = [it for it in asked()[INKJET].choices if "tolerance" in str(it.answers)]
    assert [it.answers[0].line for it in wider] == [
        "colours.butter.tolerance: {between_pieces: 3.0}"
    ]
    assert "tolerance" not in str(asked()[KRAFT].choices)


def test_one_piece_on_a_dark_stock_may_move_to_a_lighter_one():
    (step,) = asked([DISTANCES[0]]).values()
    assert "pieces.tag.stock: card" in {it.line for one in step.choices for it in one.answers}
    note = asked([DISTANCES[-1]])[INKJET]
    assert "stock" not in str(note.choices)


@pytest.mark.parametrize("prefer", [None, "each-closest", "alike"])
def test_alike_is_offered_where_it_keeps_all_limits_and_the_way_back_never(prefer):
    point = Trade(
        colour="butter", apart=1.0, mean_to_aim=2.0, to_aim={"card": 2.1, "menu": 2.0, "tag": 1.9}
    )
    far = point.model_copy(update={"to_aim": {**point.to_aim, "tag": 9.0}})
    own = {} if prefer is None else {"prefer": prefer}
    for trades, offered in [((point,), prefer is None), ((far,), False)]:
        step = asked(order=order_of(colours__butter=own), trades=trades)[KRAFT]
        found = "colours.butter.prefer: alike" in str(step.choices)
        assert found is offered


def test_what_agrees_most_likely_is_one_question_with_its_chance_and_a_round_to_choose():
    order = order_of()
    it = distance("card", "note", 0.3, 2.2)
    sides = {"card": SIDES["card"], "note": translation("butter", INKJET, 2.14)}
    known = tuple(sides.values())
    translations = Translations(known=known, trades=())
    bench = bench_of(order, dict.fromkeys((LASER, PRESS, KRAFT, INKJET), READ))
    asker = Asker(order, translations, Agreement(distances=(it,)), bench)
    (them,) = causes_of(order, translations, [doubt(it, *known)]).values()
    sigma = 2.2 / np.sqrt(chi2.ppf(0.95, 3))
    assert int(10 * ncx2.cdf((2.0 / sigma) ** 2, 3, (0.3 / sigma) ** 2)) == 8
    step = asker.about_likely(them, 2.14)
    assert step.text.startswith("butter probably comes out as wanted, but not surely.")
    assert "butter on note lies 0.3 ΔE00 from card (sure to ±2.2, limit 2)." in step.text
    assert "is within its limit is 17 in 20 or better. Sample sheets would cost" in step.text
    assert [it.field[:3] for choice in step.choices for it in choice.answers] == [
        ("pieces", "note", "accept"),
        ("tolerances", "sure"),
    ]
    assert lines(step, 1) == {"tolerances.sure: 2.1"}
    assert len(asker.about_likely(them, None).choices) == 1


def test_of_several_doubts_the_numbers_are_those_of_the_one_that_is_named():
    sides = (SIDES["card"], SIDES["menu"])
    said = to_tell([doubt(distance("card", "menu", 0.2, it), *sides) for it in (1.0, 2.4)])
    assert "(0.2 ±2.4 ΔE00, limit 2), and 1 more" in said
