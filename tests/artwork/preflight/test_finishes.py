"""A hole in a finish's plate is measured where it can be drawn, and foretold by boxes elsewhere."""

import re

import pikepdf
import pytest

from check_kit import TRIM, separation, states
from inkaccord.artwork.preflight import ArtworkRules, case, preflight
from inkaccord.artwork.preflight.rules import FinishRule
from inkaccord.diagnostics import Diagnostic
from outside import need_program
from page_kit import changed, written

PLATE = "q /G gs /S cs 1 scn 40 40 m 140 40 l 40 140 l f Q "
"""A triangle of foil in the lower left half of its box."""
CORNER = "0.2 0.4 0 0 k 110 110 m 140 110 l 140 140 l 110 140 l f"
"""In the box of the foil, and on none of it."""
INSIDE = "0.2 0.4 0 0 k 50 50 28.35 28.35 re f"
"""A square of 10 mm on it."""


def found(content: str, rotate: int = 0, *, as_drawn: bool = True) -> list[Diagnostic]:
    data = written(
        content, TRIM, ExtGState=states(op=True, OPM=1),
        ColorSpace=pikepdf.Dictionary(S=separation("Gold foil", 0, 0.2, 0.8, 0)),
    )  # fmt: skip
    if rotate:
        data = changed(data, lambda pdf: pdf.pages[0].rotate(rotate, relative=False))
    rule = FinishRule(plate="Gold foil", what="foil 'gold'", overprint=True, as_drawn=as_drawn)
    said = preflight(data, ArtworkRules(finishes=(rule,)))
    return [it for it in said if it.code.startswith("finish-")]


def test_what_lies_in_the_box_of_a_plate_and_beside_it_leaves_no_hole() -> None:
    need_program("gs", "ghostscript")
    assert not found(PLATE + CORNER)


@pytest.mark.parametrize("rotate", [0, 90, 180])
def test_a_hole_is_told_with_its_place_and_its_size(rotate: int) -> None:
    need_program("gs", "ghostscript")
    (said,) = found(PLATE + CORNER + " " + INSIDE, rotate)
    assert said.code == "finish-covered"
    assert "cmyk 20 40 0 0" in said.message
    measured = re.search(r"a hole of (\d+) mm²", said.message)
    assert measured is not None, said.message
    assert float(measured[1]) == pytest.approx(100, abs=5), "a square of 10 mm"
    box = said.place.box_mm
    assert box == pytest.approx([17.64, 17.64, 27.64, 27.64], abs=0.3), "50 pt, and 10 mm on"


def test_what_overprints_leaves_none() -> None:
    need_program("gs", "ghostscript")
    assert not found(PLATE + "/G gs " + INSIDE)


def test_where_pages_cannot_be_drawn_boxes_tell_what_may_be(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(case, "ghostscript_path", lambda: None)
    (said,) = found(PLATE + CORNER)
    assert "it may leave a hole" in said.message


def test_what_the_order_sets_already_is_not_advised_again() -> None:
    knocked_out = PLATE.replace("/G gs", "")
    (drawn,) = found(knocked_out)
    assert drawn.code == "finish-knocks-out"
    assert "let the order set it" in str(drawn)
    (not_set,) = found(knocked_out, as_drawn=False)
    assert "let the order set it" not in str(not_set)


WHITE = "/S cs 1 scn 50 50 60 60 re f "
ON_WHITE = "/G gs 0.2 0.4 0 0 k "


def off_white(content: str, rotate: int = 0) -> list[Diagnostic]:
    data = written(
        content, TRIM, ExtGState=states(op=True, OPM=1),
        ColorSpace=pikepdf.Dictionary(S=separation("Gold foil", 0, 0, 0, 0.1)),
    )  # fmt: skip
    data = changed(data, lambda pdf: pdf.pages[0].rotate(rotate, relative=False))
    rule = FinishRule(plate="Gold foil", what="white 'white'", under_all=True)
    said = preflight(data, ArtworkRules(finishes=(rule,)))
    return [it for it in said if it.code == "ink-off-white"]


@pytest.mark.parametrize("rotate", [0, 90])
@pytest.mark.parametrize(
    ("ink", "box_mm"),
    [
        (f"{ON_WHITE} 120 60 28.35 28.35 re f", [42.33, 21.17, 52.33, 31.17]),  # beside it
        ("0.2 0.4 0 0 k 60 60 28.35 28.35 re f", [21.17, 21.17, 31.17, 31.17]),  # it goes out there
    ],
)
def test_ink_without_the_white_under_it_is_told_with_its_place_and_its_size(
    ink: str, box_mm: list[float], rotate: int
) -> None:
    need_program("gs", "ghostscript")
    (said,) = off_white(WHITE + ink, rotate)
    measured = re.search(r"(\d+) mm² of ink", said.message)
    assert measured is not None, said.message
    assert float(measured[1]) == pytest.approx(100, abs=8), "a square of 10 mm"
    assert said.place.box_mm == pytest.approx(box_mm, abs=0.5)


def test_a_line_thinner_than_the_rim_that_white_may_lack_is_told_where_it_leaves_white_out() -> (
    None
):
    need_program("gs", "ghostscript")
    assert off_white(WHITE + "0.2 0.4 0 0 k 55 55 1 50 re f")


@pytest.mark.parametrize(
    "content",
    [
        WHITE + ON_WHITE + "60 60 20 20 re f",
        WHITE + ON_WHITE + "49 49 62 62 re f",  # the white is drawn 1 pt smaller
        WHITE + "/G gs 0 0 0 1 k 120 60 20 20 re f",  # black alone, on the bare stock
        WHITE + ON_WHITE + "-20 -20 25 25 re f",  # past the cut
        ON_WHITE + "60 60 20 20 re f",  # no white at all, which is told of as a whole
    ],
)
def test_ink_on_white_black_alone_and_what_is_cut_off_are_not_told_of(content: str) -> None:
    need_program("gs", "ghostscript")
    assert not off_white(content)
