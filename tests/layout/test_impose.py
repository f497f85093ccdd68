import io
import re
import zlib
from collections.abc import Callable

import numpy as np
import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from inkaccord.errors import FileError, OrderError
from inkaccord.layout.impose import Art, impose_sheets
from inkaccord.layout.marks import MarkRules
from inkaccord.layout.model import Duplex, Imposition, Item, LayoutRules, RecordOrder, SheetStock
from inkaccord.layout.packing import lay_out
from inkaccord.layout.rules import ImposeRules
from inkaccord.layout.single import single_pieces
from inkaccord.layout.sources import Artwork
from inkaccord.sizes import Sides, Size
from page_kit import changed

Piece = Callable[..., Item]
Draw = Callable[..., bytes]
SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(12))
CARD = Size.parse("2in x 3.5in")


def impose(art: Art, imposition: Imposition, rules: ImposeRules | None = None) -> bytes:
    return impose_sheets(art, imposition, rules).data


def laid(item: Item, **rules: object) -> Imposition:
    return lay_out([item], [SHEET], LayoutRules.model_validate(rules))


def forms_of(pdf: Pdf) -> set[tuple[int, int]]:
    """Return the distinct artwork forms that pages draw."""
    return {
        form.objgen
        for page in pdf.pages
        for name, form in page.obj.Resources.XObject.items()
        if name != "/M"
    }


def pixels(data: bytes, page: int = 0, scale: float = 1.0) -> np.ndarray:
    with pypdfium2.PdfDocument(data) as pdf:
        return pdf[page].render(scale=scale).to_numpy()[:, :, :3].astype(int)


def words(data: bytes) -> list[str]:
    with pypdfium2.PdfDocument(data) as pdf:
        return [page.get_textpage().get_text_range() for page in pdf]


def test_boxes_are_set_on_every_page(piece: Piece, draw_art: Draw) -> None:
    item = piece("card", "2in x 3.5in", 100, sides=2)
    imposition = laid(item, duplex=Duplex.LONG_EDGE)
    art = draw_art(CARD)
    data = impose({("card", 1): art, ("card", 2): art}, imposition)

    (layout,) = imposition.layouts
    with Pdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 2
        front = pdf.pages[0]
        assert [float(v) for v in front.mediabox] == [0, 0, 864, 1296]
        assert [float(v) for v in front.obj.BleedBox] == pytest.approx(layout.used, abs=1e-3)
        assert [float(v) for v in front.obj.TrimBox] == pytest.approx(
            layout.used.grown(-9), abs=1e-3
        )
        assert len(forms_of(pdf)) == 1  # front and back are the same page
        assert pdf.pdf_version == "1.7"


def test_same_input_same_bytes(piece: Piece, draw_art: Draw) -> None:
    imposition = laid(piece("card", "2in x 3.5in", 100))
    art = {("card", 1): draw_art(CARD)}
    rules = ImposeRules(marks=MarkRules(slug="order · {pieces} · {side}"))

    assert impose(art, imposition, rules) == impose(dict(art), imposition, rules)


