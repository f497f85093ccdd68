import itertools
from collections.abc import Callable

import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkaccord.errors import OrderError
from inkaccord.layout.duplex import (
    back_of,
    backed,
    both_sides,
    register_error_pt,
    turned_over,
    turning_axis,
)
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.model import (
    Axis,
    BackUp,
    Duplex,
    Edge,
    Gripper,
    Item,
    LayoutRules,
    Placement,
    SheetStock,
)
from inkaccord.layout.packing import lay_out
from inkaccord.sizes import Box, Sides, Size

Piece = Callable[..., Item]
SHEET = Size(width_pt=864, height_pt=1296)
NUMBERS = st.floats(0, 800, allow_nan=False)


@given(NUMBERS, NUMBERS, NUMBERS, NUMBERS)
def test_turning_and_tumbling(x: float, y: float, width: float, height: float) -> None:
    """(x, y) → (W − x, y) and (x, H − y); each undoes itself, both make a half turn."""
    box = Box(x, y, x + width, y + height)
    turned = turned_over(box, SHEET, Axis.UPRIGHT)
    tumbled = turned_over(box, SHEET, Axis.LEVEL)

    assert turned == pytest.approx((864 - x - width, y, 864 - x, y + height))
    assert tumbled == pytest.approx((x, 1296 - y - height, x + width, 1296 - y))
    assert turned_over(turned, SHEET, Axis.UPRIGHT) == pytest.approx(box)
    assert turned_over(tumbled, SHEET, Axis.LEVEL) == pytest.approx(box)
    assert turned_over(turned, SHEET, Axis.LEVEL) == pytest.approx(
        (864 - box.right, 1296 - box.top, 864 - box.left, 1296 - box.bottom)
    )


@pytest.mark.parametrize(
    ("size", "duplex", "edge", "axis"),
    [
        ("12x18", Duplex.LONG_EDGE, None, Axis.UPRIGHT),
        ("12x18", Duplex.SHORT_EDGE, None, Axis.LEVEL),
        ("18in x 12in", Duplex.LONG_EDGE, None, Axis.LEVEL),
        ("18in x 12in", Duplex.SHORT_EDGE, None, Axis.UPRIGHT),
        ("18in x 12in", Duplex.SHEETWISE, Edge.BOTTOM, Axis.UPRIGHT),
        ("18in x 12in", Duplex.SHEETWISE, Edge.LEFT, Axis.LEVEL),
        ("18in x 12in", Duplex.WORK_AND_TURN, Edge.TOP, Axis.UPRIGHT),
        ("18in x 12in", Duplex.WORK_AND_TUMBLE, Edge.BOTTOM, Axis.LEVEL),
        ("18in x 12in", Duplex.WORK_AND_TUMBLE, Edge.RIGHT, Axis.UPRIGHT),
    ],
)
def test_axis_of_turning(size: str, duplex: Duplex, edge: Edge | None, axis: Axis) -> None:
    gripper = Gripper(edge=edge, depth_pt=28) if edge else None
    sheet = SheetStock(name="sheet", size=Size.parse(size), gripper=gripper)

    assert turning_axis(sheet, duplex) is axis


def test_tumbling_needs_the_gripper_on_both_edges() -> None:
    sheet = SheetStock(
        name="sheet", size=SHEET, margins=Sides.even(10), gripper=Gripper(depth_pt=28)
    )

    assert both_sides(sheet, Duplex.WORK_AND_TURN) == (10, 28, 854, 1286)
    assert both_sides(sheet, Duplex.WORK_AND_TUMBLE) == (10, 28, 854, 1268)
    deep = SheetStock(name="deep", size=SHEET, gripper=Gripper(depth_pt=700))
    with pytest.raises(OrderError, match="leave nothing of deep"):
        lay_out(
            [Item(name="card", trim=Size.parse("2in x 2in"), quantity=1, sides=2)],
            [deep],
            LayoutRules(duplex=Duplex.WORK_AND_TUMBLE),
        )


def test_backs_that_do_not_back_up_are_noticed(piece: Piece) -> None:
    imposition = lay_out(
        [piece("card", "5in x 7in", 10, sides=2)],
        [SheetStock(name="sheet", size=SHEET)],
        LayoutRules(duplex=Duplex.LONG_EDGE),
    )
    (layout,) = imposition.layouts
    back = back_of(layout, imposition.items)
    moved = tuple(p.model_copy(update={"x_pt": p.x_pt + 0.5}) for p in back)

    assert register_error_pt(layout, back) < 1e-9
    assert register_error_pt(layout, moved) == pytest.approx(0.5)


# Where the mark in the lower left corner of a head-to-head back must come to lie, seen through
# the paper from the front: turned over sideways it lies at the lower right of the piece.
_CORNERS = {0: (1, 0), 90: (1, 1), 180: (0, 1), 270: (0, 0)}


