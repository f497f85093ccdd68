"""An order begun from artwork: what is in the file, no more, and it is in order."""

import datetime
import io

import pikepdf
import pytest

from artwork_kit import document
from inkaccord.errors import InkaccordError
from inkaccord.foresight.beginning import begin_order
from inkaccord.foresight.checking import check_artwork
from inkaccord.order.loading import load_order
from inkaccord.order.model import Order
from inkaccord.workbench import Workbench

TODAY = datetime.date(2026, 11, 28)
GREEN = b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f 0.34 0.08 0.24 0.12 k 75 10 20 20 re f "
BLACK = b"0 g 10 80 5 5 re f"


@pytest.fixture
def begun(tmp_path):
    def begin(**artworks: bytes) -> Order:
        for name, data in artworks.items():
            (tmp_path / f"{name}.pdf").write_bytes(data)
        begin_order(tmp_path / "new", [tmp_path / f"{name}.pdf" for name in artworks], TODAY)
        return load_order(tmp_path / "new" / "order.yaml", {}).order

    return begin


def test_each_file_is_a_piece_and_a_tint_goes_with_its_colour(begun):
    order = begun(Menu_Card=document(GREEN + BLACK), tag=document(GREEN))
    assert {name: (str(it.trim), it.artwork) for name, it in order.pieces.items()} == {
        "menu-card": ("35.28 × 35.28 mm", "artwork/menu-card.pdf"),
        "tag": ("35.28 × 35.28 mm", "artwork/tag.pdf"),
    }
    (colour,) = order.colours.values()
    assert [str(it) for it in colour.in_artwork] == ["cmyk 85 20 60 30"]
    assert [str(it) for it in order.keep] == ["gray 100"]


def test_of_a_booklet_it_is_said_what_its_pieces_are(begun, tmp_path):
    """Nobody who has its pages in one file knows what a piece is to be."""
    with pikepdf.open(io.BytesIO(document(GREEN))) as pdf:
        pdf.pages.extend([pdf.pages[0]] * 7)
        pdf.save(whole := io.BytesIO())
    order = begun(programme=whole.getvalue())
    text = (tmp_path / "new" / "order.yaml").read_text("utf-8")
    assert "It has 8 pages" in text
    assert "folded sheet is a piece" in text
    loaded = load_order(tmp_path / "new" / "order.yaml", {})
    faults, _ = check_artwork(loaded, *order.pieces, Workbench(loaded))
    (hint,) = (it.finding.hint for it in faults if it.finding.code == "wrong-page-count")
    assert "of a booklet each folded sheet" in hint


def test_a_name_loses_its_accents_and_no_letter(begun):
    names = {"Café menü": "cafe-menu", "Fußweg": "fussweg", "Приглашение": "piece"}
    assert set(begun(**dict.fromkeys(names, document(GREEN))).pieces) == set(names.values())


@pytest.mark.parametrize(
    ("folder", "said", "name", "title"),
    [
        ("Frühlings Fest", "", "Fruhlings-Fest", "Frühlings Fest"),
        ("fest", "Fest: ein Abend", "Fest-ein-Abend", "Fest: ein Abend"),
        ("fest", "", "fest", ""),
    ],
)
def test_an_order_is_called_as_it_was_said(tmp_path, folder, said, name, title):
    (tmp_path / "tag.pdf").write_bytes(document(GREEN))
    begin_order(tmp_path / folder, [tmp_path / "tag.pdf"], TODAY, title=said)
    order = load_order(tmp_path / folder / "order.yaml", {}).order
    assert (order.order, order.title) == (name, title)


def test_a_page_is_as_large_as_a_reader_shows_it(begun):
    with pikepdf.open(io.BytesIO(document(GREEN))) as pdf:
        pdf.pages[0].obj.MediaBox = pikepdf.Array([0, 0, 144, 72])
        pdf.pages[0].obj.TrimBox = pikepdf.Array([0, 0, 144, 72])
        pdf.pages[0].obj.Rotate = 90
        pdf.pages[0].obj.UserUnit = 2
        out = io.BytesIO()
        pdf.save(out)
    assert str(begun(tag=out.getvalue()).pieces["tag"].trim) == "2 × 4 in"


