"""A walk through a file of many pages holds what it found, not what it read."""

import io
import tracemalloc

import pikepdf

from artwork_kit import document
from inkaccord.artwork.content.walk import Walk
from inkaccord.pdf.page_source import PageSource

KIB = 1024


def test_contents_of_pages_and_forms_are_let_go() -> None:
    with pikepdf.open(io.BytesIO(document(b""))) as pdf:
        for number in range(20):
            if number:
                pdf.pages.append(pdf.pages[0])
            page = pdf.pages[number]
            said = b"% so many lines\n" * 6400  # 100 KiB
            form = pdf.make_stream(said + b"1 0 0 0 k 0 0 9 9 re f")
            form.Subtype, form.BBox = pikepdf.Name.Form, pikepdf.Array([0, 0, 9, 9])
            page.Contents = pdf.make_stream(said + b"0 1 0 0 k 0 0 9 9 re f /Fm Do")
            page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Fm=form))
        tracemalloc.start()
        walk = Walk(PageSource(pdf))
        uses = list(walk.uses())
        held, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
    assert len({(it.page, it.colour) for it in uses if it.page}) == 40
    assert most > 200 * KIB, "each content was read"
    assert held < 1000 * KIB, f"{held} bytes of 4,000 KiB are still held"
    del walk
