"""Checks of inks: kinds of colour, total ink, white overprint, registration."""

import pikepdf
import pytest

from check_kit import CLEAN, RULES, TRIM, found, mm_box, pictured, states
from inkaccord.artwork.preflight import (
    case,
)
from inkaccord.pdf.colours.colours import ColourKind
from outside import need_program
from page_kit import changed, written


def test_colour_kinds() -> None:
    rules = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK, ColourKind.GRAY)})
    assert (
        "rgb 255 0 0"
        in found(written("1 0 0 rg 50 50 9 9 re f", TRIM), rules)["colour-kind"].message
    )
    assert "colour-kind" not in found(written(CLEAN, TRIM), rules)
    assert "colour-kind" not in found(pictured(300, 72), rules)
    only_cmyk = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK,)})
    assert "an image holds gray" in found(pictured(300, 72), only_cmyk)["colour-kind"].message


LIMIT = RULES.model_copy(update={"max_total_ink": 240.0})


def test_total_ink_is_measured_and_placed() -> None:
    need_program("gs", "ghostscript")
    finding = found(written("1 1 0.6 0 k 50 60 40 30 re f", TRIM), LIMIT)["total-ink"]
    assert "up to 260 %" in finding.message
    assert "measured" in finding.message
    assert finding.place.box_mm == mm_box(50, 60, 90, 90)
    # 60/40/40/100 is exactly 240 (common practice of the trade).
    assert "total-ink" not in found(written("0.6 0.4 0.4 1 k 50 60 40 30 re f", TRIM), LIMIT)


def test_total_ink_is_placed_right_on_a_turned_page() -> None:
    need_program("gs", "ghostscript")
    data = changed(
        written("1 1 1 0 k 50 60 40 30 re f", TRIM),
        lambda pdf: pdf.pages[0].rotate(90, relative=False),
    )
    assert found(data, LIMIT)["total-ink"].place.box_mm == mm_box(50, 60, 90, 90)


def test_overprints_add_up() -> None:
    need_program("gs", "ghostscript")
    content = "1 1 0 0 k 50 60 40 30 re f /G gs 0 0 1 0 k 60 60 10 30 re f"
    data = written(content, TRIM, ExtGState=states(OP=True, op=True, OPM=1))
    rules = RULES.model_copy(update={"max_total_ink": 280.0, "spots": "keep"})
    assert "up to 300 %" in found(data, rules)["total-ink"].message


def test_without_ghostscript_total_ink_comes_from_objects(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "ghostscript_path", lambda: None)
    over = found(written("1 1 1 0 k 50 60 40 30 re f", TRIM), LIMIT)
    assert "300 % of ink" in over["total-ink"].message
    assert "not measured" in over["total-ink-from-objects"].message
    assert "total-ink" not in found(written(CLEAN, TRIM), LIMIT)


@pytest.mark.parametrize(
    ("content", "mode", "expected"),
    [
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 1, True),
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 0, False),
        ("0 0 0 0 k 50 50 9 9 re f", 1, False),
        ("/G gs 0 0 0 1 k 50 50 9 9 re f", 1, False),
        ("/G gs 1 g 50 50 9 9 re f", 1, False),
    ],
)
def test_white_overprint(content: str, mode: int, expected: bool) -> None:
    data = written(CLEAN + " " + content, TRIM, ExtGState=states(OP=True, op=True, OPM=mode))
    assert ("white-overprint" in found(data)) is expected


def test_registration_colour_inside_the_trim_only() -> None:
    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[1] * 4)
    spaces = pikepdf.Dictionary(
        A=pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name.All, pikepdf.Name.DeviceCMYK, tint])
    )
    inside = written("/A cs 1 scn 50 50 9 9 re f", TRIM, ColorSpace=spaces)
    outside = written("/A cs 1 scn 2 2 9 5 re f", TRIM, ColorSpace=spaces)
    assert "registration-colour" in found(inside)
    assert "registration-colour" not in found(outside)
