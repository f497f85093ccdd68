"""``inkaccord check`` says of the artwork what the checks of a run will say."""

import io
import json
import re

import pikepdf
import pytest

from inkaccord.testing import draw_artwork
from run_kit import change, inkaccord, run_of


def with_type_that_is_not_in_it(artwork):
    """Return artwork with a line set in a typeface that the file does not hold."""
    with pikepdf.open(io.BytesIO(artwork)) as pdf:
        page, saved = pdf.pages[0], io.BytesIO()
        plain = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
        )
        page.add_resource(plain, pikepdf.Name.Font, pikepdf.Name.Plain)
        page.contents_add(b"q 0 0 0 1 k BT /Plain 24 Tf 90 90 Td (Leaf) Tj ET Q")
        pdf.save(saved)
        return saved.getvalue()


def codes(order):
    """What ``check`` finds, by code; its exit code first."""
    code, out, _ = inkaccord("check", order, "--json")
    return code, {it["code"]: it for it in json.loads(out)["findings"]}


@pytest.mark.parametrize(
    ("artwork", "said_of_it"),
    [
        (draw_artwork("5in x 7in", bleed_in=0), "bleed"),
        (with_type_that_is_not_in_it(draw_artwork("5in x 7in")), "is not in the file"),
    ],
    ids=["no bleed", "no typeface"],
)
def test_what_is_wrong_is_said_in_the_words_of_the_run(finished, artwork, said_of_it):
    assert codes(finished)[0] == 0
    (finished / "card.pdf").write_bytes(artwork)
    code, found = codes(finished)
    assert code != 0
    assert inkaccord("run", finished)[0] == 4
    said = {it["code"]: it for it in run_of(finished)["findings"] if it["severity"] == "error"}
    assert set(said) == {it["code"] for it in found.values() if it["severity"] == "error"}
    assert any(said_of_it in it["message"] for it in said.values())
    for name, finding in said.items():
        assert found[name]["message"] == finding["message"]
        assert found[name]["place"]["field"] == "pieces.card.artwork"


def test_a_first_run_says_it_before_its_sheets_are_printed(order):
    (order / "card.pdf").write_bytes(with_type_that_is_not_in_it(draw_artwork("5in x 7in")))
    checked, found = codes(order)
    code, out, _ = inkaccord("run", order)
    assert code == checked == 4
    said = [it for it in run_of(order)["findings"] if it["severity"] == "error"]
    assert [it["message"] for it in said] == [
        it["message"] for it in found.values() if it["severity"] == "error"
    ]
    assert "is not in the file" in said[0]["message"]
    standings = {it["name"]: (it["status"], it["why"]) for it in run_of(order)["pieces"]}
    assert standings["card"] == ("waiting", f"leaf not known here yet; checks will fail: "
                                 f"{said[0]['code']}")  # fmt: skip
    assert standings["envelope"] == ("waiting", "leaf not known here yet")
    assert {it["stock"] for it in run_of(order)["samples"]} == {"white", "cream"}
    assert "Mend card as said above." in out
    assert "Mend card as said under" in " ".join((order / "out/report.html").read_text().split())


def test_what_the_order_waives_or_mends_stops_no_check(finished):
    (finished / "card.pdf").write_bytes(draw_artwork("5in x 7in", bleed_in=0))
    (name,) = (k for k, it in codes(finished)[1].items() if it["severity"] == "error")
    change(finished, "device: press, stock: white", "device: press, stock: white, WHAT")
    for what in (f"waive: {{{name}: it held}}", "bleed_repair: mirror"):
        path = finished / "order.yaml"
        kept = path.read_text("utf-8")
        path.write_text(kept.replace("WHAT", what), "utf-8")
        assert codes(finished)[0] == 0, what
        path.write_text(kept, "utf-8")


@pytest.mark.slow
def test_ink_is_foretold_of_what_is_not_matched_and_left_to_the_run_of_what_is(order):
    """Of a piece without brand colours the copy is known; of another its builds are not."""
    change(order, "keep: [cmyk 0 0 0 100]", "keep: [cmyk 0 0 0 100, cmyk 90 90 90 90]")
    with pikepdf.open(io.BytesIO(draw_artwork("5in x 7in"))) as pdf:
        pdf.pages[0].Contents = pdf.make_stream(b"0.9 0.9 0.9 0.9 k 0 0 999 999 re f")
        pdf.save(order / "card.pdf")
    code, found = codes(order)
    assert code != 0
    assert "of ink stand on" in found["total-ink"]["message"]
    assert inkaccord("run", order)[0] in {3, 4}
    said = [it["message"] for it in run_of(order)["findings"] if it["code"] == "total-ink"]
    assert said == [found["total-ink"]["message"]]


