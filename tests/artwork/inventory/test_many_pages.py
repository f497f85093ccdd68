"""What is told of a file page by page adds up over them, and equal pages share their values."""

import io
from collections.abc import Iterator, Sequence
from typing import Any

import pikepdf
import pytest

from artwork_kit import document
from inkaccord.artwork.inventory import areas
from inkaccord.artwork.inventory.inventory import Inventory, inventory
from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.pdf.colours.colours import ColourKind
from inkaccord.pdf.pixel_runs import PixelRuns

LEAF, RUST = "cmyk 75 20 80 10", "cmyk 10 70 80 10"
RISE = b"\n".join(b"%.3f 0 0 0 k %d 0 1 50 re f" % (i / 100, i) for i in range(1, 91))
"""A gradient in 90 flat fills, 1 to 90 % of cyan."""


def file_of(contents: Sequence[bytes], resources: str = "<< >>") -> bytes:
    """Return a file whose pages, 100 by 100 points, have these contents."""
    with pikepdf.open(io.BytesIO(document(contents[0], resources))) as pdf:
        for content in contents[1:]:
            pdf.pages.append(pdf.pages[0])
            pdf.pages[-1].Contents = pdf.make_stream(content)
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def pages(contents: Sequence[bytes], resources: str = "<< >>") -> Inventory:
    """Return what such a file holds."""
    return inventory(file_of(contents, resources), dpi=72)


def test_a_colour_is_told_of_each_page_that_has_it() -> None:
    leaf, rust = b".75 .2 .8 .1 k 0 0 50 50 re f ", b".1 .7 .8 .1 K 50 50 m 90 90 l S "
    found = {it.colour.text: it for it in pages([leaf, leaf + rust, leaf, rust + rust]).colours}
    assert [it.page for it in found[LEAF].pages] == [1, 2, 3]
    assert [it.page for it in found[RUST].pages] == [2, 4]
    assert [it.marks for it in found[RUST].pages] == [1, 2]
    square = 2500 * (25.4 / 72) ** 2
    assert [it.area_mm2 for it in found[LEAF].pages] == pytest.approx([square] * 3)
    assert found[LEAF].pages[0].box_mm == found[LEAF].pages[2].box_mm


def test_a_step_that_stands_alone_on_another_page_is_a_colour_of_its_own() -> None:
    def steps(found: Inventory) -> set[str]:
        (gradient,) = (it for it in found.colours if it.colour.kind is ColourKind.GRADIENT)
        assert [it.page for it in gradient.pages] == [1, 3]
        return {it.text for it in gradient.steps}

    blank, alone = b"0 0 0 1 k 0 0 5 5 re f", b".5 0 0 0 k 0 0 5 5 re f"
    told = steps(pages([RISE, blank, RISE]))
    assert len(told) == 88
    assert steps(pages([RISE, alone, RISE])) == told - {"cmyk 50 0 0 0"}
    # And where it was met first.
    before = pages([alone, RISE])
    assert "cmyk 50 0 0 0" in {it.colour.text for it in before.colours}


def test_equal_boxes_are_kept_once() -> None:
    first, second = pages([b"0 g 0 0 9 9 re f"] * 2).pages
    assert first.boxes is second.boxes


def test_pages_measured_in_parts_are_those_measured_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    leaf, rust = b".75 .2 .8 .1 k 0 0 50 50 re f ", b"/Fade gs .1 .7 .8 .1 k 30 30 60 60 re f "
    contents = [leaf, leaf + rust, rust, RISE, leaf + RISE]
    whole = pages(contents, "<< /ExtGState << /Fade << /ca .5 >> >> >>")
    monkeypatch.setattr(areas, "PAGES_AT_ONCE", 2)
    assert pages(contents, "<< /ExtGState << /Fade << /ca .5 >> >> >>") == whole
    assert whole.colours[0].area_mm2


def test_a_page_of_a_part_that_cannot_be_drawn_is_named_by_its_number_in_the_file(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    codes = areas.page_codes
    drawn: list[areas.ColourMap] = []

    def fails_later(source: bytes, *, pages: Sequence[int], **more: Any) -> Iterator[PixelRuns]:
        if drawn:
            raise FileError.of("cannot-render", "it can't be drawn", place=Place(page=pages[-1]))
        yield from codes(source, pages=pages, **more)

    monkeypatch.setattr(areas, "PAGES_AT_ONCE", 2)
    monkeypatch.setattr(areas, "page_codes", fails_later)
    with pytest.raises(FileError) as problem:
        drawn.extend(areas.colour_maps(file_of([b"0 g 0 0 9 9 re f"] * 4)))
    assert [it.page for it in drawn] == [1, 2]
    assert problem.value.findings[0].place.page == 4
