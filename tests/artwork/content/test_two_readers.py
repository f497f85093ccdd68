"""The two readers of content, made apart, against each other.

One walks the bytes to recolour them, the other follows parsed operators to see where marks stand.
Whatever the second sees painted, the first must have found; the first finds more (what is clipped
away, looks that are not shown, glyphs that are not set).
"""

from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.roles import Role as Use
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.opening import open_artwork
from outside import shared_pdfs
from page_kit import written

EXAMPLE = sorted((Path(__file__).parents[3] / "jobs_example" / "artwork").glob("*.pdf"))


def painted(pdf: pikepdf.Pdf) -> set[tuple[int, str]]:
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in pdf.pages:
        reader.read_page(page, page_boxes(page))
    return {
        (mark.page, str(colour.paint))
        for mark in marks
        for colour in (mark.colour, *mark.colour.parts)
        if colour.paint is not None
    }


def walked(pdf: pikepdf.Pdf) -> set[tuple[int, str]]:
    return {
        (use.page, str(use.colour.paint))
        for use in walk(pdf)
        if use.page is not None and use.colour.paint is not None and use.role is not Use.UNUSED
    }


@pytest.mark.parametrize("path", EXAMPLE, ids=lambda path: path.stem)
def test_the_example_is_read_the_same_by_both(path: Path) -> None:
    with open_artwork(path) as pdf:
        assert painted(pdf) == walked(pdf)


@pytest.mark.slow
def test_files_of_others_hold_for_the_first_whatever_the_second_sees() -> None:
    compared = 0
    for path in shared_pdfs():
        try:
            with open_artwork(path) as pdf:
                missed = painted(pdf) - walked(pdf)
        except FileError:
            continue
        assert not missed, path.name
        compared += 1
    assert compared > 100


def test_default_spaces_of_a_page_hold_in_its_forms() -> None:
    default = pikepdf.Array(
        [pikepdf.Name.CalGray, pikepdf.Dictionary(WhitePoint=[0.9505, 1, 1.089])]
    )
    with pikepdf.new() as pdf:
        form = pdf.make_stream(
            b"0.5 g 0 0 20 20 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 90, 90], Resources=pikepdf.Dictionary(),
        )  # fmt: skip
        pdf.add_blank_page(page_size=(200, 300))
        page = pdf.pages[0].obj
        page["/Contents"] = pdf.make_stream(b"/F Do 0.5 g 50 50 9 9 re f")
        page["/Resources"] = pikepdf.Dictionary(
            XObject=pikepdf.Dictionary(F=form), ColorSpace=pikepdf.Dictionary(DefaultGray=default)
        )
        assert painted(pdf) == walked(pdf) == set()


def test_colours_that_only_one_spelling_shows() -> None:
    odd = "1 0 0 0k 10 10 20 20 re f 0 0 1 0 0 k 50 10 20 20 re f /DeviceRGB CS 1 w 9 9 m 90 9 l S"
    with pikepdf.open(_file(odd)) as pdf:
        assert walked(pdf) == {
            (1, "cmyk 100 0 0 0"), (1, "cmyk 0 100 0 0"), (1, "rgb 0 0 0"),
        }  # fmt: skip


def _file(content: str) -> object:
    import io

    return io.BytesIO(written(content))
