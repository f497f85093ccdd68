"""Sample sheets of a vendor's devices on one stock: each on its own paper, or sharing it."""

import io

import numpy as np
import pikepdf
import pypdfium2
import pytest
import yaml

from inkaccord.order.loading import load_order
from inkaccord.planning.sample_pages import is_laid, laid_file
from inkaccord.planning.sheets import controls_sheet
from inkaccord.planning.wording import price
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sizes import Size
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench


@pytest.fixture
def drawn(tmp_path):
    def make(*, share, sheets, samples=None):
        (tmp_path / "card.pdf").write_bytes(draw_artwork("5in x 7in"))
        devices = {
            name: {"sheets": takes, "margin": margin}
            for name, (takes, margin) in zip(("laser", "press"), sheets, strict=True)
        }
        order = {
            "order": "shared", "date": "2026-11-28", "suites": 4,
            "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": "cmyk 75 20 80 10"}},
            "stocks": {"cotton": {"size": "sra3"}},
            "vendors": {"studio": {"delivers": "sheets", "devices": devices,
                                   "samples_share": share}},
            "pieces": {
                name: {"artwork": "card.pdf", "trim": "5in x 7in", "device": name,
                       "stock": "cotton"}
                for name in devices
            },
            "samples": samples or {},
        }  # fmt: skip
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        loaded = load_order(tmp_path / "order.yaml", {})
        bench = Workbench(loaded)
        planned = [controls_sheet(loaded.order, bench.pair(it)) for it in loaded.order.pairs()]
        return loaded.order, [DrawnSheet(sheet, draw_sheet(sheet)) for sheet in planned]

    return make


SRA3 = pytest.approx([320, 450], abs=0.1)


def placed(order, drawn):
    """Return where each device's block lies: the lower left corner in its own file."""
    corners = []
    for sheet in drawn:
        with pikepdf.open(io.BytesIO(laid_file(order, [sheet], drawn))) as document:
            (page,) = document.pages
            assert sorted(float(side) / 72 * 25.4 for side in page.mediabox[2:]) == SRA3
            corners += [
                tuple(float(number) for number in operands[4:])
                for operands, operator in pikepdf.parse_content_stream(page)
                if str(operator) == "cm" and float(operands[4]) > 0
            ]
    return corners


def test_devices_that_share_their_paper_leave_each_other_room(drawn):
    order, sheets = drawn(share=True, sheets=((["sra3", "a3"], "4mm"), (["sra3"], "12mm")))
    (one, other) = placed(order, sheets)
    size = sheets[0].sheet.size
    assert abs(one[0] - other[0]) >= size.width_pt or abs(one[1] - other[1]) >= size.height_pt


@pytest.mark.parametrize(("share", "second"), [(False, (["sra3"], "4mm")), (True, (["a3"], "4mm"))])
def test_else_each_device_has_its_own_paper(drawn, share, second):
    """The order does not say so, or the devices take no size of sheet in common."""
    order, sheets = drawn(share=share, sheets=((["sra3"], "4mm"), second))
    alone = laid_file(order, sheets[:1])
    assert laid_file(order, sheets[:1], sheets) == alone


def test_a_sheet_that_is_cut_out_of_a_larger_one_says_how_little_paper_does(drawn):
    order, sheets = drawn(share=False, sheets=((["sra3"], "4mm"), (["a6"], "4mm")))
    said = [price(order, it.sheet) for it in sheets]
    assert "a cut of 105 × 148 mm does where the device takes one" in said[0]
    assert "a cut" not in said[1]
    assert [is_laid(order, it.sheet) for it in sheets] == [True, False]


@pytest.mark.parametrize(
    ("samples", "edge", "marked_mm"),
    [
        ({"keep": "loose"}, 0, []),
        ({"keep": "binder"}, 0, [34, 114]),  # ISO 838: 80 mm apart, on A6's 148 mm
        ({"keep": "binder", "holes": "six"}, 0, [32, 51, 70, 140, 159, 178]),  # A5
        ({"keep": "cards"}, 1, [10]),
    ],
)
def test_sheets_leave_room_for_the_holes_that_the_order_keeps_them_by(
    drawn, samples, edge, marked_mm
):
    """Seen in the picture: the margin holds nothing but a small cross at each hole."""
    _, ((sheet, pdf), _) = drawn(share=False, sheets=((["a4"], "0mm"),) * 2, samples=samples)
    assert sheet.size.same_as(Size.parse("a5" if samples.get("holes") else "a6"))
    with pypdfium2.PdfDocument(pdf) as document:
        inked = np.asarray(document[0].render(scale=4).to_pil().convert("L")) < 200
    dots_per_mm = 4 * 72 / 25.4
    margin = inked[:, : int(15 * dots_per_mm)] if edge == 0 else inked[: int(15 * dots_per_mm)].T
    along = np.flatnonzero(margin.any(axis=1)) / dots_per_mm
    crosses = np.split(along, np.flatnonzero(np.diff(along) > 2) + 1) if len(along) else []
    if marked_mm:
        assert [it.mean() for it in crosses] == pytest.approx(marked_mm, abs=0.6)
        assert all(it[-1] - it[0] < 6 for it in crosses)
    else:
        assert any(it[-1] - it[0] > 6 for it in crosses)
