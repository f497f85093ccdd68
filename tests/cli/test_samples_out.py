"""Sample sheets go to vendors like jobs: in the form that each takes, with what it must know."""

import hashlib
import io
import json
import shutil
import zipfile

import pikepdf
import pytest

import run_kit
from inkaccord.cautions import HEAT
from inkaccord.shelf.register import remember_record
from inkaccord.testing import draw_artwork
from pdf_words import words_of

ORDER = """
order: fair
title: A fair at the harbour
date: 2026-11-16
due: 2026-12-18
suites: 60
shelf: shelf.sqlite
currency: EUR
ordered_by: {name: Studio Reed, email: reed@example.org}
deliver_to: |
  Studio Reed
  Boat Lane 3
samples: {copies: 2}
colours:
  leaf: {aim: {lab: [52, -28, 22]}, in_artwork: [cmyk 75 20 80 10]}
keep: [cmyk 0 0 0 100]
stocks:
  cotton: {size: sra3, weight: 300 g/m2, colour: [96, 0, 2]}
  felt: {kind: envelope, size: a7-envelope, colour: [85, 0, 3]}
  card: {size: a5, colour: [95, 0, 1]}
vendors:
  quay:
    title: Quay Press
    delivers: sheets
    devices: {press: {sheets: [sra3], setting: dense}, laser: {sheets: [a4]}}
    prices: [{up_to: 3, each: 2.5}, {up_to: 100, each: 2}]
    lead_days: 4
    file_per: order
    notes: Long grain.
  mill:
    title: Mill Cards
    devices: {mill-press: {ink_limit: 300}}
    file_name: "{order}_{piece}_{stock}"
    sample_bleed: true
pieces:
  card: {artwork: card.pdf, trim: 5in x 7in, device: press, stock: cotton}
  envelope: {artwork: envelope.pdf, trim: a7-envelope, device: laser, stock: felt}
  reply: {artwork: reply.pdf, trim: a6, device: mill-press, stock: card}
"""


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """The order after its first run, and what that printed: to look at, not to change."""
    folder = tmp_path_factory.mktemp("samples") / "order"
    folder.mkdir()
    (folder / "order.yaml").write_text(ORDER, "utf-8")
    for name, size, bleed in (
        ("card", "5in x 7in", 0.125), ("envelope", "a7-envelope", 0), ("reply", "a6", 0.125)
    ):  # fmt: skip
        (folder / f"{name}.pdf").write_bytes(draw_artwork(size, bleed_in=bleed))
    code, out, err = run_kit.inkaccord("run", folder)
    assert code == 3, err
    return folder, out


def sheets_of(folder):
    run = json.loads((folder / "out/run.json").read_text("utf-8"))
    return {it["stock"]: it for it in run["samples"]}, {it["vendor"]: it for it in run["sampling"]}


def test_each_vendor_has_one_folder_and_each_sheet_one_file(first):
    sheets, _ = sheets_of(first[0])
    reply = sheets["card"]["id"]
    here = {str(it.relative_to(first[0] / "out/samples")) for it in
            (first[0] / "out/samples").rglob("*") if it.is_file()}  # fmt: skip
    assert here == {
        *(f"{it['id']}.txt" for it in sheets.values()),
        *(f"quay/{it}" for it in ("fair-samples.pdf", "order-sheet.pdf", "SHA256SUMS",
                                  "fair-quay-samples.zip")),
        *(f"mill/{it}" for it in (f"fair_{reply}_card.pdf", "order-sheet.pdf", "SHA256SUMS",
                                  "fair-mill-samples.zip")),
    }  # fmt: skip


def test_the_sheets_have_the_form_of_the_vendor_s_print_files(first):
    sheets, _ = sheets_of(first[0])
    out = first[0] / "out"
    with pikepdf.open(out / sheets["cotton"]["path"]) as whole:
        sizes = [[round(float(it) / 72 * 25.4) for it in page.mediabox[2:]] for page in whole.pages]
    # The block on the whole sheet; the envelope, twice, since one side holds too few swatches.
    assert sizes == [[320, 450], [184, 133], [184, 133]]
    assert sheets["felt"]["path"] == sheets["cotton"]["path"]
    with pikepdf.open(out / sheets["card"]["path"]) as alone:
        (page,) = alone.pages
        trim, media = page.trimbox, page.mediabox
    assert float(trim[2] - trim[0]) == pytest.approx(148 / 25.4 * 72, abs=0.01)
    assert float(media[2] - media[0]) == pytest.approx((148 + 2 * 25.4 / 8) / 25.4 * 72, abs=0.01)


