"""The agreement of an order: both ways of seeing it, recomputed with colour-science alone."""

import numpy as np
import pytest

from example_pairs_kit import model_of
from inkaccord.colour.builds import Build
from inkaccord.knowledge.values import Evidence, ResolvedAim, Translations
from inkaccord.order.model import Order
from inkaccord.planning.agreeing import STATED_PAPER_BOUND
from inkaccord.run.agreement import Distance
from inkaccord.run.collected import Collected
from inkaccord.stages.agree import inkaccord_agree
from report_kit import Desk, mid_flight


@pytest.fixture(scope="module")
def desk() -> Desk:
    return mid_flight()


def judged(desk: Desk, order: Order) -> dict[tuple[str, str, str | None], Distance]:
    pair = order.jobs["lantern-tag"].pair
    known = desk.run.translations
    kelp = known[0].model_copy(
        update={
            **pair.parts,
            "build": Build.cmyk(80, 0, 40, 0),
            "predicted_lab": (34.0, -22.0, 4.0),
            "evidence": Evidence.ESTIMATED,
            "uncertainty": 4.0,
        }
    )
    aims = {it.colour: ResolvedAim(lab=it.aim_lab, bound=it.aim_uncertainty) for it in known}
    found = inkaccord_agree(
        order=order,
        collected=Collected(artworks=desk.run.artworks),
        translations=Translations(known=(*known, kelp), aims=aims),
        bench=desk.bench,
    )
    return {(it.colour, it.piece, it.other): it for it in found.distances}


def apart(one, other):
    from colour import delta_E

    return float(delta_E(np.array(one), np.array(other), method="CIE 2000"))


def against(lab, paper):
    """CIELAB with the paper for white, the plain way: XYZ divided by the paper's."""
    from colour import Lab_to_XYZ, XYZ_to_Lab

    d50 = (0.3457, 0.3585)
    white = Lab_to_XYZ(np.array([100.0, 0, 0]), d50)
    return XYZ_to_Lab(
        Lab_to_XYZ(np.array(lab), d50) / Lab_to_XYZ(np.array(paper), d50) * white, d50
    )


def test_both_distances_of_every_two_pieces_follow_from_colours_and_papers(desk: Desk) -> None:
    distances = judged(desk, desk.order)
    labs = {(it.colour, it.device): it.predicted_lab for it in desk.run.translations}
    checked = 0
    for (colour, piece, other), it in distances.items():
        if other is None or "lantern-tag" in {piece, other}:
            continue
        pairs = [desk.order.jobs[name].pair for name in (piece, other)]
        one, two = (labs[colour, pair.device] for pair in pairs)
        assert it.delta_e_00 == pytest.approx(apart(one, two), abs=0.001)
        papers = [model_of(pair).paper_lab for pair in pairs]
        wanted = apart(against(one, papers[0]), against(two, papers[1]))
        assert it.paper_relative == pytest.approx(wanted, abs=0.002)
        assert it.paper_uncertainty is not None
        assert it.paper_uncertainty > it.uncertainty
        checked += 1
    assert checked == 18


def test_a_pair_that_was_never_read_is_seen_against_the_paper_that_the_order_states(
    desk: Desk,
) -> None:
    distances = judged(desk, desk.order)
    it = distances["kelp", "invitation", "lantern-tag"]
    press = desk.order.jobs["invitation"].pair
    stated = desk.order.stocks["kraft"].colour
    assert stated is not None
    lab = next(t.predicted_lab for t in desk.run.translations if t.colour == "kelp")
    wanted = apart(against(lab, model_of(press).paper_lab), against((34.0, -22.0, 4.0), stated))
    assert it.paper_relative == pytest.approx(wanted, abs=0.002)
    read = distances["kelp", "invitation", "reply-card"]
    assert it.paper_uncertainty is not None
    assert read.paper_uncertainty is not None
    joint = np.hypot(it.uncertainty, 0.3 * STATED_PAPER_BOUND)
    assert it.paper_uncertainty > joint > read.paper_uncertainty


def test_a_paper_of_which_nothing_is_known_is_left_out(desk: Desk) -> None:
    data = desk.order.model_dump(mode="json")
    data["stocks"]["kraft"]["colour"] = None
    distances = judged(desk, Order.model_validate(data))
    assert distances["kelp", "invitation", "lantern-tag"].paper_relative is None
    assert distances["kelp", "invitation", "lantern-tag"].paper_uncertainty is None
    assert distances["kelp", "invitation", "reply-card"].paper_relative is not None


def test_an_aim_has_a_paper_where_it_is_a_print(desk: Desk) -> None:
    distances = judged(desk, desk.order)
    assert distances["lantern", "invitation", None].paper_relative is None  # an aim in CIELAB
    kelp = distances["kelp", "reply-card", None]  # as the press prints it on soft white
    aim = desk.order.jobs["invitation"].pair
    it = next(
        t for t in desk.run.translations if (t.colour, t.device) == ("kelp", "millrace-press")
    )
    assert it.aim_lab is not None
    wanted = apart(
        against(it.predicted_lab, model_of(desk.order.jobs["reply-card"].pair).paper_lab),
        against(it.aim_lab, model_of(aim).paper_lab),
    )
    assert kelp.paper_relative == pytest.approx(wanted, abs=0.002)
