"""Blocks on a large sheet: all of them, where the cut marks say, as they were drawn."""

import datetime
import io

import numpy as np
import pikepdf
import pypdfium2
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.laid import lay_blocks
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size

SRA3 = SheetFormat(size=Size.parse("sra3"), unprintable=Sides.even(15))
A4 = SheetFormat(size=Size.parse("a4"), unprintable=Sides.even(12))


def block(size: str, count: int, pair: str = "press@kraft") -> SampleSheet:
    sheet = plan_sheet(
        Pair.parse(pair),
        Purpose.CLOSING_IN,
        [
            SwatchGroup(
                colour="kelp",
                builds=tuple(Build.cmyk(n % 97, n // 97, 60, 5) for n in range(count)),
            )
        ],
        SheetFormat(size=Size.parse(size)),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
    )
    assert sheet is not None
    return sheet


def laid(sheets: list[SampleSheet], *on: SheetFormat) -> bytes:
    return lay_blocks([(sheet, draw_sheet(sheet)) for sheet in sheets], on, title="quay, kraft")


def picture(pdf: bytes, page: int = 0) -> np.ndarray:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return np.asarray(document[page].render(scale=1).to_numpy(), dtype=float)[..., :3]
    finally:
        document.close()


def corners(pdf: bytes) -> list[list[tuple[float, float]]]:
    """Return where the blocks' lower left corners lie, page by page."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [
            [
                (float(operands[4]), float(operands[5]))
                for operands, operator in pikepdf.parse_content_stream(page)
                if str(operator) == "cm"
                and [float(v) for v in operands[:4]] == [1, 0, 0, 1]
                and float(operands[4]) > 0
            ]
            for page in document.pages
        ]


def test_a_block_is_on_the_large_sheet_as_in_its_own_file() -> None:
    sheet = block("a5", 20)
    pdf = laid([sheet], SRA3)
    ((x, y),) = corners(pdf)[0]
    large, own = picture(pdf), picture(draw_sheet(sheet))
    top = round(SRA3.size.height_pt - y - sheet.size.height_pt)
    height, width = own.shape[:2]
    cut = large[top : top + height, round(x) : round(x) + width]
    assert np.abs(cut - own)[2:-2, 2:-2].mean() < 6.0  # of 255; corners are no whole pixels
    assert (large.shape[1] - width) / 2 == pytest.approx(x, abs=1.0)  # in the middle


def test_pages_and_sheets_lie_side_by_side_without_overlap() -> None:
    sheets = [block("a5", 200), block("a5", 12)]
    blocks = sum(sheet.pages for sheet in sheets)
    assert blocks > 3
    pages = corners(laid(sheets, SRA3))
    assert sum(map(len, pages)) == blocks
    size = sheets[0].size
    for page in pages:
        for number, (x, y) in enumerate(page):
            for other_x, other_y in page[number + 1 :]:
                apart_x = abs(x - other_x) >= size.width_pt - 0.02
                assert apart_x or abs(y - other_y) >= size.height_pt - 0.02


def test_of_several_sheets_the_one_that_needs_the_least_paper_is_taken() -> None:
    a3 = SheetFormat(size=Size.parse("a3"), unprintable=Sides.even(12))
    for sheet, best, other in ((block("a5", 12), A4, SRA3), (block("a4", 120), a3, SRA3)):
        with pikepdf.open(io.BytesIO(laid([sheet], other, best))) as document:
            (page,) = document.pages
            sides = sorted(float(side) for side in page.mediabox[2:])
        assert sides == pytest.approx([best.size.width_pt, best.size.height_pt], abs=0.1)


def test_the_same_blocks_give_the_same_bytes_and_the_cut_its_caution() -> None:
    pdf = laid([block("a5", 12)], SRA3)
    assert pdf == laid([block("a5", 12)], SRA3)
    text = words(pdf)
    assert "quay, kraft" in text
    assert "Blades" in text
    assert "A smaller cut of this stock does as well" in text
    assert "148 × 210 mm" in text


def words(pdf: bytes) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        return " ".join(document[0].get_textpage().get_text_range().split())


def test_two_devices_share_one_sheet_that_goes_through_both() -> None:
    """Laid on each other, the two files give both blocks, one set of marks, and no overlap."""
    ours, theirs = block("a5", 12), block("a5", 12, "inkjet@kraft")
    drawn = [(sheet, draw_sheet(sheet)) for sheet in (ours, theirs)]
    second = lay_blocks(drawn[:1], [SRA3], title="quay", beside=drawn[1:])
    first = lay_blocks(drawn[1:], [SRA3], title="quay", beside=drawn[:1])
    ((here,), (there,)) = corners(second)[0], corners(first)[0]
    apart = np.abs(np.subtract(here, there))
    assert (apart >= (ours.size.width_pt - 0.02, ours.size.height_pt - 0.02)).any()
    inked = [picture(pdf).min(axis=2) < 128 for pdf in (first, second)]
    assert not (inked[0] & inked[1]).any()
    assert "The same paper then goes through press@kraft" in words(first)
    assert "On the paper that went through inkjet@kraft, once dry" in words(second)


def test_a_block_that_fits_no_sheet_is_refused() -> None:
    with pytest.raises(OrderError) as caught:
        laid([block("a3", 12)], A4)
    assert caught.value.findings[0].code == "sheet-too-small"
