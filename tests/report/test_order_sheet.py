"""What a vendor is told, and what it is not told too early."""

import io
from typing import Any

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.order.model import Order
from inkaccord.order.pricing import price_of
from inkaccord.order.vendors import Price
from inkaccord.report.order_sheet import BLADES, SET, order_sheets
from inkaccord.run.files import OutFile
from inkaccord.run.record import PieceStatus, Run
from pdf_words import words_of
from report_kit import Desk


def sheets(desk: Desk, **changed: Any) -> dict[str, OutFile]:
    order, run = changed.get("order", desk.order), changed.get("run", desk.run)
    made = order_sheets(order, run, desk.but(order, run).gallery, changed.get("notes"))
    return {file.vendor or "": file for file in made}


def test_only_vendors_with_something_to_print_get_a_sheet(desk: Desk) -> None:
    made = sheets(desk)
    assert set(made) == {"north-quay", "millrace"}
    for vendor, file in made.items():
        assert file.path == f"{vendor}/order-sheet.pdf"
        assert file.what == "order-sheet"


def test_a_sheet_says_what_how_many_on_what_and_by_when(desk: Desk) -> None:
    said = words_of(sheets(desk)["millrace"].data)
    for expected in (
        "Millrace Cards",
        "Members' evening at the Boathouse Museum",
        "2 November 2026",  # four working days before Friday, 6 November
        "6 November 2026",
        "126 = 120 + 6 overs",
        "5.5 × 4.25 in (139.7 × 107.9 mm)",
        "bright-white, 110 lb cover",
        "both sides",
        "members-evening-reply-card.pdf, 2 pages",
        "cmyk 98 41 72 0",
        SET,
        "Trim to the TrimBox.",
        "75.60",  # 126 at 0.60
        "makers' instructions",
    ):
        assert expected in said, expected
    assert BLADES not in said, "nothing is cut from sheets here"


def test_waivers_cuts_and_what_is_still_to_come_are_printed(desk: Desk) -> None:
    said = words_of(
        sheets(desk, notes={"north-quay": ["Long grain throughout."]})["north-quay"].data
    )
    for expected in (
        "hairline: the waterline is meant to be this fine",
        "4 × invitation on a sheet of 330.2 × 482.6 mm",
        "print 33 sheets",
        "set 277.8 mm, cut across: between row 1 and row 2",
        BLADES,
        "envelope, 136: not released yet",
        "Long grain throughout.",
    ):
        assert expected in said, expected


def test_a_piece_released_without_agreement_says_so(desk: Desk) -> None:
    said = words_of(sheets(desk)["millrace"].data)
    assert "Released as the order asks, though not surely inside the tolerances: kelp" in said
    agreed = desk.run.model_copy(update={"agreement": ()})
    assert "Released as" not in words_of(sheets(desk, run=agreed)["millrace"].data)


def test_what_only_the_eye_judged_is_named_as_such(desk: Desk) -> None:
    by_eye = {"by_eye": True, "eye_decides": True, "verdict": Verdict.UNCERTAIN}
    judged = [it.model_copy(update=by_eye) for it in desk.run.agreement if it.colour == "kelp"]
    run = desk.run.model_copy(update={"agreement": tuple(judged)})
    said = words_of(sheets(desk, run=run)["millrace"].data)
    assert "Judged by eye, not measured: kelp." in said
    assert "Released as" not in said


def test_folds_finishing_and_device_settings_are_printed(desk: Desk) -> None:
    ready = desk.run.model_copy(
        update={
            "pieces": tuple(
                it.model_copy(update={"status": PieceStatus.READY, "why": ""})
                for it in desk.run.pieces
            )
        }
    )
    made = sheets(desk, run=ready)
    assert len(made) == 4
    said = words_of(made["studio-inkjet"].data)
    assert "scored and folded once, upright, 5.5 in from the left" in said
    assert "setting matte-best" in said
    assert "rgb 42 110 58" in said
    assert "punch 5 mm, tie with linen thread" in words_of(made["studio-laser"].data)
    assert "Printed as near as it goes" in words_of(made["north-quay"].data)


def test_a_sheet_has_one_or_two_pages_with_boxes_and_embedded_type(desk: Desk) -> None:
    for file in sheets(desk).values():
        with pikepdf.open(io.BytesIO(file.data)) as pdf:
            assert 1 <= len(pdf.pages) <= 2
            for page in pdf.pages:
                assert [float(v) for v in page.MediaBox] == [0, 0, 612, 792]
                assert page.TrimBox is not None
                for font in page.Resources.Font.values():
                    base = font.get("/FontDescriptor")
                    if base is not None:
                        assert "/FontFile2" in base


def test_the_same_order_gives_the_same_bytes(desk: Desk) -> None:
    assert sheets(desk) == sheets(desk)


HOSTILE = "<b>&amp; </para><font color=red> \"quoted\" 'x' {{ 7*7 }} \u202e"


def test_words_of_the_order_are_never_taken_for_markup(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    data["vendors"]["millrace"].update(title=HOSTILE, notes=HOSTILE)
    data["pieces"]["reply-card"].update(finishing=HOSTILE, waive={"x": HOSTILE})
    data["stocks"]["bright-white"]["description"] = HOSTILE
    run: Run = desk.run.model_copy(
        update={
            "title": HOSTILE,
            "pieces": tuple(
                it.model_copy(update={"waived": {"x": HOSTILE}}) for it in desk.run.pieces
            ),
        }
    )
    said = words_of(sheets(desk, order=Order.model_validate(data), run=run)["millrace"].data)
    assert said.count("<b>&amp; </para><font") >= 5
    assert "{{ 7*7 }}" in said


@given(st.integers(1, 2000))
@settings(max_examples=40, deadline=None)
def test_a_price_is_that_of_the_first_line_that_reaches(number: int) -> None:
    table = [Price(up_to=500, each=0.6), Price(up_to=100, each=0.9)]
    it = price_of(table, "x", number)
    assert it.each == (0.9 if number <= 100 else 0.6)
    assert it.total == pytest.approx(number * it.each)
    assert it.past_table == (number > 500)
