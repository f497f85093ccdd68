"""Pages are the same only with all that they draw."""

import io
from collections.abc import Callable

import pikepdf
import pytest

from artwork_kit import NEW, OLD, OLD_K, document, form, parsed, swaps
from inkaccord.artwork.proof.prove import ProofVerdict, prove
from inkaccord.artwork.proof.same_pages import same_pages
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.pdf.page_source import PageSource
from outside import need_program
from page_kit import changed

BOX = b" 0 0 50 50 re f"


def _two_pages(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    shared = form(pdf, b"0 0 0 1 k 60 60 9 9 re f", "<< /Resources << /ExtGState << >> >> >>")
    resources = pdf.make_indirect(pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=shared)))
    second = pdf.add_blank_page(page_size=(100, 100))
    second.obj.Contents = pdf.make_stream(b"/F Do")
    second.obj["/Annots"] = pikepdf.Array(
        [pdf.make_indirect(pikepdf.Dictionary(Subtype=pikepdf.Name.Link, P=page.obj))]
    )
    del second.obj["/Resources"]
    second.obj.Parent.Resources = resources


SOURCE = document(OLD_K + BOX, setup=_two_pages)


def same(change: Callable[[pikepdf.Pdf], None]) -> list[int]:
    with (
        pikepdf.open(io.BytesIO(SOURCE)) as old,
        pikepdf.open(io.BytesIO(changed(SOURCE, change))) as new,
    ):
        return list(same_pages(PageSource(old), PageSource(new)))


def _inherited(pdf: pikepdf.Pdf) -> pikepdf.Object:
    return pdf.pages[1].obj.Resources  # qpdf hands on what pages inherit


def _other_form(pdf: pikepdf.Pdf) -> None:
    _inherited(pdf).XObject.F.write(b"0 0 0 1 k 60 60 9 8 re f")


def _other_state(pdf: pikepdf.Pdf) -> None:
    _inherited(pdf).XObject.F.Resources.ExtGState["/G"] = parsed("<< /ca 0.5 >>")


def _other_box(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].obj["/MediaBox"] = pikepdf.Array([0, 0, 100, 99])


def _other_annotation(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].obj.Annots[0]["/C"] = pikepdf.Array([1, 0, 0])


def test_what_was_only_written_anew_is_the_same() -> None:
    assert same(lambda _: None) == [1, 2]


@pytest.mark.parametrize("change", [_other_form, _other_state, _other_box, _other_annotation])
def test_a_change_of_anything_that_a_page_draws_with_is_seen(
    change: Callable[[pikepdf.Pdf], None],
) -> None:
    assert 2 not in same(change)


def test_what_holds_itself_is_never_the_same() -> None:
    def circle(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        one = form(pdf, b"/F Do")
        one["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=one))
        page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=one))

    source = document(b"/F Do", setup=circle)
    with pikepdf.open(io.BytesIO(source)) as old, pikepdf.open(io.BytesIO(source)) as new:
        assert list(same_pages(PageSource(old), PageSource(new))) == []


def test_a_page_without_an_old_colour_is_proved_by_its_bytes() -> None:
    need_program("gs", "ghostscript")
    wanted = swaps(f"{OLD} = {NEW}")
    made = recolour(SOURCE, wanted).data
    proof = prove(SOURCE, made, wanted)
    assert proof.passed
    assert proof.rendering.checked.startswith("1 page at")
    assert proof.rendering.checked.endswith("1 more are the same to the byte")
    left_alone = prove(SOURCE, SOURCE, wanted)
    assert left_alone.rendering.verdict is ProofVerdict.FAIL
    assert any("still show" in detail for detail in left_alone.rendering.details)
    moved = prove(SOURCE, changed(made, _other_form), wanted)
    assert moved.rendering.verdict is ProofVerdict.FAIL
    assert moved.rendering.details[0].startswith("page 2")
