import io
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.colour.builds import Build, Drive
from inkaccord.layout.duplex import back_of, blank_backs
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.linemarks import MarkKind
from inkaccord.layout.markdraw import draw_marks
from inkaccord.layout.marks import (
    ColourPatch,
    MarkInk,
    MarkRules,
    MarkSet,
    find_room,
    marks_for,
)
from inkaccord.layout.model import (
    Axis,
    Duplex,
    Fold,
    Item,
    LayoutRules,
    SheetLayout,
    SheetStock,
)
from inkaccord.layout.packing import lay_out
from inkaccord.layout.rules import ImposeRules
from inkaccord.sizes import Box, Sides, Size
from outside import need_program

Piece = Callable[..., Item]
SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(12))
ROOM = LayoutRules(frame=Sides.even(24))
SWATCHES = tuple(
    ColourPatch(label=f"S{k}", build=Build.cmyk(10 * k, 100 - 10 * k, 30, k)) for k in range(8)
)
FULL = MarkRules(register_marks=True, slug="order · {pieces} · {side}", swatches=SWATCHES)


def front(layout: SheetLayout, items: tuple[Item, ...], rules: MarkRules) -> MarkSet:
    return marks_for(
        layout.placements, layout.sheet.printable, items, rules, size=layout.sheet.size
    )


def covered(marks: MarkSet) -> list[Box]:
    """Return everything that marks cover."""
    drawn = (*marks.lines, *marks.texts, *marks.swatches)
    return [*(one.box for one in drawn), *marks.targets]


def check(marks: MarkSet, bleeds: list[Box], printable: Box) -> None:
    """Nothing lies on a piece or its bleed, in the unprintable edge, or on another mark."""
    for box in covered(marks):
        assert printable.holds(box, 0.25)
        assert not any(box.meets(bleed, 0.01) for bleed in bleeds), box
    others = [*marks.targets, *(s.box for s in marks.swatches)]
    if marks.slug:
        others.append(marks.slug.box)
    for k, box in enumerate(others):
        assert not any(box.meets(line.box) for line in marks.lines)
        assert not any(box.meets(other, 0.01) for other in others[k + 1 :])


def test_all_marks_find_room(piece: Piece) -> None:
    imposition = lay_out([piece("card", "5in x 7in", 20)], [SHEET], ROOM)
    (layout,) = imposition.layouts
    marks = front(layout, imposition.items, FULL)

    assert not marks.findings
    assert len(marks.swatches) == 8
    assert marks.slug
    assert len(marks.targets) >= 2
    check(marks, [p.bleed for p in layout.placements], SHEET.printable)


def test_crop_marks_stand_on_trim_lines(piece: Piece) -> None:
    imposition = lay_out([piece("card", "5in x 7in", 4, may_turn=False)], [SHEET], ROOM)
    (layout,) = imposition.layouts
    marks = front(layout, imposition.items, MarkRules())

    trims = [p.trim for p in layout.placements]
    upright = {round(m.x1_pt, 2) for m in marks.lines if m.x1_pt == m.x2_pt}
    level = {round(m.y1_pt, 2) for m in marks.lines if m.y1_pt == m.y2_pt}
    assert upright == {round(v, 2) for t in trims for v in (t.left, t.right)}
    assert level == {round(v, 2) for t in trims for v in (t.bottom, t.top)}
    # Bleeds touch inside the block, so marks stand only round it: 4 trim lines, both ends.
    assert len(marks.lines) == 16
    assert {m.kind for m in marks.lines} == {MarkKind.CROP}


def test_fold_marks_stand_on_fold_lines(piece: Piece) -> None:
    folds = tuple(Fold(runs=Axis.UPRIGHT, at_pt=at) for at in (265.5, 531.0))
    items = (piece("programme", "11in x 8.5in", 4, folds=folds),)
    imposition = lay_out(items, [SHEET], ROOM)
    (layout,) = imposition.layouts
    marks = front(layout, items, MarkRules(crop=False))

    (placed,) = layout.placements[:1]
    at = {round(m.x1_pt - placed.trim.left, 2) for m in marks.lines if m.kind is MarkKind.FOLD}
    turned = {round(m.y1_pt - placed.trim.bottom, 2) for m in marks.lines if m.y1_pt == m.y2_pt}
    assert (turned if placed.turned else at) >= {round(f.at_pt, 2) for f in folds}


