"""Sheets that a person asks for, of a pair of which nothing is read."""

from dataclasses import replace

import numpy as np
import pytest

import colour
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.errors import OrderError
from inkaccord.knowledge.course import Course
from inkaccord.knowledge.pairs import UNREAD_PAPER, PairKnowledge
from inkaccord.knowledge.swatch_set import with_told
from inkaccord.planning.by_hand import (
    plan_controls,
    plan_swatch_set,
    range_near,
    stranger_findings,
)
from inkaccord.planning.sample_pages import small_pages
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size
from planning_kit import DATE, INKJET, KRAFT, LASER, order_of
from recording_kit import sheet_of

UNREAD = PairKnowledge(
    pair=LASER,
    drive=Drive.CMYK,
    policy=InkPolicy(total_ink_limit=300.0),
    paper=UNREAD_PAPER,
    kept=(),
    picks=(),
    sheets=(),
    course=Course(),
)


class Nobody:
    """A shelf that is asked of nothing."""

    def know(self, pair):
        raise AssertionError(pair)

    def sheet(self, sheet_id):
        raise AssertionError(sheet_id)


NOBODY = Nobody()


def page(size):
    return SheetFormat(size=Size.parse(size), unprintable=Sides.even(12.0))


def test_a_check_of_the_controls_is_the_twelve_of_them_on_the_smallest_block():
    sheet = plan_controls(UNREAD, small_pages(None, [page("13x19in")]), DATE)
    assert (sheet.purpose, sheet.pair, sheet.date) == (Purpose.CONTROLS, LASER, DATE)
    assert len(sheet.swatches) == 12
    assert all(swatch.control for swatch in sheet.swatches)
    assert sheet.size == Size.parse("4.25in x 5.5in")


def test_a_dark_stock_makes_the_type_of_the_controls_larger():
    plain = plan_controls(UNREAD, [page("a4")], DATE)
    dark = plan_controls(replace(UNREAD, paper=(25.0, 2.0, -8.0)), [page("a4")], DATE)
    assert dark.settings.label_pt > plain.settings.label_pt
    assert dark.settings.label_bold


@pytest.mark.slow
def test_a_range_near_a_colour_is_round_what_the_pair_prints_of_it():
    build = np.array([[85.0, 20.0, 60.0, 30.0]])
    near = range_near(UNREAD, "C85 M20 Y60 K30", 6.0, NOBODY)
    assert near.title == "Within 6 ΔE00 of cmyk 85 20 60 30"
    assert near.region.near == pytest.approx(UNREAD.model.predict_lab(build)[0], abs=1e-3)
    sheet = plan_swatch_set(UNREAD, page("a4"), DATE, count=12, only=near).sheet
    first = min((one for one in sheet.swatches if not one.control), key=lambda one: one.id)
    assert len(sheet.swatches) == 24
    assert first.id == "A1"
    looks = UNREAD.model.predict_lab(
        np.array([one.build.values for one in sheet.swatches if not one.control])
    )
    assert delta_e_2000(looks, near.region.near).max() <= 6.0


@pytest.mark.parametrize("what", ["lab 45.9 -29.8 0.5", "rgb 33 122 107", "#217a6b"])
def test_a_range_is_near_cielab_or_what_a_screen_shows(what):
    """The three are one colour, by colour-science's sRGB to CIELAB (D50), to 0.5 ΔE00."""
    found = range_near(UNREAD, what, 8.0, NOBODY).region.near
    linear = colour.RGB_to_XYZ(np.array([33, 122, 107]) / 255, "sRGB", apply_cctf_decoding=True)
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    adapted = colour.chromatic_adaptation(
        linear, colour.xy_to_XYZ(white["D65"]), colour.xy_to_XYZ(white["D50"])
    )
    wanted = colour.XYZ_to_Lab(adapted, white["D50"])
    assert delta_e_2000(found, wanted) < 0.5


@pytest.mark.parametrize(
    "what", ["kelp", "cmyk 85 20 60", "cmyk 0 0 0 140", "lab 300 0 0", "rgb 9"]
)
def test_what_is_no_colour_to_be_near_is_refused(what):
    with pytest.raises(OrderError) as refusal:
        range_near(UNREAD, what, 8.0, NOBODY)
    (said,) = refusal.value.findings
    assert said.code == "not-a-colour"
    assert what in said.message


def test_what_a_person_tells_goes_before_the_order_but_for_the_drive():
    told = with_told(UNREAD, drive=Drive.CMYK, ink_limit=240.0, paper=(64.0, 10.0, 24.0))
    assert told.policy.total_ink_limit == 240
    assert told.paper_lightness == 64
    assert with_told(UNREAD).policy == UNREAD.policy
    assert with_told(UNREAD).paper == UNREAD.paper
    with pytest.raises(OrderError, match="laser@card is driven in CMYK"):
        with_told(UNREAD, drive=Drive.RGB)


def test_a_pair_that_nobody_knows_may_be_a_slip():
    stranger = replace(UNREAD, pair=LASER.model_copy(update={"device": "lasr"}))
    (said,) = stranger_findings(stranger, [LASER, KRAFT], None)
    assert said.code == "unknown-pair"
    assert "the shelf does not know lasr@card" in said.message
    assert "did you mean 'laser@card' or" in said.hint
    (said,) = stranger_findings(stranger, [], order_of())
    assert "neither the order nor its shelf knows" in said.message
    (said,) = stranger_findings(stranger, [], None)
    assert said.hint.startswith("If it is a new pair, all is well")


def test_a_pair_of_the_order_or_with_a_sheet_is_no_stranger():
    assert stranger_findings(UNREAD, [], order_of()) == ()
    assert stranger_findings(replace(UNREAD, sheets=(sheet_of(),)), [LASER], None) == ()
    assert stranger_findings(replace(UNREAD, pair=INKJET), [KRAFT], None) != ()
