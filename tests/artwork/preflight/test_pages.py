"""Checks of pages: count, boxes, trim size, bleed, safe area."""

import pytest

from check_kit import CLEAN, PIECE, RULES, TRIM, found, mm_box, typeset
from inkaccord.artwork.preflight import (
    ArtworkRules,
    preflight,
)
from inkaccord.diagnostics import Severity
from inkaccord.sizes import Size
from page_kit import changed, written


def test_page_count() -> None:
    two = changed(written(CLEAN, TRIM), lambda pdf: pdf.pages.append(pdf.pages[0]))
    rules = RULES.model_copy(update={"page_counts": (1,)})
    assert "expected 1" in found(two, rules)["page-count"].message
    assert "page-count" not in found(written(CLEAN, TRIM), rules)
    assert "page-count" not in found(two, RULES)


def test_boxes() -> None:
    loose = {**TRIM, "BleedBox": [30.0, 30.0, 170.0, 270.0]}
    assert "boxes-not-nested" in found(written(CLEAN, loose))
    assert "boxes-not-nested" in found(written(CLEAN, {"TrimBox": [-20.0, 0, 200, 300]}))


def test_trim_size_wrong_turned_and_scaled() -> None:
    rules = ArtworkRules(trim=Size(width_pt=160, height_pt=240))
    assert found(written(CLEAN, TRIM), rules)["trim-size"].severity is Severity.ERROR
    turned = found(written(CLEAN, TRIM), ArtworkRules(trim=PIECE.turned))["trim-size"]
    assert "on its side" in turned.message
    half = ArtworkRules(trim=Size(width_pt=320, height_pt=520))
    assert "scale is 50%" in found(written(CLEAN, TRIM), half)["trim-size"].message
    rotated = changed(written(CLEAN, TRIM), lambda pdf: pdf.pages[0].rotate(90, relative=False))
    assert "trim-size" not in found(rotated, ArtworkRules(trim=PIECE.turned))


@pytest.mark.parametrize(
    ("content", "sides"),
    [
        (CLEAN, set()),
        ("1 0 0 0 k 20 20 160 260 re f", {"left", "bottom", "right", "top"}),
        ("1 0 0 0 k 11 11 178 274 re f", {"top"}),
        ("1 0 0 0 k 40 11 100 100 re f", set()),
        ("1 0 0 0 k 40 15 100 100 re f", {"bottom"}),
        ("1 0 0 0 k 15 100 100 100 re f", {"left"}),
        ("1 0 0 0 k 50 50 50 50 re f", set()),
        ("0 0 0 0 k 20 20 160 260 re f", set()),
    ],
    ids=["full", "none", "top short", "runs off below", "stops in the bleed", "left", "island",
         "white"],
)  # fmt: skip
def test_colour_at_the_cut_must_fill_the_bleed(content: str, sides: set[str]) -> None:
    findings = [
        one for one in preflight(written(content, TRIM), RULES) if one.code == "bleed-not-filled"
    ]
    assert {one.message.split("to the ")[1].split()[0] for one in findings} == sides


def test_missing_bleed_says_where_how_long_and_how_much_there_is() -> None:
    box = {"TrimBox": [0.0, 0.0, 200.0, 300.0]}
    finding = found(written("1 0 0 0 k 0 100 90 90 re f", box))["no-bleed"]
    assert "left cut along 32 mm" in finding.message
    assert "ends 0.0 mm past" in finding.message
    assert finding.place.box_mm == mm_box(-9, 100, 0, 190)


@pytest.mark.parametrize("marked", [False, True])
def test_three_millimetres_pass_for_an_eighth_of_an_inch_and_that_is_said(marked: bool) -> None:
    # 3 mm are 8.504 pt; the trim lies 20 pt within the page where marks stand round the bleed.
    edge = 20.0 if marked else 8.504
    trim = [edge, edge, 200 - edge, 300 - edge]
    boxes = {"TrimBox": trim}
    if marked:
        boxes["BleedBox"] = [at - 8.504 if n < 2 else at + 8.504 for n, at in enumerate(trim)]
    ground = f"1 0 0 0 k {edge - 8.504} {edge - 8.504} 90 90 re f"  # in the lower left corner
    rules = RULES.model_copy(update={"trim": None})
    (said,) = [it for it in preflight(written(ground, boxes), rules) if "bleed" in it.code]
    assert (said.code, said.severity) == ("bleed-just-short", Severity.NOTE)
    assert "3 mm past the left and bottom cut" in said.message
    assert "mm of bleed is asked, and up to 0.18 mm less passes" in said.message
    islands = written("1 0 0 0 k 60 60 30 30 re f", boxes)  # nothing runs to the cut
    assert not [it for it in preflight(islands, rules) if "bleed" in it.code]


def test_bleed_is_not_asked_for_where_the_vendor_wants_none() -> None:
    rules = RULES.model_copy(update={"bleed_pt": 0.0})
    assert "bleed-not-filled" not in found(written("1 0 0 0 k 20 20 160 260 re f", TRIM), rules)


def test_type_near_the_cut_and_over_it() -> None:
    near = found(typeset("BT /T 10 Tf 24 100 Td (a) Tj ET"))["outside-safe-area"]
    assert near.severity is Severity.WARNING
    assert "1.4 mm from the left cut" in near.message
    over = found(typeset("BT /T 10 Tf 15 100 Td (a) Tj ET"))["outside-safe-area"]
    assert over.severity is Severity.ERROR
    assert "1.8 mm past the left cut" in over.message
    assert "outside-safe-area" not in found(typeset("BT /T 10 Tf 30 100 Td (a) Tj ET"))


def test_a_frame_near_the_cut_is_found_and_a_ground_that_bleeds_is_not() -> None:
    frame = "1 w 23 23 154 254 re S"
    assert "a stroke" in found(written(frame, TRIM))["outside-safe-area"].message
    assert "outside-safe-area" not in found(written(CLEAN, TRIM))
    assert "outside-safe-area" not in found(written("35 35 100 100 re f", TRIM))