def test_deflated_bytes_are_kept(piece: Piece, draw_art: Draw) -> None:
    def change(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        body = page.Contents.read_bytes() + b"% kept"
        page.Contents = Stream(pdf, zlib.compress(body, 1), Filter=Name.FlateDecode)

    armoured = draw_art(CARD)  # ASCII 85 round deflated data
    art = changed(armoured, change)
    imposition = laid(piece("card", "2in x 3.5in"))
    with Pdf.open(io.BytesIO(art)) as source:
        raw = source.pages[0].obj.Contents.read_raw_bytes()

    with Pdf.open(io.BytesIO(impose({("card", 1): art}, imposition))) as pdf:
        form = pdf.pages[0].obj.Resources.XObject["/P0"]
        assert form.read_raw_bytes() == raw
        assert form.Subtype == Name.Form
    with (
        Pdf.open(io.BytesIO(armoured)) as source,
        Pdf.open(io.BytesIO(impose({("card", 1): armoured}, imposition))) as pdf,
    ):
        form = pdf.pages[0].obj.Resources.XObject["/P0"]
        assert form.read_bytes() == source.pages[0].obj.Contents.read_bytes()
        assert form.Filter == Name.FlateDecode


def test_placed_artwork_looks_like_its_source(piece: Piece, draw_art: Draw) -> None:
    items = [piece("card", "2in x 3.5in", 5), piece("wide", "11in x 13in", 1)]
    imposition = lay_out(items, [SHEET])
    art = {(i.name, 1): draw_art(i.trim, label=i.name) for i in items}
    (layout,) = imposition.layouts
    page = pixels(impose(art, imposition), scale=2)

    for placed in layout.placements:
        source = pixels(art[placed.item, 1], scale=2)
        box = placed.bleed
        top, left = round((1296 - box.top) * 2), round(box.left * 2)
        source = np.rot90(source, placed.rotation // 90)
        there = page[top : top + source.shape[0], left : left + source.shape[1]]
        assert np.abs(there - source)[2:-2, 2:-2].mean() < 4, placed


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_page_rotation_crop_and_units(piece: Piece, draw_art: Draw, turn: int) -> None:
    """A page that is shown turned, cropped and in larger units is imposed as it is shown."""
    plain = draw_art(CARD)

    def change(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        width, height = 162.0, 270.0
        # Turn the content back so that the page is shown as before, and halve its numbers.
        matrix = {
            0: "1 0 0 1 0 0",
            90: f"0 1 -1 0 {height} 0",
            180: f"-1 0 0 -1 {width} {height}",
            270: f"0 -1 1 0 0 {width}",
        }[turn]
        body = page.Contents.read_bytes()
        page.Contents = pdf.make_stream(
            b"q .5 0 0 .5 50 60 cm " + matrix.encode() + b" cm\n" + body + b"\nQ"
        )
        wide, high = (height, width) if turn in {90, 270} else (width, height)
        page.MediaBox = Array([50, 60, 50 + wide / 2, 60 + high / 2])
        page.CropBox = page.MediaBox
        page.TrimBox = Array([54.5, 64.5, 45.5 + wide / 2, 55.5 + high / 2])
        page.BleedBox = page.MediaBox
        page.Rotate = turn
        page.UserUnit = 2

    imposition = laid(piece("card", "2in x 3.5in"))
    want = pixels(impose({("card", 1): plain}, imposition))
    got = pixels(impose({("card", 1): changed(plain, change)}, imposition))

    assert np.abs(got - want).mean() < 0.5


def test_parts_of_content_and_inherited_resources(piece: Piece, draw_art: Draw) -> None:
    plain = draw_art(CARD)

    def change(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        body = page.Contents.read_bytes()
        middle = body.index(b"\n", len(body) // 2)
        page.Contents = Array([pdf.make_stream(body[:middle]), pdf.make_stream(body[middle:])])
        page.Parent.Resources = page.Resources
        del page.Resources

    imposition = laid(piece("card", "2in x 3.5in"))
    got = pixels(impose({("card", 1): changed(plain, change)}, imposition))
    assert np.array_equal(got, pixels(impose({("card", 1): plain}, imposition)))


def test_a_piece_is_taken_from_the_middle_of_a_trim_that_is_a_trifle_off(
    piece: Piece, draw_art: Draw
) -> None:
    larger = draw_art(Size(width_pt=CARD.width_pt + 0.6, height_pt=CARD.height_pt))
    with Pdf.open(
        io.BytesIO(impose({("card", 1): larger}, laid(piece("card", "2in x 3.5in"))))
    ) as sheets:
        forms = sheets.pages[0].obj.Resources.XObject
        (form,) = forms.values()
        assert [float(v) for v in form.BBox] == pytest.approx([0.3, 0, 162.3, 270])
        assert [float(v) for v in form.Matrix] == pytest.approx([1, 0, 0, 1, -9.3, -9])


def test_wrong_artwork_is_refused_with_a_mend(piece: Piece, draw_art: Draw) -> None:
    imposition = laid(piece("card", "2in x 3.5in"))
    with pytest.raises(OrderError, match=r"artwork's trim is 3 × 3 in, expected 2 × 3\.5 in"):
        impose({("card", 1): draw_art(Size.parse("3in x 3in"))}, imposition)
    with pytest.raises(OrderError, match="turn the page by a quarter"):
        impose({("card", 1): draw_art(CARD.turned)}, imposition)
    with pytest.raises(OrderError, match="no artwork"):
        impose({}, imposition)
    with pytest.raises(FileError, match="cannot be read as a PDF"):
        impose({("card", 1): b"not a pdf"}, imposition)
    with pytest.raises(OrderError, match="no such page"):
        impose({("card", 1): Artwork(data=draw_art(CARD), pages=(7,))}, imposition)


def test_copies_cost_nothing(piece: Piece, draw_art: Draw) -> None:
    """10,000 copies of one page make a file hardly larger than one copy."""
    art = {("card", 1): draw_art(CARD)}
    one = impose(art, laid(piece("card", "2in x 3.5in", 1)))
    many = impose_sheets(art, laid(piece("card", "2in x 3.5in", 10_000)))

    assert len(many.data) < len(one) + 400 * many.pages
    with Pdf.open(io.BytesIO(many.data)) as pdf:
        assert len({page.obj.Contents.objgen for page in pdf.pages}) == 1
        assert len(forms_of(pdf)) == 1


@pytest.mark.parametrize("order", list(RecordOrder))
def test_records_lie_in_order(piece: Piece, draw_art: Draw, order: RecordOrder) -> None:
    item = piece("card", "2in x 3.5in", 59, sides=2, records=order)
    imposition = laid(item, duplex=Duplex.LONG_EDGE)
    (layout,) = imposition.layouts
    art = {
        ("card", 1): draw_art(CARD, label="name", pages=59),
        ("card", 2): draw_art(CARD, label="back"),
    }
    out = impose_sheets(art, imposition)
    texts = words(out.data)

    copies = layout.copies_of("card")
    assert (out.pages, layout.run, copies) == (6, 3, 20)
    assert [f.code for f in out.findings] == ["copies-left-blank"]
    shown = [{int(n) for n in re.findall(r"name (\d+)", text)} for text in texts[::2]]
    if order is RecordOrder.ACROSS:
        assert shown[0] == set(range(1, 21))
    else:
        assert shown[0] == set(range(1, 60, 3))
    assert set().union(*shown) == set(range(1, 60))
    assert sum(len(names) for names in shown) == 59
    with Pdf.open(io.BytesIO(out.data)) as pdf:
        assert len(forms_of(pdf)) == 59 + 1 + 1  # records, one back, the blank


def test_same_records_become_one_form(piece: Piece, draw_art: Draw) -> None:
    def repeat(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        for _ in range(9):  # every page has a stream of its own, with the same bytes
            stream = Stream(pdf, page.Contents.read_raw_bytes(), Filter=page.Contents.Filter)
            copy = Dictionary(page)
            copy.Contents = pdf.make_indirect(stream)
            pdf.pages.append(pikepdf.Page(pdf.make_indirect(copy)))

    ten = changed(draw_art(CARD), repeat)
    data = impose({("card", 1): ten}, laid(piece("card", "2in x 3.5in", 10)))

    with Pdf.open(io.BytesIO(data)) as pdf:
        assert len(forms_of(pdf)) <= 2  # the form, and the blank of the places left over


def test_records_that_cannot_be_are_refused(piece: Piece, draw_art: Draw) -> None:
    item = piece("card", "2in x 3.5in", 10, sides=2)
    fronts, backs = draw_art(CARD, pages=10), draw_art(CARD, pages=4)
    with pytest.raises(OrderError, match="10 and 4 pages"):
        impose({("card", 1): fronts, ("card", 2): backs}, laid(item, duplex=Duplex.LONG_EDGE))
    with pytest.raises(OrderError, match="one forme for both sides"):
        impose({("card", 1): fronts, ("card", 2): fronts}, laid(item, duplex=Duplex.WORK_AND_TURN))
    few = piece("card", "2in x 3.5in", 10)
    with pytest.raises(OrderError, match="100 pages, but only 10 copies"):
        impose({("card", 1): draw_art(CARD, pages=100)}, laid(few))


def test_work_and_turn_shows_both_sides_on_one_forme(piece: Piece, draw_art: Draw) -> None:
    item = piece("card", "2in x 3.5in", 40, sides=2)
    imposition = laid(item, duplex=Duplex.WORK_AND_TURN)
    art = {("card", 1): draw_art(CARD, label="front"), ("card", 2): draw_art(CARD, label="back")}

    (text,) = words(impose(art, imposition))
    copies = imposition.layouts[0].copies_of("card")
    assert text.count("front") == text.count("back") == copies // 2


def test_layers_are_kept(piece: Piece, draw_art: Draw) -> None:
    def change(pdf: Pdf) -> None:
        hidden = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="draft"))
        page = pdf.pages[0].obj
        page.Resources.Properties = Dictionary(L0=hidden)
        page.Contents = pdf.make_stream(
            page.Contents.read_bytes() + b"\n/OC /L0 BDC 0 0 0 1 k 0 0 900 900 re f EMC"
        )
        pdf.Root.OCProperties = Dictionary(
            OCGs=Array([hidden]), D=Dictionary(OFF=Array([hidden]), Order=Array([hidden]))
        )

    layered = changed(draw_art(CARD), change)
    both = [piece("card", "2in x 3.5in", 5), piece("tag", "2in x 3.5in", 5)]
    imposition = lay_out(both, [SHEET])
    # Either file may become the base; the layers of both must stay hidden.
    other = changed(draw_art(CARD, label="tag", pages=1), change)
    data = impose({("card", 1): layered, ("tag", 1): other}, imposition)

    with Pdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.Root.OCProperties.OCGs) == 2
        assert len(pdf.Root.OCProperties.D.OFF) == 2
    plain = {("card", 1): draw_art(CARD), ("tag", 1): draw_art(CARD, label="tag")}
    assert np.array_equal(pixels(data), pixels(impose(plain, imposition)))


def test_annotations_are_flattened_and_named(piece: Piece, draw_art: Draw) -> None:
    def change(pdf: Pdf) -> None:
        look = Stream(
            pdf, b"0 0 0 1 k 0 0 20 20 re f", Type=Name.XObject, Subtype=Name.Form,
            BBox=Array([0, 0, 20, 20]),
        )  # fmt: skip
        note = Dictionary(
            Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([60, 60, 80, 80]), F=4,
            AP=Dictionary(N=pdf.make_indirect(look)),
        )  # fmt: skip
        pdf.pages[0].obj.Annots = Array([pdf.make_indirect(note)])

    imposition = laid(piece("card", "2in x 3.5in", may_turn=False))
    out = impose_sheets({("card", 1): changed(draw_art(CARD), change)}, imposition)
    placed = imposition.layouts[0].placements[0]

    assert [f.code for f in out.findings] == ["annotations-flattened"]
    x, y = placed.bleed.left + 70, placed.bleed.bottom + 70
    assert pixels(out.data)[round(1296 - y), round(x)].max() < 60


def test_artwork_without_bleed_is_laid_as_it_is_and_nothing_is_guessed(
    piece: Piece, draw_art: Draw
) -> None:
    art = draw_art(CARD, bleed_pt=0.0)
    imposition = laid(piece("card", "2in x 3.5in", may_turn=False))
    out = impose_sheets({("card", 1): art}, imposition)

    # Whether anything runs to the cut, so that bleed is missing, the checks of the artwork say.
    assert out.findings == ()
    placed = imposition.layouts[0].placements[0]
    x, y = round(placed.trim.right + 4), round(1296 - placed.trim.top + 40)
    assert pixels(out.data)[y, x].min() == 255


@pytest.mark.parametrize("version", ["1.4", "1.6", "2.0"])
def test_pdf_version(piece: Piece, draw_art: Draw, version: str) -> None:
    rules = ImposeRules(pdf_version=version)
    data = impose({("card", 1): draw_art(CARD)}, laid(piece("card", "2in x 3.5in")), rules)

    assert data.startswith(f"%PDF-{version}".encode())
    assert (b"/ObjStm" in data) == (version != "1.4")


@pytest.mark.parametrize(
    ("turn", "seen"),
    # Turned clockwise, what was below is on the left, what was on the right is below, and so on.
    [(0, (8.504, 0.0, 8.504, 9.0)), (90, (0.0, 8.504, 9.0, 8.504))],
)
@pytest.mark.parametrize("marked", [False, True], ids=["no room beyond", "marks beyond"])
def test_a_bleed_box_reaches_as_far_as_the_artworks_bleed(
    piece: Piece, draw_art: Draw, turn: int, seen: tuple[float, ...], marked: bool
) -> None:
    """The artwork has 3 mm (8.504 pt) at its sides, 1/8 in above, and below none."""

    def cut(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        x0, y0, x1, y1 = (float(it) for it in page.TrimBox)
        page.MediaBox = page.BleedBox = Array([x0 - 8.504, y0, x1 + 8.504, y1 + 9])
        if marked:
            page.MediaBox = Array([x0 - 30, y0, x1 + 30, y1 + 30])
        page.Rotate = turn

    art, card = changed(draw_art(CARD), cut), CARD.turned if turn else CARD
    with Pdf.open(io.BytesIO(single_pieces(art, card, 9.0).data)) as pdf:
        page = pdf.pages[0].obj
        assert bleed_of(page) == pytest.approx(seen, abs=1e-3)
    imposed = impose({("card", 1): art}, laid(piece("card", str(card).replace("×", "x"))))
    with Pdf.open(io.BytesIO(imposed)) as pdf:
        of_sheet = bleed_of(pdf.pages[0].obj)
    # On the sheet the card may lie turned, all cards one way.
    ways = [tuple([*seen, *seen][at : at + 4]) for at in range(4)]
    assert any(of_sheet == pytest.approx(way, abs=1e-3) for way in ways), of_sheet


def bleed_of(page: pikepdf.Object) -> tuple[float, ...]:
    """How far a page's BleedBox reaches past its TrimBox: left, below, right, above."""
    bleed, trim = ([float(it) for it in box] for box in (page.BleedBox, page.TrimBox))
    return tuple(abs(one - other) for one, other in zip(bleed, trim, strict=True))


def test_single_pieces(draw_art: Draw) -> None:
    art = draw_art(CARD, pages=2)
    plain = single_pieces(art, CARD, 9.0).data
    rules = MarkRules(slug="evening · {pieces} · {side}")
    marked = single_pieces(art, CARD, 9.0, marks=rules, name="tag")

    with Pdf.open(io.BytesIO(plain)) as pdf:
        assert len(pdf.pages) == 2
        assert [float(v) for v in pdf.pages[0].mediabox] == [0, 0, 162, 270]
        assert [float(v) for v in pdf.pages[0].obj.BleedBox] == [0, 0, 162, 270]
        assert [float(v) for v in pdf.pages[0].obj.TrimBox] == [9, 9, 153, 261]
    assert np.array_equal(pixels(plain), pixels(art))
    with Pdf.open(io.BytesIO(marked.data)) as pdf:
        media, trim = pdf.pages[1].mediabox, pdf.pages[1].obj.TrimBox
        assert float(trim[2]) - float(trim[0]) == pytest.approx(144, abs=1e-3)
        assert float(media[2]) > 162 + 2 * 12
    assert not marked.findings
    front, back = words(marked.data)
    assert "evening · tag · front" in front
    assert "evening · tag · back" in back
