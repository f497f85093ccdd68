"""Pictures of where a page is cut and where its colours stand, judged by their pixels."""

import io

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray
from PIL import Image

from artwork_kit import document
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.inventory.places import PagePicture, page_places, seen_pages
from page_kit import changed, written

BOXES = {
    "MediaBox": [0.0, 0, 200, 300],
    "TrimBox": [20.0, 20, 180, 280],
    "BleedBox": [10.0, 10, 190, 290],
}
LEFT_GREEN_TOP_RED = "1 0 1 0 k 0 0 100 300 re f 0 1 1 0 k 100 250 100 50 re f"
GREEN, RED = "cmyk 100 0 100 0", "cmyk 0 100 100 0"


def places_of(data: bytes, *names: str) -> tuple[tuple[PagePicture, ...], list[PagePicture | None]]:
    held = {entry.colour.text: entry.colour for entry in inventory(data).colours}
    found = page_places(data, [(held[name],) for name in names])
    return found.pages, list(found.colours)


def pixel(picture: PagePicture | None, x_pt: float, y_pt: float) -> NDArray[np.int64]:
    """Return the colour at a point of the page."""
    assert picture is not None
    right, up = picture.at(x_pt, y_pt)
    pixels = np.asarray(Image.open(io.BytesIO(picture.png)).convert("RGB")).astype(int)
    height, width = pixels.shape[:2]
    return pixels[int((1 - up) * height), int(right * width)]


def is_grey(colour: NDArray[np.int64]) -> bool:
    return bool(np.ptp(colour) <= 4 and colour.min() > 200)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_a_colour_is_shown_where_it_stands_and_all_else_is_faint(rotation: int) -> None:
    def turned(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj["/Rotate"] = rotation

    data = changed(written(LEFT_GREEN_TOP_RED, BOXES), turned)
    _, (green, red) = places_of(data, GREEN, RED)
    assert green is not None
    lies = green.width_px > green.height_px
    assert lies == (rotation in {90, 270})
    assert np.argmax(pixel(green, 60, 150)) == 1
    assert is_grey(pixel(green, 150, 270))
    assert is_grey(pixel(green, 150, 150))
    assert np.argmax(pixel(red, 150, 270)) == 0
    assert is_grey(pixel(red, 60, 150))


def test_what_is_cut_off_is_faint_and_the_cut_is_a_line() -> None:
    (whole,), _ = places_of(written(LEFT_GREEN_TOP_RED, BOXES), GREEN)
    inside, outside = pixel(whole, 60, 150), pixel(whole, 10, 150)
    assert np.ptp(outside) < np.ptp(inside) / 2
    around = [pixel(whole, 180 + off / 4, 150).tolist() for off in range(-8, 9)]
    assert [70, 70, 70] in around


def test_a_colour_outside_the_cut_alone_is_shown_there() -> None:
    data = written("1 0 1 0 k 0 0 100 300 re f 0 1 1 0 k 192 100 8 100 re f", BOXES)
    _, (green, red) = places_of(data, GREEN, RED)
    assert green is not None
    assert red is not None
    assert (green.shown.width, red.shown.width) == (180, 200)
    assert np.argmax(pixel(red, 196, 150)) == 0


def test_a_small_colour_is_framed_and_one_that_is_not_there_has_no_picture() -> None:
    data = written(
        "1 0 1 0 k 98 148 4 4 re f 0 1 1 0 k 50 50 20 20 re f 0 g 40 40 40 40 re f", BOXES
    )
    _, (small, none) = places_of(data, GREEN, RED)
    assert none is None
    near = [pixel(small, 102 + off / 4, 150).tolist() for off in range(24)]
    assert [70, 70, 70] in near


def test_only_first_pages_are_drawn_and_each_colour_on_that_which_holds_most_of_it() -> None:
    def three(pdf: pikepdf.Pdf) -> None:
        for content in (b"1 0 1 0 k 0 0 20 20 re f", b"0 0 0 1 k 0 0 9 9 re f"):
            pdf.pages.append(pdf.pages[0])
            pdf.pages[-1].obj["/Contents"] = pdf.make_stream(content)

    pages, (green, red) = places_of(changed(written(LEFT_GREEN_TOP_RED, BOXES), three), GREEN, RED)
    assert [it.page for it in pages] == [1, 2]
    assert [it and it.page for it in (green, red)] == [1, 1]


@pytest.mark.parametrize(("turn", "at"), [(0, (0.1, 0.9)), (90, (0.1, 0.1)), (180, (0.9, 0.1))])
def test_a_colour_is_found_where_a_reader_sees_it(turn, at):
    with pikepdf.open(io.BytesIO(document(b"0.85 0.2 0.6 0.3 k 0 0 30 30 re f"))) as pdf:
        pdf.pages[0].obj.Rotate = turn
        out = io.BytesIO()
        pdf.save(out)
    (page,) = seen_pages(out.getvalue(), 100)
    (colour,) = page.at(*at)
    assert colour.text == "cmyk 85 20 60 30"
    assert page.at(0.5, 0.5) == ()
    shown = np.asarray(Image.open(io.BytesIO(page.png([colour]))))
    column, row = (int(share * 100) for share in at)
    assert np.array_equal(shown[row, column], page.pixels[row, column])
    assert page.hex_of([colour]) == "#" + bytes(page.pixels[row, column]).hex()
    assert page.hex_of([]) is None


@pytest.mark.parametrize(("ground", "line", "looks"), [("0", "1", 35), ("1", "0.1", 230)])
def test_fine_type_looks_as_its_least_mixed_pixel(ground: str, line: str, looks: int) -> None:
    content = f"0 0 0 {ground} k 0 0 100 100 re f 0 0 0 {line} K 0.9 w " + " ".join(
        f"{at} 0 m {at + 3} 100 l S" for at in range(5, 90, 12)
    )
    (page,) = seen_pages(document(content.encode()), 100)
    (colour,) = (it for it in page.colours if it.text == f"cmyk 0 0 0 {100 * float(line):g}")
    look = page.hex_of([colour])
    assert look is not None
    assert int(look[1:3], 16) == pytest.approx(looks, abs=12)  # as a large field of it is drawn
