"""Holes where binders want them, and cards that a guillotine can part and stack in order."""

import datetime
import io
import itertools
import subprocess
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guillotine_kit import Guillotine
from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.errors import OrderError
from inkaccord.layout.cutplan import cut_plan
from inkaccord.layout.punching import Holes
from inkaccord.sheets.drawing.card_drawing import lay_cards, lay_set_cards
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.keeping import RingCards, punched
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.swatch_set import lay_swatch_set
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM, mm
from outside import need_program

A4 = SheetFormat(size=Size.parse("a4"), unprintable=Sides.even(12))
CARDS = RingCards.four_on(Size.parse("letter"))
LETTER = SheetFormat(size=Size.parse("letter"), unprintable=Sides.even(12))
SIZES = SheetSettings()


def planned(page: SheetFormat, count: int = 130) -> SampleSheet:
    builds = np.random.default_rng(7).integers(0, 60, (count, 4)).astype(float)
    sheet = lay_swatch_set(
        Pair.parse("laser@kraft"),
        builds,
        GenericPress.of(Drive.CMYK).predict_lab(builds),
        page,
        drive=Drive.CMYK,
        name="autumn set",
        date=datetime.date(2026, 5, 14),
    )
    assert sheet is not None
    return sheet


def test_two_holes_lie_where_iso_838_has_them() -> None:
    """ISO 838:1974: centres 80 mm apart, 12 mm from the edge, even about the middle.

    Read in an online encyclopedia's article on hole punching, not in the standard itself.
    """
    (x1, low), (x2, high) = Holes.TWO.centres(A4.size)
    assert mm(x1) == mm(x2) == pytest.approx(12)
    assert mm(high - low) == pytest.approx(80)
    assert mm(low + high) == pytest.approx(297)


def test_four_holes_hold_the_two_and_letter_paper_has_three_a_hand_apart() -> None:
    """The same article: two more at 80 mm; and three holes 4¼ in apart on letter paper."""
    two, four = (holes.centres(A4.size) for holes in (Holes.TWO, Holes.FOUR))
    assert np.allclose(four[1:3], two)
    three = [y for _, y in Holes.THREE.centres(LETTER.size)]
    assert [b - a for a, b in itertools.pairwise(three)] == pytest.approx([306, 306])
    assert three[1] == pytest.approx(396)


@pytest.mark.parametrize(
    ("holes", "page", "number", "apart_mm"),
    [
        (Holes.HALF_LETTER, "5.5in x 8.5in", 3, [69.85, 69.85]),
        (Holes.SIX, "a5", 6, [19, 19, 70, 19, 19]),
        (Holes.DISCS, "letter", 11, [25.4] * 10),
        (Holes.DISCS, "5.5in x 8.5in", 8, [25.4] * 7),
        (Holes.COIL, "letter", 44, [0.2475 * 25.4] * 43),
    ],
)
def test_holes_of_other_binders_lie_even_about_the_middle(
    holes: Holes, page: str, number: int, apart_mm: list[float]
) -> None:
    """Common practice, no source; of the coil, 44 holes on 11 in, a trade magazine's article."""
    size = Size.parse(page)
    centres = holes.centres(size)
    ys = [mm(y) for _, y in centres]
    assert len(ys) == number
    assert [b - a for a, b in itertools.pairwise(ys)] == pytest.approx(apart_mm)
    assert ys[0] + ys[-1] == pytest.approx(mm(size.height_pt))
    assert holes.edge_pt + holes.guide_pt < holes.margin_pt


def test_holes_turn_with_their_page() -> None:
    page = punched(A4, Holes.TWO)
    turned = page.turned
    assert turned.size.same_as(A4.size.turned)
    left = [mm(hole.y_pt) for hole in turned.holes]  # what was the left edge lies below
    assert left == pytest.approx([12, 12])
    assert sorted(mm(hole.x_pt) for hole in turned.holes) == pytest.approx([108.5, 188.5])


