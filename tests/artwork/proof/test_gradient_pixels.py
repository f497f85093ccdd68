"""The pixels of swapped gradients are held to the mixture, whatever the other parts say."""

import io

import pikepdf
import pytest

import gradient_kit
from artwork_kit import document, resource, swaps
from gradient_kit import Stripe, axial, radial
from inkaccord.artwork.proof.gradient_proof import shading_differences
from inkaccord.artwork.proof.parts import ProofVerdict
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.proof.shading_pairs import ShadingPair
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour, swap_table
from outside import need_program

KELP, CORAL, PAPER = (0.85, 0.2, 0.6, 0.3), (0.0, 0.7, 0.6, 0.1), (0.0,) * 4
NEW_KELP, NEW_CORAL = (0.3, 0.9, 0.1, 0.0), (0.8, 0.0, 0.0, 0.1)
MEAN = tuple((a + b) / 2 for a, b in zip(KELP, CORAL, strict=True))
OPTIONS = RecolourOptions()
TABLE = swap_table(
    swaps("cmyk 85 20 60 30 = cmyk 30 90 10 0", "cmyk 0 70 60 10 = cmyk 80 0 0 10"), OPTIONS
)
STRIPES = [Stripe(0, 0.5, KELP, MEAN), Stripe(0.5, 0.8, MEAN, CORAL), Stripe(0.8, 1, KELP, PAPER)]


def _source(frame: gradient_kit.Frame) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        made = frame(pdf, gradient_kit.stitched(pdf, STRIPES), "/DeviceCMYK")
        resource(page, "/Shading", "/S", made)

    return document(b"/S sh 0.85 0.2 0.6 0.3 k 0 0 10 10 re f", setup=setup)


def _with(data: bytes, stripes: list[Stripe]) -> bytes:
    """Return a copy with another gradient in it."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        function = pdf.make_indirect(gradient_kit.stitched(pdf, stripes))
        pdf.pages[0].Resources.Shading.S.Function = function
        out = io.BytesIO()
        pdf.save(out)
        return out.getvalue()


@pytest.mark.parametrize("frame", [axial, radial], ids=["axial", "radial"])
def test_a_band_is_seen_in_the_pixels(frame: gradient_kit.Frame) -> None:
    need_program("gs", "ghostscript")
    source = _source(frame)
    made = recolour(source, TABLE.swaps, options=OPTIONS).data
    part = prove(source, made, TABLE.swaps, OPTIONS).rendering
    assert part.verdict is ProofVerdict.PASS
    assert "along gradients, 0 as mixtures" in part.checked
    banded = [
        Stripe(0, 0.5, NEW_KELP, MEAN), Stripe(0.5, 0.8, MEAN, NEW_CORAL),
        Stripe(0.8, 1, NEW_KELP, PAPER),
    ]  # fmt: skip
    softened = [Stripe(0, 0.5, NEW_KELP, NEW_CORAL), Stripe(0.5, 1, NEW_CORAL, PAPER)]
    for wrong in (banded, softened):
        part = prove(source, _with(made, wrong), TABLE.swaps, OPTIONS).rendering
        assert part.verdict is ProofVerdict.FAIL
        assert "pixels of gradients" in part.details[0]


def test_an_unreadable_gradient_that_was_changed_is_seen_behind_its_reference() -> None:
    """Its function has the same number in both files, and another content."""
    pairs = []
    pdfs = []
    for first in (KELP, CORAL):
        with pikepdf.new() as pdf:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Resources = pikepdf.Dictionary()
            function = pdf.make_indirect(gradient_kit.stitched(pdf, [Stripe(0, 1, first, PAPER)]))
            function["/FunctionType"] = 9  # no reader knows it
            resource(page, "/Shading", "/S", axial(pdf, function, "/DeviceCMYK"))
            out = io.BytesIO()
            pdf.save(out)
        pdfs.append(pikepdf.open(io.BytesIO(out.getvalue())))
        pairs.append(pdfs[-1].pages[0].Resources.Shading.S)
    assert pairs[0].Function.objgen == pairs[1].Function.objgen
    _, wrong = shading_differences([ShadingPair(*pairs, "S")], TABLE)
    _, same = shading_differences([ShadingPair(pairs[0], pairs[0], "S")], TABLE)
    assert len(wrong) == 1
    assert not same
    for pdf in pdfs:
        pdf.close()
