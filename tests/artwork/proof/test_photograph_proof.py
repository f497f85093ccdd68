"""The proof of translated photographs: it holds, and every sort of meddling breaks it."""

import io
from collections.abc import Callable

import numpy as np
import pikepdf
import pytest
from PIL import Image

from inkaccord.artwork.photographs.colour_table import ColourTable
from inkaccord.artwork.photographs.translate import translate_photographs
from inkaccord.artwork.proof import photograph_proof
from inkaccord.artwork.proof.parts import ProofVerdict
from inkaccord.artwork.proof.photograph_proof import PhotographProof, prove_photographs
from inkaccord.colour.builds import Drive
from outside import need_program, shared_pdfs
from page_kit import finish, image, saved

Change = Callable[[pikepdf.Pdf], None]


def exchanged(drive: Drive) -> ColourTable:
    """Return a table that exchanges the first two channels."""
    axes = 4 if drive is Drive.CMYK else 3
    grid = np.stack(np.meshgrid(*[np.linspace(0, 1, 3)] * axes, indexing="ij"), axis=-1)
    return ColourTable(drive, drive, grid[..., [1, 0, *range(2, axes)]].astype(np.float32))


TABLES = {drive: exchanged(drive) for drive in Drive}


def picture(
    pdf: pikepdf.Pdf, data: bytes, space: object = "/DeviceCMYK", **entries: object
) -> pikepdf.Object:
    return image(pdf, data, (8, 6), space, **entries)


def artwork(rotate: int = 0) -> bytes:
    """Return a page with four pictures, in a form and slanted too, and things round them."""
    dice = np.random.default_rng(3)
    with pikepdf.new() as pdf:
        flate = picture(pdf, dice.integers(0, 256, 192, np.uint8).tobytes())
        keyed = picture(
            pdf, dice.integers(0, 256, 144, np.uint8).tobytes(), "/DeviceRGB",
            Mask=[0, 9, 0, 9, 0, 9],
        )  # fmt: skip
        out = io.BytesIO()
        Image.new("CMYK", (8, 6), (200, 30, 0, 0)).save(out, "JPEG")
        jpeg = picture(pdf, out.getvalue(), Filter=pikepdf.Name.DCTDecode)
        table = pikepdf.Array(
            [pikepdf.Name.Indexed, pikepdf.Name.DeviceRGB, 1, pikepdf.String(b"\xff\0\0\0\xff\0")]
        )
        indexed = picture(pdf, bytes([0, 1] * 24), table)
        soft = picture(pdf, bytes(range(0, 240, 5)), "/DeviceGray")
        flate.SMask = soft
        form = pdf.make_stream(
            b"q 0.7 0.7 -0.7 0.7 60 60 cm 40 0 0 40 0 0 cm /J Do Q", Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 200, 300], Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(J=jpeg)),
        )  # fmt: skip
        finish(
            pdf,
            "0.2 0.4 0.6 0 k 0 0 200 40 re f q 80 0 0 60 20 220 cm /A Do Q /F Do "
            "q 40 0 0 30 150 100 cm /B Do Q q 30 0 0 30 150 200 cm /C Do Q "
            "1 0 0 RG 9 9 m 99 99 l S",
            XObject=pikepdf.Dictionary(A=flate, B=keyed, C=indexed, F=form),
        )
        pdf.pages[0].obj["/Rotate"] = rotate
        return saved(pdf)


def translated(
    data: bytes, change: Change | None = None, *, render: bool = True
) -> PhotographProof:
    """Translate, meddle, and prove."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        report = translate_photographs(pdf, TABLES)
        if change is not None:
            change(pdf)
        after = saved(pdf)
    assert report.translated == 4
    return prove_photographs(data, after, report.translated, render=render)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_it_holds(rotate: int) -> None:
    need_program("gs")
    proof = translated(artwork(rotate))
    assert proof.passed
    assert proof.structure.details == proof.rendering.details == ()
    assert "4 pictures" in proof.structure.checked
    assert proof.rendering.verdict is ProofVerdict.PASS
    assert " 0 changed" not in proof.rendering.checked
    assert proof.rendering.checked.endswith("0 outside")


def _content(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(page.Contents.read_bytes() + b" 0 g 100 50 9 9 re f")


def _size(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources.XObject.A.Width = 4


def _cut(pdf: pikepdf.Pdf) -> None:
    image = pdf.pages[0].obj.Resources.XObject.A
    image.write(image.read_bytes()[:-40])


def _soft_mask(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources.XObject.A.SMask.write(bytes(48))


def _stencil(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources.XObject.B.Mask.Width = 7


def _one_more(pdf: pikepdf.Pdf) -> None:
    mask = pdf.pages[0].obj.Resources.XObject.A
    mask["/Interpolate"] = True


def _trim(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj["/TrimBox"] = pikepdf.Array([1, 1, 99, 99])


@pytest.mark.parametrize(
    "change", [_content, _size, _cut, _soft_mask, _stencil, _one_more, _trim],
    ids=lambda change: change.__name__,
)  # fmt: skip
def test_whatever_else_was_changed_is_found_in_the_objects(change: Change) -> None:
    proof = translated(artwork(), change, render=False)
    assert proof.structure.verdict is ProofVerdict.FAIL
    assert proof.structure.details
    assert not proof.passed


@pytest.mark.parametrize("rotate", [0, 90])
def test_a_change_outside_the_pictures_is_found_in_the_rendering_too(rotate: int) -> None:
    need_program("gs")
    proof = translated(artwork(rotate), _content)
    assert proof.rendering.verdict is ProofVerdict.FAIL
    assert "outside the pictures" in proof.rendering.details[0]


def test_more_changed_pictures_than_were_reported_fail() -> None:
    data = artwork()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        translate_photographs(pdf, TABLES)
        after = saved(pdf)
    assert prove_photographs(data, after, 4, render=False).passed
    proof = prove_photographs(data, after, 3, render=False)
    assert not proof.passed
    assert "4 images changed, not 3" in proof.structure.details


def test_without_ghostscript_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photograph_proof, "ghostscript_path", lambda: None)
    proof = translated(artwork())
    assert proof.passed
    assert proof.rendering.verdict is ProofVerdict.NOT_RUN
    assert proof.rendering.details == ("Ghostscript is not installed",)


@pytest.mark.slow
def test_files_of_others() -> None:
    proved = 0
    for path in shared_pdfs():
        data = path.read_bytes()
        try:
            with pikepdf.open(io.BytesIO(data)) as pdf:
                if pdf.is_encrypted or not len(pdf.pages):
                    continue
                before = saved(pdf)  # damage mended, as recolouring does first
            with pikepdf.open(io.BytesIO(before)) as pdf:
                report = translate_photographs(pdf, TABLES)
                after = saved(pdf)
        except (pikepdf.PdfError, pikepdf.PasswordError):
            continue
        if report.translated:
            proof = prove_photographs(before, after, report.translated, render=False)
            assert proof.passed, (path.name, proof.structure.details)
            proved += 1
    assert proved > 5


@pytest.mark.parametrize(("limit", "holds"), [(400.0, True), (200.0, False)])
def test_the_inks_of_new_pictures_are_held_against_the_limit(limit: float, holds: bool) -> None:
    before = artwork()
    with pikepdf.open(io.BytesIO(before)) as pdf:
        report = translate_photographs(pdf, TABLES)
        after = saved(pdf)
    proof = prove_photographs(before, after, report.translated, ink_limit=limit, render=False)
    assert proof.passed is holds
    assert holds or "% of ink, 200 % is the limit" in proof.structure.details[0]
