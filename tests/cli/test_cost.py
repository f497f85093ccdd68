"""``inkaccord cost``: what an order costs from its first run to its last, and for the books."""

import csv
import io
import json
import shutil

import pytest

import run_kit
from inkaccord.shelf.register import remember_record
from inkaccord.testing import draw_artwork
from pdf_words import words_of
from run_kit import record_all

# By hand. Sample sheets of the studio: see below. The studio lays 20 cards and 20 envelopes itself;
# a letter sheet holds two cards of 5 × 7 in, so 10 sheets; envelopes are fed one by one.
PRICES = """
    prices:
      table: [{up_to: 10, each: 1.15}, {up_to: 100, each: 0.95}]
      by_stock: {cream: 0.335}
      setup: 0
      delivery: 0
      samples: {table: 1.60, setup: 2.50, delivery: 0}
"""
SHOP = """
  mill:
    title: "=Mill & Sons"
    devices: {mill-press: {ink_limit: 300}}
    overs: 10%
    prices: {currency: JPY, table: [{up_to: 21, each: 80.5}], setup: 1200}
"""
REPLY = "\n  reply: {artwork: reply.pdf, trim: a6, device: mill-press, stock: white}\n"


@pytest.fixture(scope="module")
def priced(tmp_path_factory, write_order):
    """The small order with prices after its first run; the tests change nothing of it."""
    folder = write_order(tmp_path_factory.mktemp("priced"))
    text = (folder / "order.yaml").read_text("utf-8")
    text = text.replace("suites: 20\n", "suites: 20\ncurrency: EUR\n")
    text = text.replace("pieces:\n", PRICES.lstrip("\n") + SHOP.lstrip("\n") + "pieces:\n", 1)
    text = text.replace("stock: cream}\n", "stock: cream}" + REPLY)
    (folder / "order.yaml").write_text(text, "utf-8")
    (folder / "reply.pdf").write_bytes(draw_artwork("a6"))
    code, out, err = run_kit.inkaccord("run", folder)
    assert code == 3, out + err
    return folder, out


def cost_of(folder):
    return json.loads(run_kit.inkaccord("cost", folder, "--json")[1])


def sums(charges, *, samples):
    return [
        (it["vendor"], it["what"], it["number"], it["each"], it["sum"])
        for it in charges
        if it["samples"] is samples
    ]


def test_before_sheets_are_laid_it_says_what_is_known_and_what_is_not(priced):
    found = cost_of(priced[0])
    assert sums(found["charges"], samples=False) == [
        ("studio", "print", None, None, None),
        ("studio", "print", None, None, None),
        ("mill", "print", 22, "80.5", "1771"),
        ("mill", "set-up", 1, "1200", "1200"),
        ("mill", "delivery", 1, None, None),
    ]
    assert found["without"] == [
        "studio: print of card and print of envelope (not known until its sheets are laid)",
        "mill: samples: delivery and delivery (no price is stated)",
    ]


@pytest.mark.slow
def test_what_samples_cost_is_said_before_and_kept_when_the_order_is_done(
    priced, tmp_path, inkaccord, monkeypatch
):
    folder, out = priced
    sheets = [it for it in run_kit.run_of(folder)["samples"] if it["device"] == "press"]
    pages = sum(it["pages"] for it in sheets)
    # Each sheet's pages at 1.60, and a set-up of 2.50 for each pair.
    asked = {1: "1.60", 2: "3.20", 3: "4.80"}
    found = [it for it in cost_of(folder)["charges"] if it["samples"]]
    studio = [it for it in found if it["vendor"] == "studio"]
    assert {(*it["of"], it["what"]): (it["number"], it["each"], it["sum"]) for it in studio} == {
        key: value
        for it in sheets
        for key, value in (
            ((it["id"], "print"), (it["pages"], "1.60", asked[it["pages"]])),
            ((it["id"], "set-up"), (1, "2.50", "2.50")),
        )
    }
    total = (160 * pages + 250 * len(sheets)) / 100
    assert f"{total:.2f} EUR by its prices" in " ".join(out.split())

    done = tmp_path / "order"
    shutil.copytree(folder, done)
    remember_record((done / "out/run.json").read_bytes())
    before = cost_of(done)["charges"]
    record_all(done)
    monkeypatch.chdir(tmp_path)
    code, out, err = inkaccord("run", "order")
    assert code == 0, out + err
    empty = [it for it in (done / "out").rglob("*") if it.is_dir() and not any(it.iterdir())]
    assert empty == [], "no folder stays of what nobody is sent any more"
    after = cost_of(done)
    assert sums(after["charges"], samples=True) == sums(before, samples=True)
    assert [it for it in sums(after["charges"], samples=False) if it[0] == "studio"] == [
        ("studio", "print", 20, "0.335", "6.70"),
        ("studio", "print", 10, "1.15", "11.50"),
    ]
    assert after["totals"]["EUR"] == f"{total + 18.2:.2f}"
    record = (done / "out/run.json").read_bytes()
    assert (
        "not changed since" in inkaccord("run", done)[2]
        or record == (done / "out/run.json").read_bytes()
    )
    report = (done / "out/report.html").read_text("utf-8")
    assert "inkaccord cost ORDER --csv FILE" in report, "as it is typed"
    assert f"{total + 18.2:.2f} EUR" in report
    sheet = words_of((done / "out/mill/order-sheet.pdf").read_bytes())
    assert "Price in JPY" in sheet
    assert "2,971" in sheet  # 22 × 80.5 + 1200
    assert "without delivery, of which no price is stated" in sheet
    assert "past the table's last line" in sheet


