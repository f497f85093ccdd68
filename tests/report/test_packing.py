"""The packing list counts what the order counts, and can be ticked, sorted and read by machines."""

import csv
import io
import json
from typing import Any

import pikepdf

from inkaccord.cautions import POST
from inkaccord.order.model import Order
from inkaccord.report.packing import packing_list
from inkaccord.report.packing_page import packing_lists
from inkaccord.run.record import PieceStatus
from inkaccord.sizes import Size
from pdf_words import words_of
from report_kit import Desk


def parts(desk: Desk) -> dict[str, bytes]:
    return {it.path: it.data for it in packing_lists(desk.order, desk.run, desk.gallery)}


def test_all_three_forms_are_given(desk: Desk) -> None:
    assert set(parts(desk)) == {"packing-list.pdf", "packing-list.csv", "packing-list.json"}


def test_every_piece_arrives_once_from_its_own_vendor_with_its_overs(desk: Desk) -> None:
    data = json.loads(parts(desk)["packing-list.json"])
    arrived = {
        it["piece"]: (delivery["vendor"], it["quantity"], it["overs"], it["arrives"])
        for delivery in data["deliveries"]
        for it in delivery["pieces"]
    }
    assert arrived == {
        name: (
            job.vendor_name,
            job.quantity,
            job.overs,
            # 33 sheets of four give 132; the others are delivered one by one.
            132 if name == "invitation" else job.quantity + job.overs,
        )
        for name, job in desk.order.jobs.items()
    }
    assert data["suites"] == 120
    assert set(data["missing"]) == {"envelope", "programme", "lantern-tag"}


def in_a7(order: Order) -> Order:
    """Return the order with an outer envelope that the folded programme is too large for."""
    envelope = order.pieces["envelope"].model_copy(update={"trim": Size.parse("a7-envelope")})
    return order.model_copy(update={"pieces": {**order.pieces, "envelope": envelope}})


def test_a_suite_is_laid_largest_first_and_the_envelope_goes_round_what_fits(desk: Desk) -> None:
    assert [(it.piece, it.fits) for it in packing_list(desk.order, desk.run).suite] == [
        ("programme", True),  # 5½ × 8½ in once folded goes into 8¾ × 5¾ in, turned
        ("invitation", True),
        ("reply-card", True),
        ("lantern-tag", True),
        ("envelope", None),
    ]
    steps = packing_list(in_a7(desk.order), desk.run).suite
    assert [(it.piece, it.fits) for it in steps] == [
        ("invitation", True),  # 5 × 7 in goes into 7¼ × 5¼ in, turned
        ("reply-card", True),
        ("lantern-tag", True),
        ("envelope", None),
        ("programme", False),  # 5½ × 8½ in once folded
    ]
    assert [it.step for it in steps] == [1, 2, 3, 4, 5]
    assert "beside" in steps[-1].place


def test_a_suite_is_laid_as_the_order_names_it(desk: Desk) -> None:
    named = ("reply-card", "envelope", "lantern-tag")
    order = in_a7(desk.order).model_copy(update={"assembly": named})
    steps = packing_list(order, desk.run).suite
    assert [(it.piece, it.place) for it in steps] == [
        ("reply-card", "at the back"),
        ("envelope", "round the others"),
        ("lantern-tag", "on envelope"),
        ("invitation", "on lantern-tag"),  # not named: it follows
        ("programme", "beside the envelope, being larger than envelope"),
    ]


def test_without_an_envelope_and_with_spare_pieces(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    data["pieces"]["envelope"]["per_suite"] = 0
    packing = packing_list(Order.model_validate(data), desk.run)
    assert packing.spare == ("envelope",)
    assert packing.suite[0].piece == "programme"
    assert all(it.fits is None for it in packing.suite)


def test_csv_has_one_line_a_piece_and_the_same_numbers(desk: Desk) -> None:
    text = parts(desk)["packing-list.csv"].decode("utf-8-sig")
    rows = {row["piece"]: row for row in csv.DictReader(io.StringIO(text))}
    assert set(rows) == set(desk.order.pieces)
    for it in desk.run.pieces:
        parts_of_it = (int(rows[it.name][name]) for name in ("quantity", "overs", "more"))
        assert int(rows[it.name]["arrives"]) == sum(parts_of_it)
        assert int(rows[it.name]["quantity"]) == it.quantity
        assert rows[it.name]["status"] == it.status.value


def test_csv_cells_are_never_formulas(desk: Desk) -> None:
    run = desk.run.model_copy(
        update={
            "pieces": tuple(
                it.model_copy(update={"why": "=HYPERLINK(1)", "status": PieceStatus.HELD})
                for it in desk.run.pieces
            )
        }
    )
    text = packing_list(desk.order, run).as_csv().decode("utf-8-sig")
    for row in csv.reader(io.StringIO(text)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)


def test_the_page_says_what_is_missing_and_has_a_box_for_everything(desk: Desk) -> None:
    pdf = parts(desk)["packing-list.pdf"]
    said = words_of(pdf)
    for expected in (
        "Still missing",
        "From North Quay Print",
        "From studio-inkjet",
        "Each suite, in the order of assembly",
        "120 suites of 5 pieces from 4 vendors, due Friday, 6 November 2026.",
        "round the others",
        POST,
    ):
        assert expected in said, expected
    with pikepdf.open(io.BytesIO(pdf)) as document:
        pictures = sum(len(page.Resources.get("/XObject", {})) for page in document.pages)
    assert pictures >= len(desk.order.pieces)


def test_the_same_run_gives_the_same_bytes(desk: Desk) -> None:
    assert parts(desk) == parts(desk)


def test_what_fills_the_sheets_beyond_the_order_is_said(desk: Desk) -> None:
    arrivals = [it for part in packing_list(desk.order, desk.run).deliveries for it in part.pieces]
    assert {it.piece: it.more for it in arrivals if it.more} == {"invitation": 2}
    assert "2 more arrive" in words_of(parts(desk)["packing-list.pdf"])
    rows = csv.DictReader(io.StringIO(parts(desk)["packing-list.csv"].decode("utf-8-sig")))
    assert {it["piece"]: (it["more"], it["arrives"]) for it in rows}["invitation"] == ("2", "132")
