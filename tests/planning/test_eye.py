"""What the eye judged: measured once it is read, never between pieces, asked about when torn."""

import dataclasses
import datetime
from types import SimpleNamespace

import numpy as np
import pytest

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.values import Evidence, ResolvedAim, Torn, Translations
from inkaccord.order.answers import SwatchName
from inkaccord.planning.accepting import passes
from inkaccord.planning.eye import EyeDoubts, eye_doubts, worth_beside
from inkaccord.planning.eye_questions import eye_questions
from inkaccord.planning.questions import Asker
from inkaccord.run.agreement import Agreement
from inkaccord.run.collected import Collected, FoundAs, FoundColour, PieceArtwork
from inkaccord.stages.agree import inkaccord_agree
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


@dataclasses.dataclass
class Read:
    """A pair that is read, as far as its paper is asked for."""

    pair: object
    drive: object = None
    is_read: bool = False
    picks: tuple = ()
    picked_sheets: tuple = ("S-1",)
    aged: str = ""
    policy: object = None
    model: object = None

    def recall(self, *_):
        return SimpleNamespace(bound=np.array([3.0]))

    def bound_of(self, _):
        return 3.0

    def picked(self, _, told=None):  # noqa: ARG002 -- as a pair has it
        return Picked(
            build=Build.cmyk(60, 30, 20, 10),
            model=GenericPress.of(Drive.CMYK),
            lab=(50.0, 0.0, 0.0),
            bound=9.0,
            settled=False,
            swatches=(SwatchName("S-1", "B2"),),
            since=datetime.date(2026, 11, 28),
        )


class Looked(Read):
    """A pair whose pick has come to an end after two looks."""

    def picked(self, _, told=None):  # noqa: ARG002 -- as a pair has it
        swatches = (SwatchName("S-1", "B2"), SwatchName("S-2", "A3"))
        return dataclasses.replace(super().picked(_), settled=True, swatches=swatches)


PAIRS = {pair: Read(pair) for pair in (LASER, PRESS, INKJET)}
SETTLED = {pair: Looked(pair, is_read=True) for pair in (LASER, PRESS, INKJET, KRAFT)}
PIECES = {"card": LASER, "menu": PRESS, "note": INKJET}


def collected():
    slate = FoundColour(text="slate", paint=None, found_as=FoundAs.BRAND, colour="slate")
    return Collected(
        artworks=tuple(
            PieceArtwork(
                piece=name, path="a.pdf", sha256="0", pages=1, photographs=0,
                colours=(slate,) if name in PIECES else (),
            )
            for name in order_of().pieces
        )
    )  # fmt: skip


def judged(aim, **evidence):
    """Return the distances of slate, by the pieces they are between."""
    known = tuple(
        translation("slate", pair, 0.8, evidence=evidence.get(name, Evidence.READ)).model_copy(
            update={"aim_lab": aim.lab, "aim_by_eye": True, "predicted_lab": (50.0, 0.1, 0.0)}
        )
        for name, pair in PIECES.items()
    )
    order = order_of()
    found = inkaccord_agree(
        order=order,
        collected=collected(),
        translations=Translations(known=known, aims={"slate": aim}),
        bench=bench_of(order, PAIRS),
    )
    return {(it.piece, it.other): it for it in found.distances}


EYE = ResolvedAim(lab=(50.0, 0.0, 0.0), bound=4.6, seen_bound=0.5, by_eye=True)


def test_the_eyes_doubt_is_in_the_aim_and_never_between_pieces_that_are_measured():
    found = judged(EYE)
    for (_, other), it in found.items():
        assert it.verdict is Verdict.INSIDE
        assert it.uncertainty == pytest.approx(np.hypot(0.8, 0.8 if other else 0.5), abs=1e-3)
        assert it.aim_uncertainty == (0.0 if other else 4.6)
        assert it.by_eye is (other is None)


def test_the_print_that_was_picked_is_the_aim_itself():
    one = EYE.model_copy(update={"prints": frozenset({(LASER, Build.cmyk(3, 8, 45, 0))})})
    found = judged(one)
    assert (found["card", None].delta_e_00, found["card", None].uncertainty) == (0.0, 0.0)
    assert found["menu", None].delta_e_00 > 0


def test_while_the_eye_has_not_come_to_an_end_nothing_is_sure_of_the_aim():
    found = judged(EYE.model_copy(update={"settled": False, "bound": 9.0}))
    assert {it.verdict for (_, other), it in found.items() if other is None} == {Verdict.UNCERTAIN}
    assert {it.verdict for (_, other), it in found.items() if other} == {Verdict.INSIDE}


def questions(**found):
    order, beyond = order_of(**found.pop("order", {})), found.pop("accepting", None)
    return list(eye_questions(order, EyeDoubts(**found), bench_of(order, PAIRS), beyond))


def test_of_two_picks_that_contradict_each_other_a_person_says_which_is_the_thing():
    torn = Torn(one=SwatchName("S-1", "B2"), other=SwatchName("S-2", "C4"), apart=4.13)
    (step,) = questions(torn={"slate": torn})
    assert step.text.startswith("Which of the two picks is the roof? For slate, S-1 B2 and S-2 C4")
    assert "4.1 ΔE00 apart" in step.text
    assert [it.answers[0].line for it in step.choices] == [
        "colours.slate.aim.picked_on: S-1 B2",
        "colours.slate.aim.picked_on: S-2 C4",
    ]


