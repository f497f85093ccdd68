"""Picks by eye on their way through an order: weighed on a pair, then over the pairs."""

import datetime
from types import SimpleNamespace

import numpy as np
import pytest

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.direction import Direction
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.eye_set import COARSE, eye_set
from inkaccord.diagnostics import Place
from inkaccord.knowledge.aims import resolve_aim
from inkaccord.knowledge.pairs import paper_readings
from inkaccord.knowledge.picking import Picked, offered_before, weigh_picks
from inkaccord.knowledge.values import Evidence, ResolvedAim, Translation, Translations
from inkaccord.order.answers import SwatchName
from inkaccord.planning.doubts import Doubt
from inkaccord.planning.eye import eye_doubts
from inkaccord.planning.sheets import ladder
from inkaccord.recall.recall import computed
from inkaccord.run.agreement import Distance
from inkaccord.sheets.model import Pick, Purpose, SampleSheet, Swatch
from inkaccord.shelf.kept import KeptPick
from inkaccord.sizes import Size

PAIR = Pair.parse("press@card")
FINE = 2.0
BY_EYE = {"slate": SimpleNamespace(aim=SimpleNamespace(by_eye="the roof"))}
SLATE, ROSE = (55.0, 30.0, 20.0, 20.0), (5.0, 45.0, 20.0, 0.0)


@pytest.fixture(scope="module")
def model():
    return fit(paper_readings(Drive.CMYK, (94.0, 0.0, -2.0)))


def sheet(model, number, step=COARSE, **colours):
    """Return a sheet with swatches round a build for each colour."""
    swatches = [
        Swatch(id=f"{name[0].upper()}{i}", build=Build.cmyk(*row), colour=name)
        for name, build in colours.items()
        for i, row in enumerate(eye_set(model, build, InkPolicy(), (step,) * 3).tolist(), start=1)
    ]
    return SampleSheet(
        id=f"SHEET-{number}",
        pair=PAIR,
        drive=Drive.CMYK,
        purpose=Purpose.CLOSING_IN,
        swatches=tuple(swatches),
        size=Size(width_pt=612.0, height_pt=792.0),
        date=datetime.date(2026, 10, 5),
    )


def kept(on, swatch, colour, day, **more):
    return KeptPick(
        digest=f"{on.id}-{swatch}",
        sheet=on,
        pick=Pick(sheet=on.id, colour=colour, swatch=swatch, **more),
        recorded_at=datetime.datetime(2026, 11, day, tzinfo=datetime.UTC),
    )


def known(model, *picks):
    pair = SimpleNamespace(
        pair=PAIR,
        drive=Drive.CMYK,
        policy=InkPolicy(),
        model=model,
        model_before=None,
        other_models=(),
        is_read=False,
        decided={},
        picks=picks,
        predates_drift=lambda sheets: False,
        recall=computed,
    )
    pair.picked = lambda colour, told=None: weigh_picks(pair, colour, told)
    return pair


def test_a_colour_is_known_since_its_own_newest_pick(model):
    on = sheet(model, 1, slate=SLATE, rose=ROSE)
    day = datetime.date(2026, 10, 7)
    pair = known(model, kept(on, "S1", "slate", 3, picked_on=day), kept(on, "R1", "rose", 20))
    assert weigh_picks(pair, "slate").since == day
    assert weigh_picks(pair, "rose").since == datetime.date(2026, 11, 20)
    assert weigh_picks(pair, "kelp") is None


def test_a_pick_in_the_middle_of_its_swatches_is_settled_and_one_elsewhere_is_not(model):
    on = sheet(model, 1, slate=SLATE, rose=ROSE)
    settled = weigh_picks(known(model, kept(on, "S3", "slate", 1, sure=0.8)), "slate")
    assert settled.settled
    assert off(settled.build, SLATE) <= 4
    assert settled.bound < 6.0
    elsewhere = weigh_picks(known(model, kept(on, "R1", "slate", 1, sure=0.8)), "slate")
    assert not elsewhere.settled
    assert elsewhere.bound > settled.bound


def off(build, values):
    return float(np.abs(np.array(build.values) - values).max())


def test_every_look_counts_and_another_persons_more(model):
    on = sheet(model, 1, slate=SLATE)
    first = kept(on, "S3", "slate", 1, by="Ada")
    once = weigh_picks(known(model, first), "slate")
    again = weigh_picks(known(model, first, kept(on, "S3", "slate", 1, by="Ada", turn=2)), "slate")
    other = weigh_picks(known(model, first, kept(on, "S3", "slate", 1, by="Bo")), "slate")
    assert other.bound < again.bound < 0.95 * once.bound
    assert again.change < once.change