@pytest.mark.slow
def test_a_sheet_whose_piece_moved_to_another_stock_costs_nothing_unless_it_went_off(
    priced, tmp_path, inkaccord
):
    """Its pair is not read any more; what is left of it is known by the sheet alone."""
    folders = [tmp_path / "unsent", tmp_path / "sent"]
    for folder in folders:
        shutil.copytree(priced[0], folder)
        remember_record((folder / "out/run.json").read_bytes())
    (name,) = [
        it["id"]
        for it in run_kit.run_of(folders[0])["samples"]
        if (it["device"], it["stock"]) == ("press", "white")
    ]
    assert name in {of for it in cost_of(folders[0])["charges"] for of in it["of"]}
    assert inkaccord("shelf", "sent", name, "--to", "Ada", "--order", folders[1])[0] == 0
    for folder, counts in zip(folders, (False, True), strict=True):
        run_kit.change(folder, "device: press, stock: white", "device: press, stock: cream")
        code, out, err = inkaccord("run", folder)
        assert code == 3, out + err
        named = {of for it in cost_of(folder)["charges"] for of in it["of"]}
        assert (name in named) is counts
        words = " ".join(out.split())
        said = f"sheet {name} need not be printed any more: nothing of the order is printed on"
        assert (said in words) is not counts
        line = inkaccord("shelf", "show", name, "--order", folder)[1]
        assert ("withdrawn" in line) is not counts
        record = (folder / "out/run.json").read_bytes()
        stood = (folder / "out/run.json").stat().st_mtime_ns
        assert inkaccord("run", folder)[0] == 3
        assert (folder / "out/run.json").stat().st_mtime_ns == stood
        assert record == (folder / "out/run.json").read_bytes()


def test_the_books_get_a_line_for_each_thing_and_no_formula(priced, tmp_path, inkaccord):
    target = tmp_path / "books.csv"
    code, _, _ = inkaccord("cost", priced[0], "--csv", target)
    assert code == 0
    raw = target.read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n")
    rows = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline="")))
    assert [*rows[0]] == ["order", "date", "vendor", "vendor_title", "piece", "what", "number",
                          "each", "sum", "currency", "note"]  # fmt: skip
    found = cost_of(priced[0])
    assert len(rows) == len(found["charges"])
    (one,) = [it for it in rows if (it["vendor"], it["what"]) == ("mill", "print")]
    assert (one["piece"], one["number"], one["each"], one["sum"], one["currency"]) == (
        "reply", "22", "80.5", "1771", "JPY"
    )  # fmt: skip
    assert one["vendor_title"] == "'=Mill & Sons", "text, and no formula"
    assert one["date"] == "2026-10-05"
    (unknown,) = [it for it in rows if (it["vendor"], it["what"]) == ("mill", "delivery")]
    assert (unknown["sum"], unknown["note"]) == ("", "no price is stated")


def test_an_order_without_prices_is_told_how_to_state_them(asked, inkaccord):
    code, _, err = inkaccord("cost", asked)
    assert code == 0
    assert "add 'prices:' to one" in err
    assert not list(asked.glob("*.diary.json"))
