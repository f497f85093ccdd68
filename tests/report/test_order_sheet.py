"""What a vendor is told, and what it is not told too early."""

import io
import re
from decimal import Decimal
from typing import Any

import pikepdf
import pytest

from inkaccord.cautions import BLADES, HEAT, POST
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.layout.model import Duplex
from inkaccord.order.model import Order
from inkaccord.order.pricing import Charge, ChargeKind
from inkaccord.order.vendors import Vendor
from inkaccord.report.order_parts import notes_part, price_table
from inkaccord.report.order_sheet import SET, order_sheets
from inkaccord.report.paper import typeset
from inkaccord.report.parts import Part
from inkaccord.run.files import OutFile
from inkaccord.run.record import PieceStatus, Run
from inkaccord.sizes import Size
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
        "5.5 × 4.25 in (139.7 × 107.95 mm)",
        "smooth-ivory, 110 lb cover, grain long",
        "Printed both sides",
        "members-evening-reply-card.pdf, page 1 (front) and page 2 (back)",
        "Page size 5.75 × 4.5 in (146.05 × 114.3 mm)",
        "Bleed 0.125 in (3.175 mm)",
        "Inks, front 4 process inks (cyan, magenta, yellow and black)",
        "Inks, back 1 process ink (black)",
        "cmyk 98 41 72 0",
        SET,
        "Trim to the TrimBox.",
        "69.30",  # 126 at 0.55
        "116.20",  # with 35 for the set-up and 11.90 for the delivery
        "makers' instructions",
    ):
        assert expected in said, expected
    assert BLADES not in said, "nothing is cut from sheets here"
    assert HEAT not in said, "no envelope is printed here"


def test_waivers_cuts_and_what_is_still_to_come_are_printed(desk: Desk) -> None:
    said = words_of(
        sheets(desk, notes={"north-quay": ["Long grain throughout."]})["north-quay"].data
    )
    for expected in (
        "Known, and meant so: the waterline is meant to be this fine",
        "set 277.8 mm, cut across: between row 1 and row 2",
        BLADES,
        "envelope, 136: not released yet",
        "Long grain throughout.",
    ):
        assert expected in said, expected


def test_who_prints_envelopes_or_an_address_reads_what_to_mind(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    data["pieces"]["reply-card"]["addressed"] = True
    data["stocks"]["smooth-ivory"]["kind"] = "envelope"
    said = words_of(sheets(desk, order=Order.model_validate(data))["millrace"].data)
    assert f"Address It bears one. {POST}" in said
    assert f"Envelopes: {HEAT}" in said


def test_a_press_room_reads_of_a_run_all_that_it_has_to_set(desk: Desk) -> None:
    said = words_of(sheets(desk)["north-quay"].data)
    for expected in (
        "Laid in run 1, below",
        "Sheets 33 sheets, 4 × invitation on each",
        "Page members-evening-invitation.pdf, page 1 (front and back)",
        "Page size 13 × 19 in (330.2 × 482.6 mm)",
        "both sides, work and turn: one forme, the gripper edge stays",
        "Gripper bottom edge, 10 mm",
        "Side lay left edge of the front; for the back the same edge, then at the right",
        "Grain long, along the side of 482.6 mm",
        "2 process inks (cyan and black)",
        "2 separations of their own: ‘Gold foil’ and ‘White’",
        "marks add magenta and yellow",
        "on both sides alike",
    ):
        assert expected in said, expected


@pytest.mark.parametrize(
    ("turning", "words"),
    [
        ("work-and-tumble", ["one forme, the top edge grips next", "Side lay left edge Grain"]),
        ("sheetwise", ["two formes, the gripper edge stays", "then at the right"]),
        ("one-sided", ["Printed one side", "Side lay left edge Grain"]),
    ],
)
def test_each_way_of_turning_is_told(desk: Desk, turning: str, words: list[str]) -> None:
    first, *rest = desk.run.runs
    runs = (first.model_copy(update={"turning": Duplex(turning)}), *rest)
    said = words_of(sheets(desk, run=desk.run.model_copy(update={"runs": runs}))["north-quay"].data)
    for expected in words:
        assert expected in said


def test_who_orders_where_it_goes_and_in_what_money_is_told_where_known(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    plain = words_of(sheets(desk)["millrace"].data)
    assert not any(words in plain for words in ("Ordered by", "Deliver to"))
    data["ordered_by"] = {"name": "A. Quill, Boathouse Museum", "telephone": "+00 555 0100"}
    data |= {"deliver_to": "Boathouse Museum\n4 Slipway", "currency": "CHF"}
    said = words_of(sheets(desk, order=Order.model_validate(data))["millrace"].data)
    for expected in (
        "A. Quill, Boathouse Museum", "+00 555 0100", "4 Slipway", "Price in CHF", "Ordered by",
        "Deliver to",
    ):  # fmt: skip
        assert expected in said, expected


def test_what_concerns_the_studio_alone_stays_out(desk: Desk) -> None:
    by_eye = {"by_eye": True, "eye_decides": True, "verdict": Verdict.UNCERTAIN}
    judged = [it.model_copy(update=by_eye) for it in desk.run.agreement]
    for agreement in (desk.run.agreement, tuple(judged)):
        run = desk.run.model_copy(update={"agreement": agreement})
        for file in sheets(desk, run=run).values():
            said = words_of(file.data).lower()
            for word in (
                "read",
                "picked",
                "estimated",
                "tolerance",
                "by eye",
                "released as",
                "aim",
            ):
                assert not re.search(rf"\b{word}\b", said), word


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
    data["stocks"]["smooth-ivory"]["description"] = HOSTILE
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


def test_a_long_list_of_prices_stands_below_the_notes_and_goes_on_over_the_page() -> None:
    charges = [
        Charge(vendor="v", what=what, of=(f"piece {at}",), number=number, each=Decimal(2),
               sum=Decimal(2 * number), currency="EUR")
        for at in range(60)
        for what, number in ((ChargeKind.PRINT, 100 + at), (ChargeKind.SETUP, 1))
    ]  # fmt: skip
    vendor = Vendor.model_validate({"devices": {"press": {}}, "notes": "Ring before you print."})

    def story(width_pt: float) -> list[Part]:
        return [*notes_part(vendor, []), *price_table(charges, width_pt)]

    data = typeset(story, size=Size.parse("a4"), title="t", running="r")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 2, "one line for each piece, from the first page on"
    said = words_of(data)
    assert said.index("Ring before you print.") < said.index("piece 0")
    assert "piece 59 159 2.00 318.00 2.00 320.00" in said
    assert said.count("Price in EUR") == 2, "its head on each page"
    # 2 × (100 + … + 159) + 60 × 2, which is 2 × 7770 + 120.
    assert "Total 15,660.00" in said