def test_the_middle_and_its_twin_are_one_swatch(model):
    on = sheet(model, 1, slate=SLATE)
    twins = [it.id for it in on.swatches if it.build == Build.cmyk(*SLATE)]
    assert len(twins) == 2
    one, other = (weigh_picks(known(model, kept(on, it, "slate", 1)), "slate") for it in twins)
    assert (one.build, one.bound) == (other.build, other.bound)


def test_the_next_nearest_and_a_row_alone_are_looks_too(model):
    on = sheet(model, 1, slate=SLATE)
    plain = weigh_picks(known(model, kept(on, "S3", "slate", 1)), "slate")
    then = weigh_picks(known(model, kept(on, "S3", "slate", 1, then="S4")), "slate")
    assert then.lab[0] > plain.lab[0] + 0.3
    row = tuple(it.id for it in on.swatches[:5])
    of_row = weigh_picks(known(model, kept(on, "S3", "slate", 1, among=row)), "slate")
    assert of_row.bound > plain.bound


def test_none_of_them_goes_on_from_there(model):
    on = sheet(model, 1, slate=SLATE)
    found = weigh_picks(known(model, kept(on, None, "slate", 1, nudge=Direction.DARKER)), "slate")
    assert not found.settled
    darkest = min(model.predict_lab(np.array([it.build.values for it in on.swatches]))[:, 0])
    assert found.lab[0] < darkest
    assert found.sheets == (on.id,)
    assert max(found.steps) > COARSE


def test_what_a_scanner_found_is_a_look(model):
    on = sheet(model, 1, slate=SLATE)
    found = weigh_picks(
        known(model, kept(on, "S3", "slate", 1, build=(50.0, 35.0, 20.0, 20.0), error=0.8)), "slate"
    )
    assert off(found.build, (50, 35, 20, 20)) <= 2
    assert found.bound == pytest.approx(0.8 * 1.61, rel=0.15)


def test_a_second_look_among_finer_swatches_makes_a_pick_surer(model):
    coarse, fine = sheet(model, 1, slate=SLATE), sheet(model, 2, step=FINE, slate=SLATE)
    first = kept(coarse, "S3", "slate", 1)
    once = weigh_picks(known(model, first), "slate")
    again = weigh_picks(known(model, first, kept(fine, "S3", "slate", 2)), "slate")
    assert off(again.build, SLATE) <= 4
    assert again.bound < 0.9 * once.bound


def test_a_second_look_counts_wherever_it_fell(model):
    """At the rim of a ladder round a settled pick the eye erred, or the first time it did."""
    coarse, fine = sheet(model, 1, slate=SLATE), sheet(model, 2, step=FINE, slate=SLATE)
    first = kept(coarse, "S3", "slate", 1)
    once = weigh_picks(known(model, first), "slate")
    again = weigh_picks(known(model, first, kept(fine, "S1", "slate", 2)), "slate")
    assert again.settled
    assert again.bound < once.bound
    # Part of the way to the rim, 4 ΔE00 off.
    assert 0.5 < delta_e_2000(again.lab, once.lab) < 3.5


def test_who_names_the_nearest_of_the_whole_sheet_goes_on_from_there(model):
    on = sheet(model, 1, slate=SLATE, rose=ROSE)
    found = weigh_picks(known(model, kept(on, "R3", "slate", 1)), "slate")
    there = model.predict_lab(np.array([ROSE, SLATE], dtype=float))
    apart = delta_e_2000(np.array(found.lab), there)
    assert apart[0] < 2.0
    assert apart[1] > 30.0
    assert not found.settled


def test_two_looks_that_cannot_both_be_right_are_named(model):
    one, other = sheet(model, 1, slate=SLATE), sheet(model, 2, slate=ROSE)
    found = weigh_picks(
        known(model, kept(one, "S3", "slate", 1), kept(other, "S3", "slate", 2)), "slate"
    )
    assert {str(found.torn.one), str(found.torn.other)} == {"SHEET-1 S3", "SHEET-2 S3"}
    assert found.torn.apart > 15
    assert {it.code for it in found.findings} == {"picks-disagree"}


def test_swatches_that_were_picked_from_are_not_offered_again(model):
    on = sheet(model, 1, slate=SLATE, rose=ROSE)
    pair = known(model, kept(on, "S1", "slate", 1))
    again = [swatch.build for swatch in on.swatches if swatch.colour == "slate"]
    assert offered_before(pair, "slate", again)
    assert offered_before(pair, "slate", again[:5])
    assert not offered_before(pair, "slate", [*again, Build.cmyk(1, 2, 3, 4)])
    # For another colour they are new, and what nobody picked from may still be picked from.
    assert not offered_before(pair, "rose", again)
    assert not offered_before(known(model), "slate", again)


def picked(lab, bound):
    return Picked(
        build=Build.cmyk(*SLATE),
        model=GenericPress.of(Drive.CMYK),
        lab=lab,
        bound=bound,
        settled=True,
        swatches=(SwatchName("SHEET-1", "S1"),),
        since=datetime.date(2026, 10, 7),
    )


