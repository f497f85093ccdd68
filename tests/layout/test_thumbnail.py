from collections.abc import Callable
from xml.etree import ElementTree

from inkaccord.layout.cutplan import cut_plan
from inkaccord.layout.duplex import back_of
from inkaccord.layout.folds import FoldStyle, panels
from inkaccord.layout.marks import MarkRules, marks_for
from inkaccord.layout.model import Duplex, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import lay_out
from inkaccord.layout.thumbnail import sheet_svg
from inkaccord.sizes import Sides, Size

SVG = "{http://www.w3.org/2000/svg}"
SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(12))


def test_picture_shows_every_piece_and_says_what_it_is(piece: Callable[..., Item]) -> None:
    flat = Size.parse("11in x 8.5in")
    items = (
        piece("programme", "11in x 8.5in", 36, sides=2, folds=panels(FoldStyle.HALF, flat)),
        piece("tag <a>", "2in x 3.5in", 180),
    )
    imposition = lay_out(items, [SHEET], LayoutRules(duplex=Duplex.LONG_EDGE))
    layout = imposition.layouts[0]
    marks = marks_for(
        layout.placements, SHEET.printable, items, MarkRules(slug="x"), size=SHEET.size
    )
    cuts = cut_plan(layout)
    root = ElementTree.fromstring(sheet_svg(layout, items, marks=marks, cuts=cuts))  # noqa: S314

    labels = [text.text for text in root.iter(f"{SVG}text")]
    assert labels.count("tag <a>") == layout.copies_of("tag <a>")
    assert str(len(cuts)) in labels
    assert f"{layout.run} sheets" in str(root.get("aria-label"))
    assert "prefers-color-scheme:dark" in str(root.findtext(f"{SVG}style"))
    # Sheet, printable area, then a bleed and a trim each, register marks and the slug line.
    assert len(list(root.iter(f"{SVG}rect"))) >= 2 + 2 * len(layout.placements) + 1

    back = sheet_svg(layout, items, placements=back_of(layout, items))
    assert back.count(">programme<") == layout.copies_of("programme")
    assert "tag" not in back.split("</title>")[1]


def test_tiny_pieces_go_without_a_label(piece: Callable[..., Item]) -> None:
    items = (piece("a-very-long-name-indeed", "0.5in x 0.5in", 10),)
    layout = lay_out(items, [SHEET]).layouts[0]

    assert "<text" not in sheet_svg(layout, items, width_px=120)
