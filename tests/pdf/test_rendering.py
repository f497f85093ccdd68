"""Rendering: Ghostscript's plates against the values in the file."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from inkaccord.apart.crew import Allowance, TooMuchError
from inkaccord.errors import FileError
from inkaccord.pdf import ghostscript
from inkaccord.pdf.ink_rendering import InkSource, ink_pages, inks_of_all, separations
from inkaccord.pdf.pdfium import safe_dpi
from inkaccord.pdf.rendering import MAX_PIXELS, page_pictures
from outside import need_program
from page_kit import changed, unblended

CONTENT = (
    b"0.759 0.2 0.6 0.3 k 20 20 100 50 re f /S cs 0.5 scn 20 120 100 50 re f "
    b"0 0 0 1 k 20 220 100 50 re f"
)


@pytest.fixture(scope="module")
def card() -> bytes:
    with pikepdf.new() as pdf:
        for _ in range(2):
            pdf.add_blank_page(page_size=(200, 300))
        tint = pikepdf.Dictionary(
            FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0.8, 0.1, 0.6, 0.2]
        )
        spot = pikepdf.Array(
            [pikepdf.Name.Separation, pikepdf.Name("/Kelp (deep) 1/2 é"),
             pikepdf.Name.DeviceCMYK, tint]
        )  # fmt: skip
        page = pdf.pages[0].obj
        page["/Contents"] = pdf.make_stream(CONTENT)
        page["/Resources"] = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(S=spot))
        out = io.BytesIO()
        pdf.save(out, compress_streams=False)
        return out.getvalue()


def test_screen_pictures_have_the_page_size_and_its_colours(card: bytes) -> None:
    pictures = list(page_pictures(card, dpi=144))
    assert [picture.size for picture in pictures] == [(400, 600), (400, 600)]
    assert pictures[0].getpixel((10, 10)) == (255, 255, 255)
    dark = pictures[0].getpixel((140, 120))
    assert isinstance(dark, tuple)
    assert max(dark) < 60
    (second,) = page_pictures(card, dpi=72, pages=[2])
    assert np.asarray(second).min() == 255


def test_unsmoothed_pictures_hold_no_mixed_pixels(card: bytes) -> None:
    picture = unblended(card, dpi=100)
    assert len(np.unique(picture.reshape(-1, 3), axis=0)) == 4


@pytest.mark.parametrize("damage", [b"", b"%PDF-1.7 nothing"])
def test_what_is_no_pdf_is_refused_with_words(damage: bytes) -> None:
    with pytest.raises(FileError, match="cannot be read as a PDF"):
        list(page_pictures(damage))


def test_a_file_that_is_gone_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot read the file"):
        list(page_pictures(tmp_path / "gone.pdf"))


def test_a_page_that_is_not_there_is_refused(card: bytes) -> None:
    with pytest.raises(FileError, match="page 3"):
        list(page_pictures(card, pages=[3]))


def test_giant_pages_lower_the_resolution() -> None:
    assert safe_dpi(612, 792, 300, MAX_PIXELS) == 300
    low = safe_dpi(14400, 14400, 300, MAX_PIXELS)
    assert (14400 / 72 * low) ** 2 == pytest.approx(MAX_PIXELS)


@pytest.mark.parametrize(("bits", "tolerance"), [(8, 0.2), (16, 0.002)])
def test_process_inks_arrive_as_the_file_says(card: bytes, bits: int, tolerance: float) -> None:
    need_program("gs", "ghostscript")
    first, second = ink_pages(card, dpi=72, bits=16 if bits == 16 else 8)
    assert (first.page, second.page) == (1, 2)
    percent = first.samples[255, 60] / first.full * 100
    assert percent == pytest.approx([75.9, 20, 60, 30], abs=tolerance)
    assert first.total_percent()[255, 60] == pytest.approx(185.9, abs=4 * tolerance)
    assert first.total_percent()[55, 60] == pytest.approx(100)
    assert second.samples.max() == 0


@pytest.mark.parametrize("profiles", [True, False])
def test_files_in_a_row_come_out_as_each_of_them_alone(card: bytes, profiles: bool) -> None:
    need_program("gs", "ghostscript")
    sources = [
        InkSource(card, 72, [1, 2]),
        InkSource(card, 50, [2]),
        InkSource(card.replace(b"0.759 0.2", b"0.760 0.2"), 97.5, [1]),
        InkSource(card, 72, [1]),
    ]
    row = [it.read() for it in inks_of_all(sources, bits=16, profiles=profiles, allowed=4)]
    assert [(one.page, one.dpi) for one in row] == [(1, 72), (2, 72), (2, 50), (1, 97.5), (1, 72)]
    alone = [
        one
        for source in sources
        for one in ink_pages(source.data, dpi=source.dpi, bits=16, pages=source.pages)
    ]
    for one, other in zip(row, alone, strict=True):
        assert np.array_equal(one.samples, other.samples)
    assert row[0].samples.max() > 0


def test_16_bits_tell_what_8_bits_cannot(card: bytes) -> None:
    need_program("gs", "ghostscript")
    other = card.replace(b"0.759 0.2", b"0.760 0.2")
    assert other != card
    eight = [next(ink_pages(data, dpi=36)).samples[128, 30, 0] for data in (card, other)]
    sixteen = [next(ink_pages(data, dpi=36, bits=16)).samples[128, 30, 0] for data in (card, other)]
    assert eight[0] == eight[1]
    assert sixteen[0] < sixteen[1]


def test_separations_keep_spots_as_plates_with_their_names(card: bytes) -> None:
    need_program("gs", "ghostscript")
    (plates,) = separations(card, dpi=72, pages=[1])
    assert plates.inks == ("Cyan", "Magenta", "Yellow", "Black", "Kelp (deep) 1/2 é")
    assert plates.samples[155, 60] / 255 * 100 == pytest.approx([0, 0, 0, 0, 50], abs=0.3)
    (second,) = separations(card, dpi=36, pages=[2])
    assert second.page == 2


def test_forms_of_the_xml_kind_are_drawn_without_advice_on_the_screen(
    card: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    def add_form(pdf: pikepdf.Pdf) -> None:
        pdf.Root["/AcroForm"] = pikepdf.Dictionary(
            Fields=[], XFA=pdf.make_stream(b"<xdp:xdp xmlns:xdp='http://ns.adobe.com/xdp/'/>")
        )

    assert len(list(page_pictures(changed(card, add_form), dpi=20))) == 2
    assert caplog.records == []


def test_without_ghostscript_the_message_says_so(
    card: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ghostscript, "ghostscript_path", lambda: None)
    with pytest.raises(FileError, match="Ghostscript"):
        list(ink_pages(card))


def test_ghostscript_that_takes_too_long_is_stopped(
    card: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    need_program("gs", "ghostscript")

    program = b"%!PS\n{ } loop\n"
    monkeypatch.setattr(ghostscript, "GHOSTSCRIPT", Allowance("Ghostscript", seconds=1))
    with pytest.raises(TooMuchError, match=r"Ghostscript was not done .* after 1 s"):
        list(ink_pages(program))


def test_a_file_cannot_make_ghostscript_read_other_files(tmp_path: Path) -> None:
    need_program("gs", "ghostscript")
    program = b"%!PS\n(/etc/hostname) (r) file pop showpage\n"
    with pytest.raises(FileError, match="cannot read"):
        list(ink_pages(program, dpi=20))
