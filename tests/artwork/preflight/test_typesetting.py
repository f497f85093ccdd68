"""Checks of type: fonts, small type, rich black, reversed type."""

import pikepdf
import pytest

from check_kit import CLEAN, RULES, TRIM, found, typeset
from page_kit import written


def test_fonts_embedded_or_outlined() -> None:
    helvetica = pikepdf.Dictionary(
        Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
    )
    content = "BT /F 12 Tf 50 100 Td (Boathouse) Tj ET"
    loose = written(content, TRIM, Font=pikepdf.Dictionary(F=helvetica))
    assert "Helvetica" in found(loose)["font-not-embedded"].message
    inside = typeset("BT /T 12 Tf 50 100 Td (Boat) Tj ET")
    assert "font-not-embedded" not in found(inside)
    rules = RULES.model_copy(update={"fonts": "outlined"})
    assert "font-not-outlined" in found(inside, rules)
    assert "font-not-outlined" not in found(written(CLEAN, TRIM), rules)


@pytest.mark.parametrize(
    ("colour", "size", "code"),
    [
        ("0.85 0.2 0.6 0.3 k", 5, "small-type-several-inks"),
        ("0.85 0.2 0.6 0.3 k", 7, None),
        ("0.85 0 0 0 k", 5, None),
        ("0 0 0 1 k", 5, None),
        ("0.6 0.4 0.4 1 k", 9, "rich-black-type"),
        ("0.6 0.4 0.4 1 k", 20, None),
        ("0 0 0 rg", 9, "rich-black-type"),
        ("0 g", 5, None),
    ],
)
def test_small_type_in_several_inks(colour: str, size: float, code: str | None) -> None:
    codes = set(found(typeset(f"{colour} BT /T {size} Tf 50 100 Td (a) Tj ET")))
    assert codes == ({code} if code else set())


def test_type_size_is_taken_as_the_matrices_scale_it() -> None:
    content = "0.85 0.2 0.6 0.3 k q 0.5 0 0 0.5 50 100 cm BT /T 1 Tf 8 0 0 8 0 0 Tm (a) Tj ET Q"
    assert "type of 4.0 pt" in found(typeset(content))["small-type-several-inks"].message


@pytest.mark.parametrize(
    ("ground", "size", "expected"),
    [
        ("0.85 0.2 0.6 0.3 k", 6, True),
        ("0.85 0.2 0.6 0.3 k", 9, False),
        ("1 0 0 0 k", 6, False),
        ("0 0 0 0 k", 6, False),
    ],
)
def test_small_white_type_on_several_inks(ground: str, size: float, expected: bool) -> None:
    content = f"{ground} 11 11 178 278 re f 0 0 0 0 k BT /T {size} Tf 50 100 Td (a b c) Tj ET"
    assert ("small-reversed-type" in found(typeset(content))) is expected
