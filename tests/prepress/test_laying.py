"""What an order says of a piece, its stock and its vendor is what imposition is asked for."""

import re
from types import SimpleNamespace

import pypdfium2
import pytest
from pypdfium2.raw import FPDF_PAGEOBJ_PATH

from inkaccord.errors import OrderError
from inkaccord.foresight.ahead import look_ahead
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.marks import MarkInk
from inkaccord.layout.model import BackUp, Gutter, LayoutRules
from inkaccord.layout.packing import lay_out
from inkaccord.layout.rules import ImposeRules
from inkaccord.planning.sample_pages import device_sheets
from inkaccord.prepress.laying import item_of, layout_rules, mark_rules, sheets_of
from inkaccord.prepress.offers import offers
from inkaccord.report.wording import folding
from inkaccord.sizes import Size
from inkaccord.testing import draw_artwork
from inkaccord.units import inches
from inkaccord.workbench import Workbench


def laid(loaded, sides=1):
    job = loaded.order.jobs["card"]
    return lay_out([item_of(job, sides)], sheets_of(job), layout_rules(job, sides))


def test_a_stock_that_has_a_direction_turns_no_piece(loaded):
    slip = {"trim": "3in x 10.5in"}
    # On their side five fit one above the other; upright three stand side by side.
    (free,) = laid(loaded(piece=slip)).layouts
    assert {placed.turned for placed in free.placements} == {True}
    (upright,) = laid(loaded(piece=slip, stock={"directional": True})).layouts
    assert {placed.turned for placed in upright.placements} == {False}


def test_neighbours_may_share_a_bleed(loaded):
    job = loaded(vendor={"shared_bleed": True}).order.jobs["card"]
    rules = layout_rules(job, 1)
    assert (rules.gutter, rules.between_pt) == (Gutter.SHARE, 0.0)
    boxes = sorted(
        placed.trim for placed in laid(loaded(vendor={"shared_bleed": True})).layouts[0].placements
    )
    gaps = {round(right.left - left.right, 3) for left in boxes for right in boxes} | {
        round(upper.bottom - lower.top, 3) for lower in boxes for upper in boxes
    }
    assert min(gap for gap in gaps if gap > 0) == pytest.approx(inches(1 / 8))


def test_a_vendor_may_want_few_different_sheets(loaded):
    assert layout_rules(loaded().order.jobs["card"], 1).max_layouts is None
    assert layout_rules(loaded(vendor={"max_layouts": 1}).order.jobs["card"], 1).max_layouts == 1
    with pytest.raises(OrderError, match="max_layouts"):
        loaded(vendor={"max_layouts": 0})


@pytest.mark.parametrize(
    ("asked", "ink"), [({}, MarkInk.BLACK), ({"mark_ink": "all"}, MarkInk.ALL)]
)
def test_marks_are_in_the_ink_that_the_vendor_wants(loaded, asked, ink):
    order = loaded(vendor=asked).order
    assert mark_rules(order, order.jobs["card"], "slug").ink is ink


def test_a_back_may_stand_head_to_foot(loaded):
    job = loaded(piece={"back_up": "head-to-foot"}).order.jobs["card"]
    assert item_of(job, 2).back_up is BackUp.HEAD_TO_FOOT
    assert item_of(loaded().order.jobs["card"], 2).back_up is BackUp.HEAD_TO_HEAD


@pytest.mark.parametrize(
    ("fold", "at", "words"),
    [
        (
            "gate",
            [1.21875, 3.78125],
            "(gate fold), upright, 1.21875 in and 3.78125 in",
        ),
        (
            {"style": "letter", "tuck": "1/8in", "line": "horizontal"},
            [2.375, 4.75],
            "twice (letter fold)",
        ),
        ({"style": "accordion", "panels": 4}, [1.25, 2.5, 3.75], "3 times (accordion fold)"),
        ("half", [2.5], "once (half fold)"),
        ("vertical", [2.5], "once, upright, 2.5 in from the left"),
    ],
)
def test_folds_of_the_usual_ways_are_worked_out(loaded, fold, at, words):
    """Widths by hand: 5 × 7 in; a gate's flaps stop 1/32 in short of the middle on either side."""
    job = loaded(piece={"fold": fold}).order.jobs["card"]
    folds = item_of(job, 1).folds
    assert [it.at_pt for it in folds] == pytest.approx([inches(place) for place in at])
    assert len({it.runs for it in folds}) == 1
    assert words in folding(job.piece.fold, job.piece.trim)


def test_folds_that_leave_a_panel_no_width_are_said_with_their_line(loaded):
    with pytest.raises(OrderError, match="a gate fold leaves a panel no width") as problem:
        loaded(piece={"fold": {"style": "gate", "tuck": "6in"}})
    assert problem.value.findings[0].place.line is not None
    with pytest.raises(OrderError, match="'style' or 'at', not both"):
        loaded(piece={"fold": {"style": "gate", "at": ["1in"]}})


