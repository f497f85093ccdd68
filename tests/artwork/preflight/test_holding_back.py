"""What holds a piece back by default, and how a vendor says otherwise."""

import numpy as np
import pikepdf
import pytest

from check_kit import (
    CLEAN,
    RULES,
    TRIM,
    found,
    layer,
    pictured,
    registration,
    separation,
    states,
    typeset,
)
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.diagnostics import Severity
from inkaccord.pdf.colours.alternates import spot_alternates
from inkaccord.pdf.colours.colours import ColourKind
from outside import need_program
from page_kit import embedded_font, finish, image, written

HOLD = {
    "registration-colour": registration("/A cs 1 scn 50 50 9 9 re f"),
    "image-half-resolution": pictured(120, 72),
    "line-without-width": written("0 w 50 50 m 90 50 l S", TRIM),
}


@pytest.mark.parametrize("code", HOLD)
def test_these_hold_a_piece_unless_the_vendor_says_otherwise(code: str) -> None:
    assert found(HOLD[code])[code].severity is Severity.ERROR
    for level in Severity:
        rules = RULES.model_copy(update={"levels": ((code, level),)})
        assert found(HOLD[code], rules)[code].severity is level


def test_a_level_moves_a_finding_among_the_others() -> None:
    data = written("0 w 50 50 m 90 50 l S")
    levels = {"line-without-width": Severity.NOTE, "no-trim-box": Severity.ERROR}
    rules = ArtworkRules(trim=None, levels=tuple(levels.items()))
    order = [it.severity for it in preflight(data, rules)]
    assert order == sorted(order, key=list(Severity).index)


def two_spots(one: pikepdf.Array, other: pikepdf.Array) -> bytes:
    content = "/A cs 1 scn 30 30 40 40 re f /B cs 1 scn 90 30 40 40 re f"
    return written(content, TRIM, ColorSpace=pikepdf.Dictionary(A=one, B=other))


@pytest.mark.parametrize(
    ("one", "other", "code"),
    [
        (("Kelp", 0.8, 0, 0.6, 0), ("KELP", 0.8, 0, 0.6, 0), "spot-two-spellings"),
        (("Deep Kelp", 0.8, 0, 0.6, 0), ("deep-kelp", 0.8, 0, 0.6, 0), "spot-two-spellings"),
        (("Kelp", 0.8, 0, 0.6, 0), ("Kelp", 0.5, 0, 0.6, 0), "spot-two-builds"),
        (("Kelp", 0.8, 0, 0.6, 0), ("Kelp", 0.805, 0, 0.6, 0), None),
        (("Kelp", 0.8, 0, 0.6, 0), ("Slate", 0.8, 0, 0.6, 0), None),
    ],
)
def test_two_plates_are_said_when_stock_is_taken(
    one: tuple[str, float], other: tuple[str, float], code: str | None
) -> None:
    data = two_spots(separation(*one), separation(*other))
    said = inventory(data).findings
    told = [it.code for it in said if it.code.startswith("spot-")]
    assert told == ([code] if code else [])
    if code == "spot-two-spellings":
        assert "two plates" in said[0].message
    if code == "spot-two-builds":
        assert "shown as cmyk 80 0 60 0" in said[0].message
        assert spot_alternates(data)["Kelp"].values == (80, 0, 60, 0)


def test_a_spot_that_nothing_paints_makes_no_plate() -> None:
    spaces = pikepdf.Dictionary(A=separation("Kelp", 1, 0, 0, 0), B=separation("KELP", 0, 1, 0, 0))
    assert not inventory(written("/A cs 1 scn 9 9 9 9 re f", TRIM, ColorSpace=spaces)).findings


def test_ink_of_pictures_in_rgb_is_an_estimate() -> None:
    need_program("gs", "ghostscript")
    with pikepdf.new() as pdf:
        dark = image(pdf, bytes([20, 15, 10] * 90_000), (300, 300), "/DeviceRGB")
        content = "q 72 0 0 72 50 50 cm /I Do Q"
        data = finish(pdf, content, TRIM, XObject=pikepdf.Dictionary(I=dark))
    rules = RULES.model_copy(update={"max_total_ink": 150.0})
    assert "estimated" in found(data, rules)["total-ink"].message
    told = RULES.model_copy(update={"tell_ink": True})
    assert "an estimated" in found(data, told)["ink-without-limit"].message