def test_fold_marks_without_room_are_reported(piece: Piece) -> None:
    """A score needs a mark at either end; the sheet here leaves room beside the pieces alone."""
    folds = (Fold(runs=Axis.UPRIGHT, at_pt=180),)
    item = piece("card", "5in x 7in", 4, folds=folds, may_turn=False)
    low = SheetStock(name="low", size=Size.parse("13in x 7.25in"))
    imposition = lay_out([item], [low])
    marks = front(imposition.layouts[0], imposition.items, MarkRules(crop=False))
    assert not marks.lines
    (finding,) = marks.findings
    assert finding.code == "mark-left-out"
    assert "fold marks of card at both ends of 2 of its 2 lines" in finding.message
    roomy = lay_out([item], [SHEET], ROOM)
    assert front(roomy.layouts[0], roomy.items, MarkRules(crop=False)).findings == ()


def test_marks_without_room_are_reported(piece: Piece) -> None:
    tight = SheetStock(name="tight", size=Size.parse("5.25in x 7.25in"))
    imposition = lay_out([piece("card", "5in x 7in", 4)], [tight])
    marks = front(imposition.layouts[0], imposition.items, FULL)

    assert not covered(marks)
    assert {f.code for f in marks.findings} == {"mark-left-out"}
    assert len(marks.findings) == 4
    assert "crop marks at 4 of 4 trim lines" in marks.findings[0].message
    assert all(finding.hint for finding in marks.findings)


def test_marks_keep_off_blank_backs(piece: Piece) -> None:
    items = (
        piece("programme", "11in x 8.5in", 36, sides=2),
        piece("tag", "2in x 3.5in", 180),
    )
    imposition = lay_out(items, [SHEET], LayoutRules(duplex=Duplex.LONG_EDGE))
    for layout in imposition.layouts:
        back = back_of(layout, items)
        blank = blank_backs(layout, items)
        if not back:
            continue
        marks = marks_for(back, SHEET.printable, items, FULL, size=SHEET.size, blank=blank)
        check(marks, [*(p.bleed for p in back), *blank], SHEET.printable)
        assert len(blank) == layout.copies_of("tag")


@few(10)
@given(st.data())
def test_marks_never_touch_a_piece(data: st.DataObject) -> None:
    side = st.sampled_from([2.0, 3.5, 4.25, 5.5, 7.0])
    items = tuple(
        Item(
            name=f"p{k}",
            trim=Size(width_pt=72 * data.draw(side), height_pt=72 * data.draw(side)),
            bleed_pt=data.draw(st.sampled_from([0.0, 9.0])),
            quantity=data.draw(st.integers(1, 60)),
            folds=(Fold(runs=Axis.UPRIGHT, at_pt=72),) if data.draw(st.booleans()) else (),
        )
        for k in range(data.draw(st.integers(1, 3)))
    )
    frame = Sides.even(data.draw(st.sampled_from([0.0, 10.0, 30.0])))
    for layout in lay_out(items, [SHEET], LayoutRules(frame=frame)).layouts:
        marks = front(layout, items, FULL)
        check(marks, [p.bleed for p in layout.placements], SHEET.printable)


def test_find_room() -> None:
    area = Box(0, 0, 100, 50)
    assert find_room(area, [], 100, 50) == area
    assert find_room(area, [], 101, 10) is None
    assert find_room(area, [Box(0, 0, 40, 50)], 60, 10) == Box(40, 0, 100, 10)
    assert find_room(area, [Box(0, 0, 90, 20)], 60, 10) == Box(0, 20, 60, 30)


def test_register_ink_and_builds_are_in_the_file(piece: Piece) -> None:
    imposition = lay_out([piece("card", "5in x 7in", 20)], [SHEET], ROOM)
    (layout,) = imposition.layouts
    pressed = FULL.model_copy(update={"ink": MarkInk.ALL})
    marks = front(layout, imposition.items, pressed)
    with pikepdf.open(io.BytesIO(draw_marks([(SHEET.size, marks)], pressed))) as pdf:
        page = pdf.pages[0]
        content = page.obj.Contents.read_bytes()
        spaces = page.obj.Resources.ColorSpace
        assert any(space[1] == pikepdf.Name.All for _, space in spaces.items())
        assert b".2 .8 .3 .02 k" in content

    screen = MarkRules(
        drive=Drive.RGB, swatches=(ColourPatch(label="S1", build=Build.rgb(255, 0, 51)),)
    )
    marks = front(layout, imposition.items, screen)
    with pikepdf.open(io.BytesIO(draw_marks([(SHEET.size, marks)], screen))) as pdf:
        content = pdf.pages[0].obj.Contents.read_bytes()
        assert b"1 0 .2 rg" in content
        assert b" k" not in content.replace(b"\n", b" ")