def aim_of(*picks, read=True):
    pairs = [Pair(device=f"press-{i}", stock="card") for i in range(len(picks))]
    order = SimpleNamespace(
        colours={"slate": SimpleNamespace(aim=SimpleNamespace(lab=None, build=None, on=None))},
        pairs_needed=lambda: pairs,
    )
    desk = {
        pair: SimpleNamespace(
            pair=pair, is_read=read, picked=lambda _, it=it: it, bound_of=lambda _: 0.0
        )
        for pair, it in zip(pairs, picks, strict=True)
    }
    bench = SimpleNamespace(pair=desk.__getitem__, place=lambda *path: Place(field=path[-1]))
    return resolve_aim(order, "slate", bench)


def test_an_aim_matched_by_eye_is_weighed_over_all_pairs_that_are_read():
    one = aim_of(picked((41.0, -4.0, -10.0), 3.4))
    assert one.lab == (41.0, -4.0, -10.0)
    assert one.bound == pytest.approx(3.4)
    assert one.by_eye
    both = aim_of(picked((41.0, -4.0, -10.0), 3.0), None, picked((43.0, -4.0, -10.0), 6.0))
    assert 41.0 < both.lab[0] < 41.6
    assert both.bound < one.bound
    assert both.findings == ()
    assert aim_of(None, None).lab is None
    assert aim_of(picked((41.0, -4.0, -10.0), 3.4), read=False).lab is None


def test_a_pair_whose_pick_the_others_contradict_is_named():
    resolved = aim_of(
        picked((41.0, -4.0, -10.0), 3.4),
        picked((42.0, -4.0, -9.0), 3.4),
        picked((60.0, 20.0, 20.0), 3.4),
    )
    (finding,) = resolved.findings
    assert finding.code == "picks-disagree"
    assert "press-2@card" in finding.message
    assert np.abs(np.array(resolved.lab) - [41.5, -4.0, -9.5]).max() < 3.0


def looked_for(model, uncertainty, *picks, accept_by_eye=True):
    """Return the colours whose next ladder is asked for, of two pieces that the eye judged."""
    pair = known(model, *picks)
    sheets = picks[0].sheet
    order = SimpleNamespace(
        accept_by_eye=accept_by_eye,
        order=sheets.order,
        date=sheets.date,
        pairs_needed=lambda: (PAIR,),
        colours=BY_EYE,
    )
    distance = Distance(
        colour="slate",
        piece="card",
        other="tag",
        delta_e_00=0.5,
        uncertainty=uncertainty,
        tolerance=3.0,
        verdict=Verdict.UNCERTAIN,
        by_eye=True,
    )
    side = Translation(
        colour="slate",
        **PAIR.parts,
        build=Build.cmyk(*SLATE),
        evidence=Evidence.PICKED,
        aim_lab=None,
        predicted_lab=(50.0, 0.0, 0.0),
        delta_e_00=None,
        uncertainty=uncertainty,
    )
    aims = {"slate": ResolvedAim(lab=None, by_eye=True)}
    bench = SimpleNamespace(pair=lambda _: pair)
    found = eye_doubts(
        order, [Doubt(distance, (side,))], Translations(known=(side,), aims=aims), bench
    )
    if not accept_by_eye:  # the question names what its answer leads to
        yes = looked_for(model, uncertainty, *picks)
        assert found.once_trusted == ([] if found.ladders else [pair for pair, _ in yes])
    return found.ladders


@pytest.mark.slow
def test_a_settled_pick_is_looked_at_once_more_while_that_would_matter(model):
    coarse, fine = sheet(model, 1, slate=SLATE), sheet(model, 2, step=FINE, slate=SLATE)
    first = kept(coarse, "S3", "slate", 1, sure=0.8)
    assert looked_for(model, 7.0, first) == [(PAIR, "slate")]
    assert looked_for(model, 7.0, first, accept_by_eye=False) == []
    looks = [kept(on, "S3", "slate", at, turn=at) for at in range(2, 7) for on in (coarse, fine)]
    assert looked_for(model, 4.0, first, *looks) == []
    rim = kept(coarse, "S1", "slate", 1, nudge=Direction.DARKER)
    assert looked_for(model, 9.0, rim, accept_by_eye=False) == [(PAIR, "slate")]


def test_the_next_swatches_stand_as_far_apart_as_is_uncertain(model):
    first = known(model, kept(sheet(model, 1, slate=SLATE), "S3", "slate", 1))
    picked = first.picked("slate")
    assert max(picked.steps) < COARSE
    wanted = eye_set(model, picked.build.values, InkPolicy(), picked.steps)
    order = SimpleNamespace(colours=BY_EYE, pairs_needed=lambda: (PAIR,))
    assert ladder(order, first, "slate", None) == tuple(Build.cmyk(*row) for row in wanted)