@pytest.mark.parametrize("vendor", ["quay", "mill"])
def test_the_zip_has_all_of_the_folder_and_its_sums_are_right(first, vendor):
    folder = first[0] / "out/samples" / vendor
    with zipfile.ZipFile(folder / f"fair-{vendor}-samples.zip") as package:
        packed = {it.rpartition("/")[2]: package.read(it) for it in package.namelist()}
    assert packed == {it.name: it.read_bytes() for it in folder.iterdir() if it.suffix != ".zip"}
    sums = dict(reversed(line.split("  ")) for line in packed["SHA256SUMS"].decode().splitlines())
    assert sums == {name: hashlib.sha256(data).hexdigest() for name, data in packed.items()
                    if name != "SHA256SUMS"}  # fmt: skip


def test_the_order_sheet_says_what_to_print_on_what_how_many_and_how_to_send_it_back(first):
    sheets, _ = sheets_of(first[0])
    said = words_of((first[0] / "out/samples/quay/order-sheet.pdf").read_bytes())
    for expected in (
        "Order sheet for samples",
        "Quay Press",
        "Needed back by",
        "14 December 2026",  # four working days before Friday, 18 December
        f"Sheet {sheets['cotton']['id']}",
        "fair-samples.pdf, page 1",
        "press, setting dense",
        "cotton, 300 g/m2",
        "320 × 450 mm",
        "2 copies of 1 page, one side only",
        "fair-samples.pdf, pages 2 to 3",
        "2 copies of 2 pages",
        "without colour conversion",
        "flat between boards",
        "Send back to",
        "Long grain.",
        HEAT,
        "5.00",  # 2 sheets at 2.50
        "8.00",  # 4 at 2.00
        "13.00",
    ):
        assert expected in said, expected
    other = words_of((first[0] / "out/samples/mill/order-sheet.pdf").read_bytes())
    assert "148 × 210 mm, and 3.17 mm bleed round it, left white" in other
    assert HEAT not in other, "it prints no envelope"
    assert "Total" not in other, "it states no price"


def test_what_it_costs_and_by_when_it_is_needed_is_said_and_recorded(first):
    _, sampling = sheets_of(first[0])
    quay = sampling["quay"]
    assert [(it["number"], it["each"], it["sum"]) for it in quay["charges"] if it["sum"]] == [
        (2, "2.5", "5.00"),
        (4, "2", "8.00"),
    ]
    assert quay["copies"] == 2
    assert quay["cost"]["pages"] == 2 * 3
    # Files by Monday, 14 December; and as many working days before that to print the sheets.
    assert (quay["dates"]["send_by"], quay["dates"]["back_by"]) == ("2026-12-08", "2026-12-14")
    assert quay["dates"]["pieces"] == ["card", "envelope"]
    assert [it["sum"] for it in sampling["mill"]["charges"]] == [None]
    said = " ".join(first[1].split())
    assert "13.00 EUR by its prices without set-up and delivery" in said
    assert (
        "to be sent by Tuesday, 8 December 2026 and back by Monday, 14 December 2026, "
        "or card and envelope are late"
    ) in said
    assert "needed by Friday, 18 December 2026, or reply is late" in said


def test_the_message_says_what_to_do_with_the_zip(first, inkaccord):
    sheets, _ = sheets_of(first[0])
    code, said, _ = inkaccord("message", first[0], "quay")
    assert code == 0
    for expected in (
        "A fair at the harbour: 2 sample sheets to print\n",
        "With this comes fair-quay-samples.zip.",
        f"- sheet {sheets['cotton']['id']}: 2 copies of 1 page, on cotton, 300 g/m2, "
        "device press, setting dense",
        "without colour conversion",
        "We need them back by Monday, 14 December 2026.",
        "Please send them to\nStudio Reed\nBoat Lane 3\n",
    ):
        assert expected in said, expected


def test_what_is_printed_goes_to_nobody_any_more(first, tmp_path, inkaccord):
    order = tmp_path / "order"
    shutil.copytree(first[0], order)
    remember_record((order / "out" / "run.json").read_bytes())
    before, _ = sheets_of(order)
    assert inkaccord("shelf", "printed", before["cotton"]["id"], "--order", order)[0] == 0
    assert inkaccord("run", order)[0] == 3
    sheets, sampling = sheets_of(order)
    assert [it["sum"] for it in sampling["quay"]["charges"] if it["sum"]] == ["8.00"]
    (part,) = sampling["quay"]["parts"]
    assert part["sheets"] == [sheets["felt"]["id"]]
    assert sheets["cotton"]["printed"]
    with zipfile.ZipFile(io.BytesIO((order / "out/samples/quay/fair-quay-samples.zip")
                                    .read_bytes())) as package:  # fmt: skip
        assert {it.rpartition("/")[2] for it in package.namelist()} == {
            "fair-samples.pdf", "order-sheet.pdf", "SHA256SUMS"
        }  # fmt: skip
    assert (order / "out" / sheets["cotton"]["path"]).exists()
    assert before["cotton"]["id"] not in words_of(
        (order / "out/samples/quay/order-sheet.pdf").read_bytes()
    )
