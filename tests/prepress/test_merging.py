"""Records of a table over an artwork: judged on the written pages, by other programs."""

import io
import re

import pikepdf
import pypdfium2
import pytest
import yaml
import zxingcpp

from artwork_kit import swaps
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.errors import OrderError
from inkaccord.foresight.ahead import look_ahead
from inkaccord.order.loading import load_order
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench

NAMES = ["Zoë Ek", "Łukasz Žižka", "Maximiliana-Theodora von Hohenstein-Uhlmannsdorff", "Ő"]
FIELDS = {
    "name": {"left": "20mm", "top": "10mm", "width": "60mm", "height": "8mm", "colour": "leaf",
             "least": "5pt", "type": "12pt"},
    "address": {"left": "20mm", "top": "30mm", "width": "60mm", "height": "25mm",
                "text": "{name}\n{second}\nNo. {number}", "least": "4pt", "align": "right"},
    "code": {"left": "90mm", "top": "10mm", "width": "25mm", "height": "25mm",
             "qr": "https://boathouse.example/{number}"},
}  # fmt: skip
TABLE = "number;name;second\n" + "".join(
    f"{n:03d};{name};{'Flat 2' if n == 2 else ''}\n" for n, name in enumerate(NAMES, start=1)
)


@pytest.fixture
def loaded(tmp_path):
    def load(fields=FIELDS, table=TABLE, piece=None, artwork=None, vendor=None):
        art = artwork or draw_artwork("5in x 3in", label="No. of the order")
        (tmp_path / "ticket.pdf").write_bytes(art)
        data = table if isinstance(table, bytes) else table.encode()
        (tmp_path / "guests.csv").write_bytes(data)
        order = {
            "order": "gala", "date": "2026-11-28", "suites": 4, "keep": ["cmyk 0 0 0 100"],
            "colours": {"leaf": {"aim": {"lab": [52, -28, 22]},
                                 "in_artwork": ["spot Leaf", "cmyk 75 20 80 10"]}},
            "stocks": {"white": {"size": "letter"}},
            "vendors": {
                "studio": {"delivers": "sheets", "devices": {"press": {}}, **(vendor or {})}
            },
            "pieces": {
                "ticket": {"artwork": "ticket.pdf", "trim": "5in x 3in", "device": "press",
                           "stock": "white",
                           "merge": {"data": "guests.csv", "fields": fields}, **(piece or {})},
            },
        }  # fmt: skip
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        return load_order(tmp_path / "order.yaml", {})

    return load


def said(loaded):
    with pytest.raises(OrderError) as problem:
        look_ahead(loaded, Workbench(loaded))
    return problem.value.findings


@pytest.fixture
def written(loaded):
    """The pages of all records, their template recoloured."""
    bench = Workbench(loaded())
    specimen = bench.artwork("ticket")
    asked = swaps("cmyk 75 20 80 10 = cmyk 60 0 90 20", "cmyk 0 0 0 100 = cmyk 0 0 0 100")
    return bench.records("ticket").laid_into(recolour(specimen, asked).data, "ticket")


def test_every_copy_has_a_page_with_its_own_words(written):
    with pypdfium2.PdfDocument(written) as pdf:
        words = [page.get_textpage().get_text_range() for page in pdf]
        codes = [
            zxingcpp.read_barcodes(page.render(scale=2).to_pil())[0].text for page in pdf
        ]  # fmt: skip
    assert codes == [f"https://boathouse.example/{n:03d}" for n in range(1, 5)]
    for number, (name, text) in enumerate(zip(NAMES, words, strict=True), start=1):
        assert text.count(name) == 2
        assert f"No. {number:03d}" in text
        assert "No. of the order" in text  # the template's own
        assert ("Flat 2" in text) == (number == 2)


def test_text_keeps_inside_its_field(written):
    """Looked at letter by letter: long names are set smaller, and right is right."""
    with pypdfium2.PdfDocument(written) as pdf:
        for page, name in zip(pdf, NAMES, strict=True):
            text = page.get_textpage()
            at = text.search(name).get_next()[0]
            boxes = [text.get_charbox(at + n) for n in range(len(name))]
            left, right = 9 + 20 / 25.4 * 72, 9 + 80 / 25.4 * 72
            assert min(box[0] for box in boxes) >= left - 0.1
            assert (
                max(box[2] for box in boxes) <= right + 0.3
            )  # a glyph may reach a little beyond its advance
            last = re.search(r"No\. \d{3}", text.get_text_range())
            edge = text.get_charbox(last.end() - 1)[2]
            assert edge == pytest.approx(right, abs=0.8)


def test_what_is_laid_is_in_the_new_build_and_the_template_stands_once(written):
    with pikepdf.open(io.BytesIO(written)) as pdf:
        forms = {page.Resources.XObject.P0.objgen for page in pdf.pages}
        colours = {
            tuple(round(float(number), 3) for number in operands)
            for page in pdf.pages
            for operands, operator in pikepdf.parse_content_stream(page)
            if str(operator) == "k"
        }
        spot = [page.Resources.get("/ColorSpace") for page in pdf.pages]
    assert len(forms) == 1
    assert colours == {(0.6, 0, 0.9, 0.2), (0, 0, 0, 1)}
    assert not any(spot)  # numbers need no plate of their own


def test_the_specimen_shows_the_first_copy_and_those_that_are_set_smallest(loaded):
    with pypdfium2.PdfDocument(Workbench(loaded()).artwork("ticket")) as pdf:
        words = [page.get_textpage().get_text_range() for page in pdf]
    assert [name in text for name, text in zip((NAMES[0], NAMES[2]), words, strict=True)] == [
        True, True,
    ]  # fmt: skip


