"""Labels for what printed sheets are kept in."""

import datetime
import io

import pikepdf
import pypdfium2
import pytest
import zxingcpp

from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.label import draw_labels
from inkaccord.sizes import Size
from pdf_words import words_of
from recording_kit import sheet_of

SHEET = sheet_of(15)


@pytest.mark.parametrize("size", ["70mm x 37mm", "45mm x 22mm", "105mm x 74mm"])
def test_a_label_names_its_sheet_to_people_and_to_a_reader_of_codes(size: str) -> None:
    asked = Size.parse(size)
    made = draw_labels([(SHEET, datetime.date(2028, 3, 4)), (SHEET, None)], asked)
    assert made == draw_labels([(SHEET, datetime.date(2028, 3, 4)), (SHEET, None)], asked)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        sides = [tuple(float(it) for it in page.mediabox[2:]) for page in pdf.pages]
    assert sides == [pytest.approx((asked.width_pt, asked.height_pt), abs=0.01)] * 2
    said = words_of(made)
    assert said.count(SHEET.id) == 2
    assert said.count("in the dark") == 2
    assert said.count("Replace after 2028-03-04") == 1
    with pypdfium2.PdfDocument(made) as document:
        picture = document[0].render(scale=6).to_pil()
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == f"{SHEET.id}/1"


def test_nothing_is_drawn_beyond_its_edges() -> None:
    with pypdfium2.PdfDocument(draw_labels([(SHEET, None)], Size.parse("45mm x 22mm"))) as document:
        page = document[0]
        boxes = [it.get_bounds() for it in page.get_objects()]
        width, height = page.get_size()
    assert all(left >= 0 and low >= 0 and right <= width and top <= height
               for left, low, right, top in boxes)  # fmt: skip


def test_a_label_that_is_too_small_is_refused() -> None:
    with pytest.raises(OrderError, match="no room"):
        draw_labels([(SHEET, None)], Size.parse("20mm x 20mm"))
