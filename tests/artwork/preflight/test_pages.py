"""Checks of pages: count, boxes, trim size, bleed, safe area."""

import math

import pikepdf
import pytest

from check_kit import CLEAN, PIECE, RULES, TRIM, found, mm_box, separation, typeset
from inkaccord.artwork.preflight import (
    ArtworkRules,
    preflight,
)
from inkaccord.artwork.preflight.rules import FinishRule
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
    said = {one.message.split("to the ")[1].split(" cut")[0] for one in findings}
    assert {side for it in said for side in it.replace(" and ", ", ").split(", ")} == sides
    assert len(findings) <= 1  # one cause is one finding


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


def test_pages_that_are_short_alike_are_told_of_once() -> None:
    """Eight lines for a card of two sides, and 240 for sixty envelopes, said one thing."""
    two = changed(
        written("1 0 0 0 k 20 20 160 260 re f", TRIM), lambda pdf: pdf.pages.append(pdf.pages[0])
    )
    (said,) = [it for it in preflight(two, RULES) if it.code == "bleed-not-filled"]
    assert "to the left, bottom, right and top cut along 296 mm in all" in said.message
    assert said.message.endswith("(more like it on page 2)")
    assert said.place.page == 1
    assert said.place.box_mm == mm_box(11, 11, 189, 289)


ROUND = {"TrimBox": [20.0, 70, 180, 230], "BleedBox": [11.0, 61, 189, 239]}
DIE = RULES.model_copy(
    update={"trim": None, "finishes": (FinishRule(plate="Die", what="die line 'die'", cuts=True),)}
)


def circle(radius: float) -> str:
    """Return the path of a circle about the middle of ``ROUND``, by four curves."""
    handle = 0.5523 * radius
    path, x, y = f"{100 + radius} 150 m ", 1, 0
    for _ in range(4):
        turned = (-y, x)
        ends = [(radius * x - handle * y, radius * y + handle * x),
                (radius * turned[0] + handle * x, radius * turned[1] + handle * y),
                (radius * turned[0], radius * turned[1])]  # fmt: skip
        path += " ".join(f"{100 + across:.3f} {150 + up:.3f}" for across, up in ends) + " c "
        x, y = turned
    return path


def sticker(ground: float, boxes: dict[str, list[float]] = ROUND, die: float = 80) -> bytes:
    """Return a page with a round ground of a radius, and a round die line."""
    spaces = pikepdf.Dictionary(S=separation("Die", 0, 1, 0, 0))
    drawn = f"1 0 0 0 k {circle(ground)} f /S CS 1 SCN 0.5 w {circle(die)} S"
    return written(drawn, boxes, ColorSpace=spaces)


@pytest.mark.parametrize(
    ("ground", "reach_pt"), [(80.0, 0.0), (85.0, 5.0), (89.0, None), (99.0, None)]
)
def test_bleed_lies_round_the_die_that_cuts_a_round_piece(
    ground: float, reach_pt: float | None
) -> None:
    """The trim of a round piece is but its frame: colour need not fill the corners beside it."""
    said = {it.code: it for it in preflight(sticker(ground), DIE) if "bleed" in it.code}
    assert set(said) == (set() if reach_pt is None else {"no-bleed-round-die"})
    if reach_pt is not None:
        words = said["no-bleed-round-die"].message.split()
        reach, length = (float(words[words.index(it) + 1]) for it in ("stops", "along"))
        assert reach == pytest.approx(reach_pt / 72 * 25.4, abs=0.3)
        assert length == pytest.approx(
            2 * math.pi * 89 / 72 * 25.4, rel=0.1
        )  # the outer rim, in pixels


def test_where_the_page_ends_within_the_bleed_of_a_die_it_is_bare_too() -> None:
    tight = {"MediaBox": [20.0, 70, 180, 230], "TrimBox": [20.0, 70, 180, 230]}
    assert "no-bleed-round-die" in found(sticker(99, tight), DIE)


def test_a_sheet_of_stickers_needs_bleed_at_its_own_cut_too() -> None:
    """A die line well within the trim cuts out a part; the trim is cut as well."""
    assert set(found(sticker(88, die=40), DIE)) & {"bleed-not-filled", "no-bleed-round-die"} == {
        "bleed-not-filled"
    }
    plain = DIE.model_copy(update={"finishes": ()})
    assert "bleed-not-filled" in found(sticker(89), plain)  # nobody says that a die cuts there
