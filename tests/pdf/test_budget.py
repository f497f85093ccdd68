"""What files may ask for: counted, refused in a designer's words, and nothing else refused."""

import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from hostile_kit import HARMLESS, HOSTILE, SQUARE, computed, fan, one_page, shadings, tiling
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.errors import FileError
from inkaccord.pdf import rendering
from inkaccord.pdf.budget import Budget
from inkaccord.pdf.opening import open_artwork

LONG = {"zeros packed twice", "rectangles of 20 MB", "a path of 2 million points"}


@pytest.mark.parametrize(
    "name", [pytest.param(it, marks=[pytest.mark.slow] if it in LONG else []) for it in HOSTILE]
)
def test_what_asks_for_too_much_is_refused_at_the_opening(name: str) -> None:
    with pytest.raises(FileError) as problem, open_artwork(HOSTILE[name](), name="art.pdf"):
        pass
    (finding,) = problem.value.findings
    assert finding.code in {"too-much-drawn", "too-big-unpacked", "nested-too-deep"}
    assert finding.place.file == "art.pdf"
    assert finding.in_program


def test_pictures_of_such_a_file_are_not_begun(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rendering, "answers", None)  # PDFium is not asked
    with pytest.raises(FileError, match="lays the cells of its patterns"):
        list(rendering.page_pictures(tiling("0.01")))


@pytest.mark.parametrize("name", HARMLESS)
def test_what_only_looks_alike_is_read(name: str) -> None:
    found = inventory(HARMLESS[name](), dpi=36)
    assert "cmyk 85 20 60 30" in [entry.colour.text for entry in found.colours]


def test_it_says_how_much_how_much_is_taken_and_what_to_do() -> None:
    with pytest.raises(FileError) as problem, open_artwork(tiling("0.01")):
        pass
    assert str(problem.value) == (
        "page 1: the page lays the cells of its patterns 400,000,000 times; at most 1,000,000 are "
        "taken (simplify the pattern: larger steps, or a picture in its place)"
    )


@pytest.mark.parametrize("levels", [1, 5, 9])
def test_calls_are_multiplied(levels: int, bound: Callable[..., None]) -> None:
    # Doubled at each level: 2 ** 0 + … + 2 ** levels forms followed, 2 ** levels squares painted.
    calls = 2 ** (levels + 1) - 1
    bound(calls=calls, marks=10_000)
    with open_artwork(fan(levels)):
        pass
    bound(calls=calls - 1)
    with (
        pytest.raises(FileError, match=f"{calls:,} times; at most"),
        open_artwork(fan(levels)),
    ):
        pass


def test_pages_add_up(bound: Callable[..., None]) -> None:
    pdf = pikepdf.new()
    for _ in range(5):
        page = pdf.add_blank_page(page_size=(200, 200))
        page.obj.Contents = pdf.make_stream(SQUARE * 10)
    with pdf:
        bound(marks=10, pages_full=5)
        Budget(pdf).check()
        bound(pages_full=4)
        with pytest.raises(FileError, match="the file paints 50 things; at most 40 are taken"):
            Budget(pdf).check()


def test_words_in_type_and_pictures_are_not_counted_for_operators(
    bound: Callable[..., None],
) -> None:
    bound(marks=5, points=3)
    text = b"BT /F 9 Tf (a\\(f\\) m l re f) Tj ET BI /W 1 /H 1 /BPC 8 /CS /G ID \xff EI "
    with open_artwork(one_page(text)):
        pass


def test_characters_that_are_drawn_count(bound: Callable[..., None]) -> None:
    bound(marks=509)

    def setup(pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
        glyph = pdf.make_stream(b"9 0 d0 " + SQUARE * 50)
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type3, FontBBox=[0, 0, 9, 9],
            CharProcs=pikepdf.Dictionary(a=glyph), FirstChar=97, LastChar=97, Widths=[9],
            FontMatrix=[1, 0, 0, 1, 0, 0],
            Encoding=pikepdf.Dictionary(Differences=[97, pikepdf.Name.a]),
        )  # fmt: skip
        return pikepdf.Dictionary(Font=pikepdf.Dictionary(F=pdf.make_indirect(font)))

    text = one_page(b"BT /F 9 Tf " + b"(a) Tj " * 10 + b"ET", setup)
    with (
        pytest.raises(FileError, match="the page paints 510 things"),
        open_artwork(text),
    ):
        pass


def test_a_short_calculator_in_many_gradients_is_read() -> None:
    with open_artwork(computed(200, 20)) as pdf:
        assert len(pdf.pages[0].Resources.Shading) == 200


def test_a_page_of_many_gradients_is_read() -> None:
    found = inventory(shadings(40), dpi=36)
    assert len(found.colours) == 1


def test_a_soft_mask_cut_short_hides_nothing() -> None:
    def setup(pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
        soft, picture = (
            pdf.make_stream(
                b"\x80", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image, Width=9, Height=9,
                BitsPerComponent=8, ColorSpace=pikepdf.Name.DeviceGray,
            )
            for _ in range(2)
        )  # fmt: skip
        picture.SMask = soft
        return pikepdf.Dictionary(XObject=pikepdf.Dictionary(I=picture))

    found = inventory(one_page(SQUARE + b"99 0 0 99 0 0 cm /I Do", setup), dpi=36)
    assert "cmyk 85 20 60 30" in [entry.colour.text for entry in found.colours]


def test_odd_metadata_puts_no_traceback_on_the_screen(tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    with pikepdf.open(io.BytesIO(one_page(SQUARE))) as pdf:
        pdf.Root.Metadata = pdf.make_stream(
            b"<a>no XMP</a>", Type=pikepdf.Name.Metadata, Subtype=pikepdf.Name.XML
        )
        pdf.save(path, fix_metadata_version=False)
    code = (
        "from inkaccord.pdf.opening import open_artwork; from pathlib import Path\n"
        f"with open_artwork(Path({str(path)!r})) as pdf: pdf.open_metadata().get('pdf:Trapped')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == ""