def test_the_most_ink_without_a_limit_is_what_ghostscript_separates() -> None:
    need_program("gs", "ghostscript")
    with pikepdf.new() as pdf:
        samples = np.full((10, 10, 4), (204, 153, 102, 51), np.uint8).tobytes()
        shot = image(pdf, samples, (10, 10), "/DeviceCMYK")
        content = "0 0 0 0.5 k 11 11 178 278 re f q 72 0 0 72 50 50 cm /I Do Q"
        data = finish(pdf, content, TRIM, XObject=pikepdf.Dictionary(I=shot))
    said = found(data, RULES.model_copy(update={"tell_ink": True}))["ink-without-limit"]
    assert said.severity is Severity.NOTE
    assert "200 %" in said.message  # 80 + 60 + 40 + 20, the ground knocked out


@pytest.mark.parametrize(("overprint", "size", "told"), [(False, 6, True), (True, 6, False)])
def test_black_type_that_overprints_its_tint_has_no_rim(
    overprint: bool, size: int, told: bool
) -> None:
    with pikepdf.new() as pdf:
        fonts = pikepdf.Dictionary(T=embedded_font(pdf))
        content = (
            "0.2 0.1 0 0 k 11 11 178 278 re f /G gs 0 0 0 1 k "
            f"BT /T {size} Tf 50 100 Td (a b c) Tj ET"
        )
        data = finish(
            pdf, content, TRIM, Font=fonts, ExtGState=states(op=overprint, OP=overprint, OPM=1)
        )
    assert ("black-type-knocks-out" in found(data)) is told


def test_black_type_on_white_or_on_a_black_tint_is_left_alone() -> None:
    text = "0 g BT /T 6 Tf 50 100 Td (a b c) Tj ET"
    for ground in ("", "0.4 g 11 11 178 278 re f "):
        assert "black-type-knocks-out" not in found(typeset(ground + text))


def mixture() -> bytes:
    """Return a page in one spot and black together."""
    with pikepdf.new() as pdf:
        function = pdf.make_stream(
            b"{ 0 exch 0 exch 0 exch 4 1 roll }",
            FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 4,
        )  # fmt: skip
        names = pikepdf.Array([pikepdf.Name("/Gold foil"), pikepdf.Name.Black])
        space = pikepdf.Array([pikepdf.Name.DeviceN, names, pikepdf.Name.DeviceCMYK, function])
        spaces = pikepdf.Dictionary(A=space)
        return finish(pdf, "/A cs 1 0.3 scn 50 50 60 60 re f", TRIM, ColorSpace=spaces)


def test_a_kept_spot_may_be_mixed_with_black() -> None:
    kinds = (ColourKind.CMYK, ColourKind.GRAY, ColourKind.SPOT)
    kept = ArtworkRules(trim=RULES.trim, colour_kinds=(*kinds, ColourKind.DEVICEN), spots="keep")
    assert "colour-kind" not in found(mixture(), kept)
    assert "colour-kind" in found(mixture(), kept.model_copy(update={"colour_kinds": kinds}))


def on_hidden_layer(content: str) -> bytes:
    with pikepdf.new() as pdf:
        page = f"{CLEAN} /OC /L BDC {content} EMC"
        notes = layer(pdf, "Notes", hidden=True)
        spaces = pikepdf.Dictionary(A=separation("All", 1, 1, 1, 1))
        return finish(pdf, page, TRIM, Properties=notes, ColorSpace=spaces)


def test_what_is_on_a_layer_that_is_off_holds_nothing() -> None:
    data = on_hidden_layer("1 0 0 rg 50 50 60 60 re f 0 w 1 0 0 RG 50 50 m 90 50 l S")
    rules = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK,)})
    told = found(data, rules)
    assert "hidden-layer" in told
    assert not {"colour-kind", "line-without-width"} & told.keys()
    (red,) = [entry for entry in inventory(data).colours if "255" in entry.colour.text]
    assert not red.shown


def test_registration_on_a_hidden_layer_is_no_plate() -> None:
    assert "registration-colour" not in found(on_hidden_layer("/A cs 1 scn 50 50 9 9 re f"))