def test_a_page_too_short_to_punch_is_refused() -> None:
    with pytest.raises(OrderError) as caught:
        punched(SheetFormat(size=Size.parse("a5")), Holes.FOUR)
    assert caught.value.findings[0].code == "too-short-to-punch"


def test_nothing_but_the_guides_stands_in_the_punch_margin(tmp_path: Path) -> None:
    gs = need_program("gs", "ghostscript")
    sheet = planned(punched(A4, Holes.TWO))
    guided = draw_sheet(sheet)
    plain = draw_sheet(sheet.model_copy(update={"holes": ()}))
    for name, pdf, margin in (("plain", plain, 20.0), ("guided", guided, 12.0 - 2.0)):
        (tmp_path / f"{name}.pdf").write_bytes(pdf)
        told = subprocess.run(
            [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=bbox", f"{name}.pdf"],
            cwd=tmp_path, check=True, capture_output=True, text=True,
        ).stderr  # fmt: skip
        lefts = [
            float(line.split()[1])
            for line in told.splitlines()
            if line.startswith("%%HiResBoundingBox")
        ]
        assert mm(min(lefts)) == pytest.approx(margin, abs=0.1)


@pytest.mark.parametrize(
    ("on", "cards", "places"),
    [
        (LETTER, CARDS, 4),
        (A4, RingCards(size=Size.parse("a6")), 4),
        (SheetFormat(size=Size.parse("sra3"), unprintable=Sides.even(15)), CARDS, 8),
        (SheetFormat(size=Size.parse("a3"), unprintable=Sides.even(20)), CARDS, 6),
    ],
)
def test_cards_are_cut_apart_by_edge_to_edge_cuts(
    on: SheetFormat, cards: RingCards, places: int
) -> None:
    laid = lay_cards(cards, 130, on, SIZES)
    assert laid.places == places
    assert laid.sheets == -(-130 // places)
    # Cut a pile the way the plan says, every pile of a line at once, and see what is on the table.
    size = laid.on.size
    pieces = [("parts", tuple(laid.layout.placements[n].trim)) for n in range(places)]
    table = Guillotine(size.width_pt, size.height_pt, pieces)
    table.cut_all([str(cut) for cut in cut_plan(laid.layout)])
    assert table.turns <= 3
    corners = sorted(laid.corner(place) for place in range(places))
    assert np.allclose(sorted(paper[:2] for _, paper in table.loose), corners, atol=0.1)


@given(
    card=st.tuples(st.floats(180, 400), st.floats(180, 400)),
    sheet=st.tuples(st.floats(400, 1300), st.floats(400, 1300)),
    margin=st.floats(0, 30),
    count=st.integers(1, 300),
)
@settings(max_examples=60, deadline=None)
def test_cards_never_overlap_nor_leave_the_sheet(
    card: tuple[float, float], sheet: tuple[float, float], margin: float, count: int
) -> None:
    cards = RingCards(size=Size(width_pt=card[0], height_pt=card[1]))
    on = SheetFormat(
        size=Size(width_pt=sheet[0], height_pt=sheet[1]), unprintable=Sides.even(margin)
    )
    try:
        laid = lay_cards(cards, count, on, SIZES)
    except OrderError:
        assert card[0] > min(sheet) - 2 * margin or card[1] > min(sheet) - 2 * margin
        return
    live = SIZES.live_area(cards.page())
    for place in range(laid.places):
        x, y = laid.corner(place)
        assert -0.01 <= x <= laid.on.size.width_pt - card[0] + 0.01
        assert -0.01 <= y <= laid.on.size.height_pt - card[1] + 0.01
        assert x + live[0] >= margin - 0.02
        assert y + live[1] >= margin - 0.02
        assert x + live[2] <= laid.on.size.width_pt - margin + 0.02
        assert y + live[3] <= laid.on.size.height_pt - margin + 0.02
    boxes = [laid.layout.placements[place].trim for place in range(laid.places)]
    assert not any(a.meets(b, 0.01) for a, b in itertools.combinations(boxes, 2))
    held = sorted(laid.number(n, place) for n in range(laid.sheets) for place in range(laid.places))
    assert held == list(range(1, laid.sheets * laid.places + 1))
    assert laid.sheets * laid.places >= count > (laid.sheets - 1) * laid.places


def test_cut_piles_put_on_each_other_are_in_order() -> None:
    laid = lay_cards(CARDS, 130, LETTER, SIZES)
    piles = [[laid.number(n, place) for n in range(laid.sheets)] for place in range(laid.places)]
    assert [card for pile in piles for card in pile][:130] == list(range(1, 131))


def test_every_card_carries_its_code_and_the_plan_its_caution(tmp_path: Path) -> None:
    pdftotext = need_program("pdftotext", "poppler-utils")
    cards = CARDS
    sheet = planned(cards.page())
    drawn = [DrawnSheet(sheet, draw_sheet(sheet))]
    pdf = lay_set_cards(drawn, cards, LETTER)
    assert pdf == lay_set_cards(drawn, cards, LETTER)
    (tmp_path / "cards.pdf").write_bytes(pdf)
    told = subprocess.run(
        [pdftotext, "cards.pdf", "-"], cwd=tmp_path, check=True, capture_output=True, text=True
    ).stdout
    plan, *pages = told.split("\f")
    words = " ".join(plan.split())
    assert "Cut plan" in words
    assert "Blades cut before they are felt" in words
    assert "set 139.70 mm (5.500 in)" in words
    codes = [word for page in pages for word in page.split() if word.startswith(sheet.id + "/")]
    assert sorted(codes, key=lambda code: int(code.split("/")[1])) == [
        f"{sheet.id}/{n}" for n in range(1, sheet.pages + 1)
    ]
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) == 1 + -(-sheet.pages // 4)


@pytest.mark.parametrize(
    ("on", "size"), [(LETTER, "4.25in x 5.5in"), (A4, "a6"), (A4, "90mm x 140mm")]
)
def test_no_print_of_the_cards_leaves_what_the_device_prints(
    on: SheetFormat, size: str, tmp_path: Path
) -> None:
    gs = need_program("gs", "ghostscript")
    cards = RingCards(size=Size.parse(size))
    sheet = planned(cards.page())
    laid = lay_set_cards([DrawnSheet(sheet, draw_sheet(sheet))], cards, on)
    (tmp_path / "cards.pdf").write_bytes(laid)
    told = subprocess.run(
        [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=bbox", "cards.pdf"],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    ).stderr  # fmt: skip
    for line in told.splitlines():
        if line.startswith("%%HiResBoundingBox"):
            left, bottom, right, top = (float(edge) for edge in line.split()[1:])
            assert min(left, bottom) >= 12 - 0.15  # half a hairline's width
            assert right <= on.size.width_pt - 12 + 0.15
            assert top <= on.size.height_pt - 12 + 0.15


def test_the_hole_lies_in_the_tab_clear_of_all_print() -> None:
    cards = CARDS
    live = SIZES.live_area(cards.page())
    assert cards.size.height_pt - live[3] >= cards.hole_y_pt + cards.hole_pt / 2 + 2 * PT_PER_MM


def test_cards_that_fit_on_no_sheet_or_of_another_size_are_refused() -> None:
    with pytest.raises(OrderError) as caught:
        lay_cards(CARDS, 10, SheetFormat(size=Size.parse("a6")), SIZES)
    assert caught.value.findings[0].code == "sheet-too-small"
    with pytest.raises(OrderError) as caught:
        lay_set_cards([DrawnSheet(planned(A4), b"")], CARDS, LETTER)
    assert caught.value.findings[0].code == "not-a-card"