@pytest.mark.parametrize(("sides_pt", "sheet"), [((144, 72), "8.5 × 11 in"),
                                                 ((141.73, 85.04), "210 × 297 mm"),
                                                 ((864, 576), "12 × 18 in")])  # fmt: skip
def test_the_sheet_that_stands_in_is_one_of_the_units_of_the_artwork(begun, sides_pt, sheet):
    """50 × 30 mm is laid on A4 (ISO 216), whole inches on letter or 12 × 18."""
    with pikepdf.open(io.BytesIO(document(GREEN))) as pdf:
        pdf.pages[0].obj.MediaBox = pdf.pages[0].obj.TrimBox = pikepdf.Array([0, 0, *sides_pt])
        pdf.save(out := io.BytesIO())
    order = begun(tag=out.getvalue())
    assert str(order.stocks["cotton-card"].size) == sheet
    (device,) = order.vendors["studio"].devices.values()
    assert [str(it) for it in device.sheets] == [sheet]


def of_size(width_mm, height_mm):
    with pikepdf.open(io.BytesIO(document(GREEN))) as pdf:
        box = pikepdf.Array([0, 0, width_mm / 25.4 * 72, height_mm / 25.4 * 72])
        pdf.pages[0].obj.MediaBox = pdf.pages[0].obj.TrimBox = box
        pdf.save(out := io.BytesIO())
    return out.getvalue()


@pytest.mark.parametrize(
    ("width_mm", "height_mm", "stock"),
    [
        (220, 110, "dl-envelope"),  # ISO 269
        (162, 114, "c6-envelope"),
        (184.15, 133.35, "a7-envelope"),  # 7 1/4 × 5 1/4 in
        (210, 99, "cotton-card"),  # a third of A4
        (57, 40, "cotton-card"),  # C9 by the series, and a tag
    ],
)
def test_artwork_as_large_as_an_envelope_is_printed_on_one(begun, width_mm, height_mm, stock):
    order = begun(first=of_size(width_mm, height_mm), card=of_size(148, 105))
    assert order.pieces["first"].stock == stock
    assert order.pieces["card"].stock == "cotton-card"
    (colour,) = order.colours.values()
    assert str(colour.aim.on) == "my-printer@cotton-card"
    assert str(order.stocks["cotton-card"].size) == "210 × 297 mm"
    if stock != "cotton-card":
        assert order.stocks[stock].kind == "envelope"


def test_an_order_of_an_envelope_alone_has_no_other_stock(begun):
    order = begun(envelope=of_size(220, 110))
    assert list(order.stocks) == ["dl-envelope"]
    (colour,) = order.colours.values()
    assert str(colour.aim.on) == "my-printer@dl-envelope"


def test_colours_are_named_by_spot_or_look_and_no_two_alike(begun):
    more = b"0.1 0.6 0.2 rg 10 10 9 9 re f 0.15 0.55 0.3 rg 20 10 9 9 re f"
    assert set(begun(tag=document(GREEN + more)).colours) == {"blue-green", "green", "green-2"}


def test_artwork_in_black_alone_is_about_black(begun):
    order = begun(tag=document(BLACK))
    assert list(order.colours) == ["black"]
    assert not order.keep


def gradient(*stops: str, black: bytes = b"") -> bytes:
    """A page whose colours are the two ends of a gradient, and black type."""
    first, last = stops
    runs = f"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{first}] /C1 [{last}] >>"
    shading = f"/ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 1 0] /Function {runs}"
    content = b"q 100 0 0 100 0 0 cm /S sh Q " + black
    return document(content, f"<< /Shading << /S << {shading} >> >> >>")