def test_artwork_of_another_size_is_mended_at_once(order):
    """Whoever exports it anew is told all that needs no size, and nothing that rests on one."""
    art = with_type_that_is_not_in_it(draw_artwork("4in x 6in", bleed_in=0))
    (order / "card.pdf").write_bytes(art)
    code, found = codes(order)
    assert code != 0
    assert {name for name, it in found.items() if it["severity"] == "error"} == {
        "wrong-trim",
        "font-not-embedded",
    }
    assert found["font-not-embedded"]["place"]["field"] == "pieces.card.artwork"
    assert inkaccord("run", order)[0] == 4
    (card,) = (it for it in run_of(order)["pieces"] if it["name"] == "card")
    assert card["status"] == "failed"
    assert "checks will fail: font-not-embedded" in card["why"]
    said = {it["message"] for it in run_of(order)["findings"] if it["severity"] == "error"}
    assert said == {it["message"] for it in found.values() if it["severity"] == "error"}


def test_a_run_that_cannot_begin_says_all_that_is_to_be_mended(order):
    """Where no piece is of its artwork's size, no stage looks into what they hold."""
    for name, other in (("card.pdf", "4in x 6in"), ("envelope.pdf", "3in x 5in")):
        (order / name).write_bytes(with_type_that_is_not_in_it(draw_artwork(other, bleed_in=0)))
    _, found = codes(order)
    assert {"wrong-trim", "font-not-embedded"} <= found.keys()
    code, out, _ = inkaccord("run", order, "--json")
    assert code == 2
    assert {it["code"] for it in json.loads(out)["findings"]} == found.keys()


def test_a_bad_name_hides_nothing_that_is_wrong_with_artwork(order):
    (order / "card.pdf").write_bytes(with_type_that_is_not_in_it(draw_artwork("5in x 7in")))
    _, before = codes(order)
    assert "font-not-embedded" in before
    change(order, "  leaf:", "  Leaf green!:")
    code, found = codes(order)
    assert code == 2
    assert found.pop("bad-value")["place"]["field"] == "colours.Leaf green!"
    assert found.keys() == before.keys()
    said = found["font-not-embedded"]
    assert said["message"] == before["font-not-embedded"]["message"]
    assert inkaccord("run", order)[0] == 2
    assert not (order / "out").exists()


def test_what_checks_will_fail_is_said_in_one_breath(order):
    art = with_type_that_is_not_in_it(draw_artwork("5in x 7in", bleed_in=0))
    (order / "card.pdf").write_bytes(art)
    inkaccord("run", order)
    (why,) = (it["why"] for it in run_of(order)["pieces"] if it["name"] == "card")
    assert why.count("checks will fail") == 1
    assert {"no-bleed", "font-not-embedded"} <= set(re.split("[:, ]+", why))


def test_three_sides_without_bleed_are_said_in_one_line_with_how_to_mend_them(order):
    (order / "card.pdf").write_bytes(draw_artwork("5in x 7in", bleed_in=0))
    _, _, said = inkaccord("check", order)
    sides = "colour runs to the left, bottom and right cut"
    assert said.count(sides) == said.count("waive.no-bleed") == 1
    assert said.index(sides) < said.index("waive.no-bleed")


@pytest.mark.slow
def test_a_sheet_says_why_it_is_printed_where_no_piece_is(order):
    """So a stand-in that an aim was left on is noticed before paper is spent on it."""
    change(order, "{lab: [52, -28, 22]}", "{build: cmyk 75 20 80 10, on: proofer@white}")
    change(order, "press: {sheets:", "proofer: {}, press: {sheets:")
    inkaccord("run", order)
    whys = {it["device"]: it["why"] for it in run_of(order)["samples"]}
    told = "on which no piece is printed: what leaf should look like is told by it"
    assert told in whys["proofer"]
    assert "no piece is printed" not in whys["press"]
