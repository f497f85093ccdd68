"""One file of several and several of one: nothing that matters in print gets lost."""

import io

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf

from inkaccord.pdf.joining import first_pages, join_pages, split_pages
from inkaccord.pdf.layers import Layers
from page_kit import finish, saved

TRIMS = [[10, 10, 190, 290], [20, 30, 180, 280]]


def layered(name: str) -> bytes:
    """Return two pages with their own trims, a layer that is switched off, and an intent."""
    with pikepdf.new() as pdf:
        layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name))
        for trim in TRIMS:
            finish(pdf, "/OC /L0 BDC 0 0 99 99 re f EMC", {"TrimBox": trim},
                   Properties=Dictionary(L0=layer))  # fmt: skip
        pdf.Root.OCProperties = Dictionary(
            OCGs=Array([layer]), D=Dictionary(OFF=Array([layer]), Order=Array([layer]))
        )
        pdf.Root.OutputIntents = Array([Dictionary(Type=Name.OutputIntent, S=Name("/GTS_PDFX"))])
        return saved(pdf)


def test_layers_boxes_and_output_intents_stay_in_every_part() -> None:
    whole = layered("draft")
    parts = split_pages(whole)
    assert parts == split_pages(whole)
    assert len(parts) == 2
    for part, box in zip(parts, TRIMS, strict=True):
        with Pdf.open(io.BytesIO(part)) as pdf:
            assert len(pdf.pages) == 1
            assert list(map(float, pdf.pages[0].trimbox)) == box
            off = pdf.Root.OCProperties.D.OFF
            assert off[0].objgen == pdf.pages[0].obj.Resources.Properties.L0.objgen
            assert len(pdf.Root.OutputIntents) == 1


def test_a_part_is_the_same_whichever_parts_were_taken_before_it() -> None:
    with pikepdf.new() as pdf:
        for number in range(3):
            finish(pdf, f"0 g 0 0 {number} 9 re f", {})
        for page, other in ((0, 2), (2, 0)):  # links from one page to another
            dest = Array([pdf.pages[other].obj, Name.Fit])
            pdf.pages[page].Annots = Array(
                [Dictionary(Subtype=Name.Link, Rect=Array([0, 0, 9, 9]), Dest=dest)]
            )
        whole = saved(pdf)
    first, _, last = split_pages(whole)
    for part, drawn in ((first, b"0 0 0 9 re"), (last, b"0 0 2 9 re")):
        with Pdf.open(io.BytesIO(part)) as pdf:
            (page,) = pdf.pages
            assert drawn in page.Contents.read_bytes()
            assert drawn not in page.Annots[0].Dest[0].Contents.read_bytes()
    assert len(first) == len(last)


def test_layers_of_all_files_stay_switched_off_in_one() -> None:
    files = [layered("draft"), layered("notes")]
    whole = join_pages(files, pdf_version="1.6", title="all")
    assert whole == join_pages(files, pdf_version="1.6", title="all")
    with Pdf.open(io.BytesIO(whole)) as pdf:
        assert [list(map(float, page.trimbox)) for page in pdf.pages] == TRIMS * 2
        assert set(Layers(pdf).names.values()) == Layers(pdf).hidden == {"draft", "notes"}
        used = [page.obj.Resources.Properties.L0.objgen for page in pdf.pages]
        assert set(used) == set(Layers(pdf).names)
        assert pdf.docinfo["/Title"] == "all"


def test_first_pages_are_those_with_what_they_inherit_and_no_others() -> None:
    with pikepdf.new() as pdf:
        for number in range(5):
            finish(pdf, f"% page {number}\n0 g 0 0 {number} 9 re f", {})
        for page in pdf.pages:
            del page.obj["/MediaBox"]
        pdf.Root.Pages.MediaBox = Array([0, 0, 70, 90])
        whole = saved(pdf)
    for count in (2, 9):
        with Pdf.open(io.BytesIO(first_pages(whole, count))) as some:
            assert len(some.pages) == min(count, 5)
            for number, page in enumerate(some.pages):
                assert page.Contents.read_bytes().startswith(b"%% page %d" % number)
                assert list(map(float, page.mediabox)) == [0, 0, 70, 90]
            held = [it for it in some.objects if isinstance(it, Dictionary)]
            assert sum(it.get("/Type") == "/Page" for it in held) == min(count, 5)