@pytest.mark.parametrize("axis", list(Axis))
@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
@pytest.mark.parametrize("back_up", list(BackUp))
def test_backs_stand_as_asked(axis: Axis, rotation: int, back_up: BackUp) -> None:
    item = Item(
        name="card", trim=Size(width_pt=100, height_pt=200), quantity=1, sides=2, back_up=back_up
    )
    wide = rotation in {90, 270}
    front = Placement.model_validate(
        {
            "item": "card",
            "x_pt": 50,
            "y_pt": 70,
            "width_pt": 200 if wide else 100,
            "height_pt": 100 if wide else 200,
            "rotation": rotation,
        }
    )
    back = backed(front, item, SHEET, axis)

    corner = Box(*_mark(back))
    through = turned_over(corner, SHEET, axis)
    at = (
        int((through.left + through.right) / 2 > (front.trim.left + front.trim.right) / 2),
        int((through.bottom + through.top) / 2 > (front.trim.bottom + front.trim.top) / 2),
    )
    turn = rotation + (180 if back_up is BackUp.HEAD_TO_FOOT else 0)
    assert at == _CORNERS[turn % 360]


def _mark(placed: Placement) -> tuple[float, float, float, float]:
    """Return a small box at the corner that is lower left in the piece."""
    box, s = placed.trim, 10
    return {
        0: (box.left, box.bottom, box.left + s, box.bottom + s),
        90: (box.right - s, box.bottom, box.right, box.bottom + s),
        180: (box.right - s, box.top - s, box.right, box.top),
        270: (box.left, box.top - s, box.left + s, box.top),
    }[placed.rotation]


@pytest.mark.parametrize(
    ("duplex", "size"),
    list(
        itertools.product(
            [Duplex.LONG_EDGE, Duplex.SHORT_EDGE, Duplex.SHEETWISE], ["12x18", "18in x 12in"]
        )
    ),
)
def test_rendered_sides_back_up(
    piece: Piece, draw_art: Callable[..., bytes], duplex: Duplex, size: str
) -> None:
    """The inked areas of both pages, one of them turned over, cover each other."""
    items = [
        piece("invitation", "5in x 7in", 20, sides=2),
        piece("tag", "2in x 3.5in", 40, sides=2),
    ]
    sheet = SheetStock(name=size, size=Size.parse(size), margins=Sides(left=20, bottom=40, right=6))
    imposition = lay_out(items, [sheet], LayoutRules(duplex=duplex))
    plain = {
        (item.name, side): draw_art(item.trim, label="", cmyk=(0, 0, 0, 1))
        for item in items
        for side in (1, 2)
    }
    axis = turning_axis(sheet, duplex)
    with pypdfium2.PdfDocument(impose_sheets(plain, imposition).data) as pdf:
        assert len(pdf) == 2 * len(imposition.layouts)
        for k in range(0, len(pdf), 2):
            front, back = (_inked(pdf[n]) for n in (k, k + 1))
            turned = np.fliplr(back) if axis is Axis.UPRIGHT else np.flipud(back)
            # The white corner squares differ; everything else may differ by one pixel at edges.
            assert front.mean() > 0.3
            assert _hull(front) == pytest.approx(_hull(turned), abs=1)


@pytest.mark.parametrize("duplex", [Duplex.WORK_AND_TURN, Duplex.WORK_AND_TUMBLE])
@pytest.mark.parametrize("size", ["12x18", "18in x 12in"])
def test_one_rendered_forme_backs_itself_up(
    piece: Piece, draw_art: Callable[..., bytes], duplex: Duplex, size: str
) -> None:
    """Turned over, the cyan fronts of the forme lie behind its magenta backs."""
    item = piece("tag", "2in x 3.5in", 40, sides=2)
    sheet = SheetStock(name=size, size=Size.parse(size), margins=Sides(left=20, bottom=40, right=6))
    imposition = lay_out([item], [sheet], LayoutRules(duplex=duplex))
    art = {
        ("tag", 1): draw_art(item.trim, label="", cmyk=(1, 0, 0, 0)),
        ("tag", 2): draw_art(item.trim, label="", cmyk=(0, 1, 0, 0)),
    }
    upright = turning_axis(sheet, duplex) is Axis.UPRIGHT
    with pypdfium2.PdfDocument(impose_sheets(art, imposition).data) as pdf:
        for page in pdf:
            bgr = page.render(scale=1.0).to_numpy()[:, :, :3].astype(int)
            fronts = (bgr[:, :, 0] > 150) & (bgr[:, :, 2] < 128)
            backs = (bgr[:, :, 1] < 128) & (bgr[:, :, 2] > 150)
            turned = np.fliplr(backs) if upright else np.flipud(backs)
            assert fronts.any()
            # The white corner squares of 36 pt lie at other corners; all else is the same.
            assert _hull(fronts) == pytest.approx(_hull(turned), abs=1)
            copies = imposition.layouts[0].copies_of("tag") // 2
            assert np.count_nonzero(fronts ^ turned) < copies * (2 * 37 * 37 + 4 * (162 + 270))


def _inked(page: pypdfium2.PdfPage) -> np.ndarray:
    bitmap = page.render(scale=1.0).to_numpy()
    return bitmap[:, :, 0] < 128


def _hull(inked: np.ndarray) -> tuple[int, int, int, int]:
    rows, columns = np.flatnonzero(inked.any(axis=1)), np.flatnonzero(inked.any(axis=0))
    return int(rows[0]), int(rows[-1]), int(columns[0]), int(columns[-1])
