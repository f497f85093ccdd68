"""One file for each side: nothing of the whole file that matters in print gets lost."""

import io
from collections.abc import Callable

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf

from inkaccord.layout.splitting import split_pages
from inkaccord.sizes import Size

CARD = Size.parse("2in x 3.5in")


def test_layers_boxes_and_output_intents_stay(draw_art: Callable[..., bytes]) -> None:
    with Pdf.open(io.BytesIO(draw_art(CARD, pages=2))) as pdf:
        hidden = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="draft"))
        for page in pdf.pages:
            page.obj.Resources.Properties = Dictionary(L0=hidden)
            page.contents_add(b"/OC /L0 BDC 0 0 900 900 re f EMC")
        pdf.Root.OCProperties = Dictionary(
            OCGs=Array([hidden]), D=Dictionary(OFF=Array([hidden]), Order=Array([hidden]))
        )
        pdf.Root.OutputIntents = Array([Dictionary(Type=Name.OutputIntent, S=Name("/GTS_PDFX"))])
        boxes = [list(map(float, page.trimbox)) for page in pdf.pages]
        whole = io.BytesIO()
        pdf.save(whole)

    parts = split_pages(whole.getvalue())
    assert parts == split_pages(whole.getvalue())
    assert len(parts) == 2
    for part, box in zip(parts, boxes, strict=True):
        with pikepdf.open(io.BytesIO(part)) as pdf:
            assert len(pdf.pages) == 1
            assert list(map(float, pdf.pages[0].trimbox)) == box
            off = pdf.Root.OCProperties.D.OFF
            assert off[0].objgen == pdf.pages[0].obj.Resources.Properties.L0.objgen
            assert len(pdf.Root.OutputIntents) == 1