def test_records_with_two_sides_need_two_formes(loaded):
    order = loaded(
        piece={"records": "cut-and-stack", "sides": 2}, device={"turning": "work-and-turn"}
    )
    with pytest.raises(OrderError, match="prints both sides of card from one forme"):
        look_ahead(order, Workbench(order))


@pytest.mark.parametrize(
    ("aperture", "side_mm", "sheet", "said"),
    [
        (None, 11, "12in x 18in", ""),
        ("16mm", 19, "12in x 18in", ""),
        (None, 11, "10.75in x 15in", "no control swatches: what is cut off has no room for 11 mm"),
    ],
)
def test_control_swatches_suit_the_instrument_or_the_sheet_says_why_not(
    loaded, aperture, side_mm, sheet, said
):
    """Measured on the written sheet, by another program."""
    order = loaded(order={"aperture": aperture}, device={"sheets": [sheet], "margin": "0in"}).order
    job, item = order.jobs["card"], item_of(order.jobs["card"], 1)
    tight = LayoutRules(between_pt=inches(1 / 4))
    rules = ImposeRules(marks=mark_rules(order, job, "here"))
    written = impose_sheets(
        {("card", 1): draw_artwork("5in x 7in")}, lay_out([item], sheets_of(job), tight), rules
    )
    with pypdfium2.PdfDocument(written.data) as pdf:
        boxes = dict(swatches_on(pdf[0]))
        words = pdf[0].get_textpage().get_text_range()
    assert list(boxes) == ([] if said else [f"X{number}" for number in range(1, 13)])
    for left, bottom, right, top in boxes.values():
        assert min(right - left, top - bottom) >= side_mm / 25.4 * 72 - 0.01
    assert said in words
    assert [said in finding.message for finding in written.findings] == [True] * bool(said)


def swatches_on(page):
    """Yield the control swatches of a page: the label below each, and its filled box in points."""
    text = page.get_textpage()
    fills = [
        it.get_bounds() for it in page.get_objects(max_depth=5) if it.type == FPDF_PAGEOBJ_PATH
    ]
    for found in re.finditer(r"\bX\d+\b", text.get_text_range()):
        x, _, _, top = text.get_charbox(found.start())
        yield (
            found[0],
            next(box for box in fills if box[0] - 1 <= x <= box[2] and 0 <= box[1] - top < 6),
        )


def test_a_piece_without_a_fold_may_have_a_grain(loaded):
    """The card is 5 × 7 in; the sheet's grain runs along its 18 in, which stand upright."""
    for word, turned in (("vertical", False), ("horizontal", True)):
        order = loaded(piece={"grain": word}, stock={"grain": "long"})
        (layout,) = laid(order).layouts
        assert {placed.turned for placed in layout.placements} == {turned}
    (finding,) = laid(loaded(piece={"grain": "vertical"})).findings
    assert finding.code == "grain-unknown"
    assert "card is to have its grain one way" in finding.message


def test_a_stated_grain_goes_before_that_of_the_folds(loaded):
    order = loaded(piece={"fold": "vertical", "grain": "horizontal"}, stock={"grain": "long"})
    (finding,) = laid(order).findings
    assert finding.code == "fold-across-grain"


@pytest.mark.parametrize(
    ("stock", "takes", "laid_on"),
    [
        # By hand: which of the sheets lie within the stock, either way round.
        ("a4", ["sra3"], ["a4"]),  # a smaller stock than any sheet: no layout is larger than it
        ("a4", ["sra3", "a4"], ["a4"]),
        ("sra3", ["a4", "sra3"], ["a4", "sra3"]),
        ("450mm x 320mm", ["sra3"], ["sra3"]),
        ("640mm x 900mm", ["sra3", "a4"], ["sra3", "a4"]),
        ("12in x 18in", ["sra3"], ["12in x 18in"]),  # narrower, and longer
        ("a4", [], ["a4"]),
    ],
)
def test_no_layout_is_larger_than_its_stock(loaded, stock, takes, laid_on):
    order = loaded(stock={"size": stock}, device={"sheets": takes}).order
    job = order.jobs["card"]
    wanted = [Size.parse(it) for it in laid_on]
    assert [it.size for it in sheets_of(job)] == wanted
    # What its sample sheets are cut from is no other paper.
    assert [it.size for it in device_sheets(job)] == wanted


def test_a_quote_is_laid_on_the_sheets_of_its_shop(loaded):
    prices = {"currency": "EUR", "table": 1, "setup": 0, "delivery": 0}
    order = loaded(
        stock={"size": "a4"},
        device={"sheets": ["a4"]},
        vendor={"prices": prices},
        order={"quotes": {"wharf": {"sheets": ["sra3"], "prices": prices}}},
    ).order
    ran = SimpleNamespace(artworks=[SimpleNamespace(piece="card", pages=1, finishes=())])
    on_a_sheet = {it.vendor: it.on_a_sheet for it in offers(order, ran)["card"]}
    # A card of 5 × 7 in takes 133.4 × 184.2 mm with bleed and gutter: of A4 (201.6 × 288.6 mm are
    # printed) two, turned; of SRA3 (311.6 × 441.6 mm) two by two.
    assert on_a_sheet == {"studio": 2, "wharf": 4}
