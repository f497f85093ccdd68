"""Sheets that a person asks for, of a pair of which nothing is read."""

from dataclasses import replace

import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.errors import OrderError
from inkaccord.knowledge.course import Course
from inkaccord.knowledge.pairs import UNREAD_PAPER, PairKnowledge
from inkaccord.planning.by_hand import plan_controls, plan_house_deck, stranger_findings, with_told
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


def page(size):
    return SheetFormat(size=Size.parse(size), unprintable=Sides.even(12.0))


def test_a_check_of_the_controls_is_the_twelve_of_them_on_the_smallest_block():
    sheet = plan_controls(UNREAD, [page("13x19in")], DATE)
    assert (sheet.purpose, sheet.pair, sheet.date) == (Purpose.CONTROLS, LASER, DATE)
    assert len(sheet.swatches) == 12
    assert all(swatch.control for swatch in sheet.swatches)
    assert sheet.size == Size.parse("4.25in x 5.5in")


def test_a_dark_stock_makes_the_type_of_the_controls_larger():
    plain = plan_controls(UNREAD, [page("a4")], DATE)
    dark = plan_controls(replace(UNREAD, paper=(25.0, 2.0, -8.0)), [page("a4")], DATE)
    assert dark.settings.label_pt > plain.settings.label_pt
    assert dark.settings.label_bold


@pytest.mark.parametrize(
    ("wish", "said"),
    [({"count": 50}, "choose 100 to 5000"), ({"hues": "kelps"}, "yellow greens")],
)
def test_a_deck_that_cannot_be_is_refused(wish, said):
    with pytest.raises(OrderError) as refusal:
        plan_house_deck(UNREAD, page("a4"), DATE, **wish)
    assert said in str([it.hint for it in refusal.value.findings])


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