def test_slug_names_what_the_sheet_shows(piece: Piece, draw_art: Callable[..., bytes]) -> None:
    item = piece("card", "5in x 7in", 20, sides=2)
    rules = LayoutRules(frame=Sides.even(24), duplex=Duplex.LONG_EDGE)
    imposition = lay_out([item], [SHEET], rules)
    art = draw_art(item.trim)
    out = impose_sheets({("card", 1): art, ("card", 2): art}, imposition, ImposeRules(marks=FULL))

    with pypdfium2.PdfDocument(out.data) as pdf:
        texts = [page.get_textpage().get_text_range() for page in pdf]
    assert "order · card · front" in texts[0]
    assert "order · card · back" in texts[1]
    assert "S7" in texts[0]


def test_another_program_renders_marks_in_the_waste_alone(
    piece: Piece, draw_art: Callable[..., bytes], tmp_path: Path
) -> None:
    """Ghostscript sees ink outside the bleeds where marks are, and none where there are none."""
    import subprocess

    import numpy as np
    from PIL import Image

    gs = need_program("gs", "ghostscript")
    item = piece("card", "5in x 7in", 20)
    imposition = lay_out([item], [SHEET], ROOM)
    (layout,) = imposition.layouts
    out = impose_sheets({("card", 1): draw_art(item.trim)}, imposition, ImposeRules(marks=FULL))
    (tmp_path / "sheet.pdf").write_bytes(out.data)
    subprocess.run(
        [gs, "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pnggray", "-r72",
         "-dTextAlphaBits=4", "-dGraphicsAlphaBits=4",
         f"-sOutputFile={tmp_path / 'sheet.png'}", str(tmp_path / "sheet.pdf")],
        check=True,
    )  # fmt: skip
    page = np.asarray(Image.open(tmp_path / "sheet.png")).astype(int)
    waste = np.ones_like(page, dtype=bool)
    for placed in layout.placements:
        box = placed.bleed.grown(1)
        waste[
            round(1296 - box.top) : round(1296 - box.bottom), round(box.left) : round(box.right)
        ] = False
    marked = np.zeros_like(waste)
    rules = FULL.model_copy(update={"slug": "order · card · front"})
    for box in covered(front(layout, imposition.items, rules)):
        grown = box.grown(1.5)
        marked[
            round(1296 - grown.top) : round(1296 - grown.bottom) + 1,
            round(grown.left) : round(grown.right) + 1,
        ] = True
    assert (page[waste & ~marked] > 250).all()
    assert (page[waste & marked] < 128).sum() > 500


@pytest.mark.parametrize(("width", "height"), [(600.0, 70.0), (70.0, 600.0)])
def test_no_label_of_a_swatch_reads_as_a_word_of_the_slug_line(width: float, height: float) -> None:
    sheet = Size(width_pt=width, height_pt=height)
    rules = MarkRules(
        slug="evening · laser@kraft",
        swatches=tuple(ColourPatch(label=f"X{n}", build=Build.cmyk(0, 0, 0, 0)) for n in (1, 2)),
    )
    made = marks_for([], Box(12, 12, width - 12, height - 12), [], rules, size=sheet)
    assert made.slug is not None
    assert len(made.swatches) == 2
    for placed in made.swatches:
        apart = [
            placed.box.left - made.slug.box.right,
            made.slug.box.left - placed.box.right,
            placed.box.bottom - made.slug.box.top,
        ]
        # In the same line of type, at least as much as its letters are high; else on another line.
        assert max(apart[:2]) >= 6.5 or apart[2] >= 2


def test_rows_of_swatches_stand_above_each_other_where_they_can() -> None:
    pieces = [Box(12, 12, 60, 200), Box(61, 12, 72, 30)]  # the other is beside the lower row alone
    made = marks_for(
        [], Box(12, 12, 264, 200), [], MarkRules(swatches=SWATCHES),
        size=Size(width_pt=276, height_pt=212), blank=pieces,
    )  # fmt: skip
    lefts = {it.box.bottom: it.box.left for it in reversed(made.swatches)}
    assert len(lefts) == 2
    assert len(set(lefts.values())) == 1, lefts