def test_whether_the_eye_may_decide_is_asked_once_for_all_that_hangs_on_it():
    sides = [translation("slate", pair, 4.5, evidence=Evidence.PICKED) for pair in (LASER, PRESS)]
    doubts = [
        doubt(distance("card", "menu", 0.0, 6.0, colour="slate", by_eye=True), *sides),
        doubt(distance("menu", None, 0.0, 4.5, 3.0, colour="slate", by_eye=True), sides[1]),
    ]
    (step,) = questions(unread=doubts)
    assert [it.line for it in step.choices[0].answers] == ["accept_by_eye: true"]
    assert step.choices[0].words == "Yes: what was picked by eye is good enough."
    assert step.choices[1].command == "inkaccord record S-1 READINGS-FILE"
    follows = questions(unread=doubts, once_trusted=[LASER, PRESS])[0].choices[0].words
    assert follows.endswith(f", after a look at one more sheet of {LASER} and one of {PRESS}.")
    assert questions(unread=doubts, order={"accept_by_eye": True}) == []


def test_who_may_look_again_is_told_what_that_would_bring(monkeypatch):
    sides = [translation("slate", LASER, 4.5, evidence=Evidence.PICKED)]
    doubts = [doubt(distance("card", None, 0.0, 4.5, 3.0, colour="slate", by_eye=True), *sides)]
    assert len(questions(unread=doubts)[0].choices) == 2
    once = dataclasses.replace(PAIRS[LASER].picked("slate"), change=1.26)
    monkeypatch.setattr(Read, "picked", lambda self, _: once)
    again = questions(unread=doubts)[0].choices[2]
    assert again.command == "inkaccord look S-1"
    assert "would change a colour by 1.3 ΔE00" in again.words


@pytest.mark.parametrize(("bound", "beyond"), [(5.9, False), (6.3, True)])
def test_who_lets_the_eye_decide_is_not_asked_again_what_it_could_not_see(bound, beyond):
    order = order_of()
    sides = [translation("slate", pair, 4.5, evidence=Evidence.PICKED) for pair in (LASER, PRESS)]
    apart = distance("card", "menu", 0.0, bound, colour="slate", by_eye=True)
    translations = Translations(known=tuple(sides), aims={"slate": EYE})
    bench = bench_of(order, SETTLED)
    found = eye_doubts(order, [doubt(apart, *sides)], translations, bench)
    assert (bool(found.unread), bool(found.beyond)) == (True, beyond)

    asker = Asker(order, translations, Agreement(distances=(apart,)), bench)
    accepting = asker.accepting(found.beyond)
    (step,) = questions(unread=found.unread, accepting=accepting)
    lines = [it.line for it in step.choices[0].answers]
    assert lines[0] == "accept_by_eye: true"
    assert [it.startswith("pieces.") and "up_to" in it for it in lines[1:]] == [True] * beyond


class Once(Read):
    """A pair that is read and was looked at on one sheet, which was enough."""

    change = 2.0

    def picked(self, _, told=None):
        return dataclasses.replace(super().picked(_, told), settled=True, change=self.change)


@pytest.mark.parametrize(("bound", "more"), [(5.9, []), (6.3, [LASER, PRESS])])
def test_no_sheet_is_foretold_where_the_eye_has_seen_enough(monkeypatch, bound, more):
    monkeypatch.setattr("inkaccord.planning.eye.may_be_picked", lambda *_: True)
    monkeypatch.setattr("inkaccord.planning.eye.offered_before", lambda *_: False)
    monkeypatch.setattr("inkaccord.planning.eye.ladder", lambda *_: ())
    picks = (SimpleNamespace(pick=SimpleNamespace(colour="slate")),)
    pairs = {it: Once(it, is_read=True, picks=picks) for it in SETTLED}
    bench = bench_of(order_of(), pairs)
    sides = [translation("slate", pair, 4.5, evidence=Evidence.PICKED) for pair in (LASER, PRESS)]
    apart = doubt(distance("card", "menu", 0.0, bound, colour="slate", by_eye=True), *sides)
    translations = Translations(known=tuple(sides), aims={"slate": EYE})
    found = eye_doubts(order_of(), [apart], translations, bench)
    assert (found.unread, found.once_trusted, found.beyond) == ([apart], more, [])
    trusting = order_of(accept_by_eye=True)
    left = [it for it in (apart,) if not passes(trusting, it.distance)]
    ladders = eye_doubts(trusting, left, translations, bench).ladders
    assert [pair for pair, _ in ladders] == more


class Never(Read):
    """A pair that nobody looked at."""

    def picked(self, _, told=None):  # noqa: ARG002 -- as a pair has it
        return None


@pytest.mark.parametrize(
    ("looked", "change", "wanted"),
    [
        ((LASER,), 2.0, ["slate"]),
        ((LASER,), 0.9, []),  # less than a third of the tolerance of 3
        ((LASER, PRESS), 2.0, []),  # two pairs have told
        ((PRESS,), 2.0, []),  # the press has, whose sheet is not printed anyway
    ],
)
def test_a_sheet_that_is_printed_anyway_goes_on_from_one_look(monkeypatch, looked, change, wanted):
    monkeypatch.setattr(Once, "change", change)
    monkeypatch.setattr("inkaccord.planning.eye.may_be_picked", lambda *_: True)
    monkeypatch.setattr("inkaccord.planning.eye.offered_before", lambda *_: False)
    monkeypatch.setattr("inkaccord.planning.eye.ladder", lambda *_: ())
    picks = (SimpleNamespace(pick=SimpleNamespace(colour="slate")),)
    pairs = {
        it: Once(it, is_read=True, picks=picks) if it in looked else Never(it, is_read=True)
        for it in (LASER, PRESS, KRAFT, INKJET)
    }
    order = order_of()
    aims = Translations(known=(), aims={"slate": EYE, "butter": ResolvedAim(lab=(90.0, 0.0, 30.0))})
    assert worth_beside(order, LASER, aims, bench_of(order, pairs)) == wanted