def test_artwork_of_gradients_is_about_the_colours_that_they_run_between(begun):
    order = begun(tag=gradient("0.8 0.2 0.4 0.1", "0 0.1 0.6 0", black=BLACK))
    taken = sorted(str(it) for colour in order.colours.values() for it in colour.in_artwork)
    assert taken == ["cmyk 0 10 60 0", "cmyk 80 20 40 10"]
    assert [str(it) for it in order.keep] == ["gray 100"]


def test_a_gradient_brings_no_colour_where_one_is_flat(begun):
    order = begun(tag=gradient("0 0.1 0.6 0", "0 0 0 0", black=GREEN))
    assert [str(it) for colour in order.colours.values() for it in colour.in_artwork] == [
        "cmyk 85 20 60 30"
    ]


def test_artwork_of_pictures_alone_says_what_to_fill_in_and_where(tmp_path):
    picture = (
        b"q 90 0 0 90 5 5 cm BI /W 2 /H 2 /BPC 8 /CS /RGB ID \x10\x80\x90\xf0\x20\x30abcdef EI Q"
    )
    (tmp_path / "tag.pdf").write_bytes(document(picture))
    made = begin_order(tmp_path / "new", [tmp_path / "tag.pdf"], TODAY)
    order = tmp_path / "new" / "order.yaml"
    (thought,) = made.to_think
    assert (thought.code, thought.place.file, thought.place.field) == (
        "no-colour-yet", str(order), "colours")  # fmt: skip
    assert not made.can_run
    # The lines that the file has for it make it whole, once the marks are off.
    lines = order.read_text("utf-8").splitlines(keepends=True)
    first = lines.index("# colours:\n")
    lines[first : first + 5] = [it.removeprefix("# ") for it in lines[first : first + 5]]
    order.write_text("".join(lines), "utf-8")
    filled = load_order(order, {}).order
    assert [*filled.colours] == ["green"]
    assert filled.photographs == "matched"


def test_what_is_no_pdf_leaves_nothing_behind(tmp_path):
    (tmp_path / "tag.pdf").write_bytes(b"GIF89a")
    with pytest.raises(InkaccordError):
        begin_order(tmp_path / "new", [tmp_path / "tag.pdf"], TODAY)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("black", "written"),
    [(b"0.0392 0.0314 0.0314 rg", "rgb 10 8 8"), (b"0.6 0.4 0.4 1 k", "cmyk 60 40 40 100")],
)
def test_a_black_that_a_program_mixed_is_no_brand_colour(begun, black, written):
    order = begun(tag=document(GREEN + black + b" 10 80 15 15 re f"))
    assert list(order.colours) == ["blue-green"]
    assert [str(it) for it in order.keep] == [written]


def test_a_dark_blue_is_a_brand_colour(begun):
    (colour,) = begun(tag=document(b"0.04 0.06 0.25 rg 10 10 60 60 re f")).colours.values()
    assert colour.aim.lab is not None
    assert colour.aim.lab[0] < 15


def test_plates_whose_names_are_no_colours_are_finishes_and_the_order_is_sound(begun):
    spots = {"A": "Warm#20White", "B": "DIE", "C": "Dieppe"}
    made = " ".join(
        f"/{key} [/Separation /{name} /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 "
        "/C0 [0 0 0 0] /C1 [0 0.9 0.1 0] >>]"
        for key, name in spots.items()
    )
    content = b"".join(b"/%s cs 1 scn 10 10 30 30 re f " % key.encode() for key in spots)
    tints = b"/A cs 0.4 scn 50 50 9 9 re f "
    order = begun(tag=document(GREEN + content + tints, f"<< /ColorSpace << {made} >> >>"))
    assert set(order.colours) == {"blue-green", "dieppe"}
    assert {it.plates: str(it.finish) for it in order.finishes.values()} == {
        ("Warm White",): "white", ("DIE",): "die-line",
    }  # fmt: skip
    (vendor,) = order.vendors.values()
    assert {str(kind) for kind in vendor.finishes} == {"white", "die-line"}