def without(**changes):
    return {**FIELDS, "name": {**FIELDS["name"], **changes}}


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        ({"fields": without(text="{nmae}")}, "name", "guests.csv has no column 'nmae'"),
        ({"fields": without(font="Slip")}, "name.font", "embeds no typeface 'Slip'"),
        ({"fields": without(colour="leef")}, "name.colour", "there is no colour 'leef'"),
        ({"fields": without(colour="spot Rust")}, "name.colour", "has no spot 'Rust'"),
        ({"fields": without(left="80mm")}, "name", "ends 140 mm from the left"),
        ({"fields": without(side=2)}, "name.side", "there is no side 2"),
        ({"fields": without(least="12pt")}, "guests.csv:4", "mm wide at 12 pt, its field 60.0 mm"),
        ({"table": TABLE.replace("Ek", "中")}, "guests.csv:2", "has '中' (cjk unified"),
        ({"table": TABLE.replace("004;Ő;\n", "")}, "data", "has 3 records, and of ticket 4"),
        ({"table": TABLE.encode("cp1250", "replace")}, "guests.csv:2", "is not in UTF-8"),
        (
            {"fields": {"code": {**FIELDS["code"], "width": "8mm"}}},
            "code",
            "a code of 8.0 mm has modules of 0.22 mm",
        ),
        ({"piece": {"bleed_repair": "mirror"}}, "merge", "bleed can't be made"),
        ({"vendor": {"pdf": {"fonts": "outlined"}}}, "merge", "wants type as outlines"),
        ({"piece": {"sides": 2}}, "artwork", "has 1 page, and records are laid over two sides"),
    ],
)
def test_what_is_wrong_is_said_with_file_line_and_field(loaded, change, place, words):
    finding = said(loaded(**change))[0]
    assert words in finding.message
    assert str(finding.place).endswith(place) or place in str(finding.place)
    assert finding.hint


def test_a_piece_that_bears_addresses_sends_you_to_the_post(loaded):
    order = loaded(piece={"addressed": True})
    (finding,) = look_ahead(order, Workbench(order)).findings
    assert "bears 4 addresses" in finding.message
    assert "post office" in finding.message


def test_a_spot_of_the_artwork_is_laid_as_that_spot(loaded):
    """Where only the spot is named, its plate is printed, mixed from what the artwork mixes."""
    with pikepdf.open(io.BytesIO(draw_artwork("5in x 3in"))) as pdf:
        page = pdf.pages[0]
        page.Resources.ColorSpace = pikepdf.Object.parse(
            b"<</S [/Separation /Gold /DeviceCMYK <</FunctionType 2 /Domain [0 1] /N 1 "
            b"/C0 [0 0 0 0] /C1 [0 .2 .6 .1]>>]>>"
        )
        page.contents_add(b"q /S cs 1 scn 40 40 9 9 re f Q")
        out = io.BytesIO()
        pdf.save(out)
    bench = Workbench(loaded(fields=without(colour="spot Gold"), artwork=out.getvalue()))
    data = bench.records("ticket").laid_into(bench.artwork("ticket"), "ticket")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        ((_, space),) = pdf.pages[0].Resources.ColorSpace.items()
        assert [str(part) for part in list(space)[:3]] == ["/Separation", "/Gold", "/DeviceCMYK"]
        assert [float(number) for number in space[3].C1] == [0, 0.2, 0.6, 0.1]


def test_a_field_may_stand_on_the_back(loaded):
    front, back = (
        io.BytesIO(draw_artwork("5in x 3in", label=label)) for label in ("front", "back")
    )
    with pikepdf.open(front) as pdf, pikepdf.open(back) as other:
        pdf.pages.extend(other.pages)
        out = io.BytesIO()
        pdf.save(out)
    fields = {**FIELDS, "back": {**FIELDS["name"], "text": "{number}", "side": 2}}
    bench = Workbench(loaded(fields, piece={"sides": 2}, artwork=out.getvalue()))
    data = bench.records("ticket").laid_into(bench.artwork("ticket"), "ticket")
    with pypdfium2.PdfDocument(data) as pdf:
        words = [page.get_textpage().get_text_range().split() for page in pdf]
    assert len(words) == 8
    for number, (front, back) in enumerate(zip(words[::2], words[1::2], strict=True), start=1):
        assert "front" in front
        assert sorted(back) == sorted(["back", f"{number:03d}"])


def test_records_are_laid_upright_on_a_page_that_is_turned(loaded):
    """Fields are measured on the piece as it is read, however its page lies."""
    with pikepdf.open(io.BytesIO(draw_artwork("3in x 5in"))) as pdf:
        pdf.pages[0].rotate(90, relative=True)
        out = io.BytesIO()
        pdf.save(out)
    bench = Workbench(loaded(artwork=out.getvalue()))
    data = bench.records("ticket").laid_into(bench.artwork("ticket"), "ticket")
    with pypdfium2.PdfDocument(data) as pdf:
        page = pdf[0]
        assert page.get_size() == pytest.approx((5 * 72 + 18, 3 * 72 + 18))
        text = page.get_textpage()
        places = [it.start() for it in re.finditer(NAMES[0], text.get_text_range())]
        left, _, _, top = min(text.get_charbox(at) for at in places)
    assert left == pytest.approx(9 + 20 / 25.4 * 72, abs=1)
    assert 3 * 72 + 9 - 10 / 25.4 * 72 - 12 < top < 3 * 72 + 9 - 10 / 25.4 * 72
