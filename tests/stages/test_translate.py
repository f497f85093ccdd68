"""Builds for an order's colours: black as asked, and nothing said surer than it is."""

import datetime
import re
from types import SimpleNamespace

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge import translating
from inkaccord.knowledge.aims import resolve_aim
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence
from inkaccord.order.colours import BrandColour, Prefer
from inkaccord.sheets.model import Reading, SheetReadings
from inkaccord.shelf.kept import KeptReadings
from inkaccord.stages.translate import _remarks
from recording_kit import DATE, printed_lab, sheet_of
from report_kit import example_order

PAIR = Pair.parse("millrace-press@smooth-ivory")


def known_by(swatches, *, read=True):
    """A pair of which a sheet of so many swatches was read."""
    sheet = sheet_of(swatches)
    builds = np.array([swatch.build.values for swatch in sheet.swatches])
    lab = printed_lab(builds, Drive.CMYK, seed=1)
    readings = SheetReadings(
        sheet=sheet.id,
        readings=tuple(
            Reading(swatch=swatch.id, lab=tuple(row))
            for swatch, row in zip(sheet.swatches, lab.tolist(), strict=True)
        ),
        read_on=DATE,
    )
    noon = datetime.datetime.combine(DATE, datetime.time(12), datetime.UTC)
    kept = KeptReadings(digest="read", sheet=sheet, readings=readings, recorded_at=noon)
    records = (kept,) if read else ()
    return PairKnowledge(
        pair=PAIR,
        drive=Drive.CMYK,
        policy=InkPolicy(total_ink_limit=280.0),
        paper=(92.0, 0.0, 5.0),
        kept=records,
        picks=(),
        sheets=(),
        course=follow(records, 2.0),
    )


@pytest.fixture(scope="module")
def known():
    return known_by(60)


def translated(known, aim, artwork, **more):
    """Translate one colour of an order that asks for it so."""
    colour = BrandColour.model_validate({"aim": aim, "in_artwork": [artwork], **more})
    order = example_order()
    order = order.model_copy(update={"colours": {"type": colour}})
    bench = SimpleNamespace(pair=lambda _: known, place=lambda *path: None)
    return translating.translated(order, "type", resolve_aim(order, "type", bench), known, bench)


DARK = {"lab": tuple(printed_lab(np.array([[60.0, 40, 35, 70]]), Drive.CMYK, seed=0)[0].tolist())}


def test_small_type_keeps_its_one_ink_and_the_cost_is_told(known):
    plain = translated(known, DARK, "cmyk 0 0 0 100")
    alone = translated(known, DARK, "cmyk 0 0 0 100", black="keep")
    assert max(plain.build.values[:3]) > 0
    assert alone.build.values[:3] == (0.0, 0.0, 0.0)
    assert all(tint.build.values[:3] == (0.0, 0.0, 0.0) for tint in alone.tints)
    told = re.fullmatch(
        r"the artwork's black is kept: ([\d.]+) ΔE00 from the aim instead of ([\d.]+)", alone.note
    )
    assert [float(number) for number in told.groups()] == pytest.approx(
        [alone.delta_e_00, plain.delta_e_00], abs=0.051
    )
    assert alone.delta_e_00 > plain.delta_e_00 + 1.0
    assert plain.note == ""


def test_a_mixture_keeps_its_share_of_black(known):
    kept_black = translated(known, DARK, "cmyk 60 40 40 65", black="keep")
    assert kept_black.build.values[3] == 65.0
    most = translated(known, DARK, "cmyk 60 40 40 65", black="most")
    least = translated(known, DARK, "cmyk 60 40 40 65", black="least")
    assert most.build.values[3] > kept_black.build.values[3] > least.build.values[3]
    assert "as the colour allows" in most.note
    assert "at no cost in match" in least.note


def test_black_that_no_one_can_keep_is_not_said_to_be_kept(known):
    it = translated(known, DARK, "rgb 30 30 30", black="keep")
    assert "no CMYK" in it.note
    assert it.build == translated(known, DARK, "rgb 30 30 30").build


def test_an_aim_that_nobody_has_read_is_not_called_sure():
    aim = {"build": "cmyk 60 20 70 10", "on": str(PAIR)}
    unread = translated(known_by(12, read=False), aim, "cmyk 60 20 70 10")
    assert unread.evidence is Evidence.ESTIMATED
    assert (unread.to_aim, unread.sure_to) == ("not yet", "not yet")
    assert unread.uncertainty > 4.0


def test_what_is_lost_by_less_than_its_own_doubt_is_perhaps_in_reach():
    """Straight out of the reach: a little, less than the prediction may be off, and a lot."""
    known = known_by(12)
    edge = known.lab_of(Build.cmyk(0, 50, 100, 0))
    far = translated(known, {"lab": tuple((edge * [1, 1, 2.0]).tolist())}, "cmyk 0 0 100 0")
    assert not far.reachable
    assert far.reach == "out of reach"
    bound = known.bound_of(Build.cmyk(0, 50, 100, 0))
    for share in np.linspace(1.01, 1.6, 60):
        lab = edge * [1, 1, share]
        if 1.5 < delta_e_2000(edge, lab) < bound:
            break
    else:
        pytest.fail(f"no step between just seen and {bound}")
    near = translated(known, {"lab": tuple(lab.tolist())}, "cmyk 0 0 100 0")
    assert not near.reachable
    assert near.reach == "perhaps just out of reach"
    bench = SimpleNamespace(place=lambda *path: None)
    (remark,) = _remarks(near, bench, Prefer.EACH_CLOSEST, [])
    assert "accept it on its pieces" in remark.hint
    assert "'prefer: alike'" in remark.hint
    (of_alike,) = _remarks(near, bench, Prefer.ALIKE, [])
    assert "alike" not in of_alike.hint
    (of_accepted,) = _remarks(near, bench, Prefer.ALIKE, ["tag", "card"])
    assert of_accepted.hint == "it is accepted on tag and card"
    assert "perhaps just out of reach" in remark.message
    assert f"sure to ±{near.uncertainty:.1f}" in remark.message
