"""Checks for the post: contrast of addresses, size and shape of letters."""

import pytest

from check_kit import CLEAN, RULES, TRIM, found
from inkaccord.artwork.preflight import (
    ArtworkRules,
    PreflightContext,
)
from inkaccord.artwork.preflight.case import AddressInk
from inkaccord.colour.legibility import Reflectances
from inkaccord.sizes import Size
from page_kit import written


def address(ground: tuple[float, float], ink: tuple[float, float]) -> AddressInk:
    return AddressInk(
        name="kelp", ground=Reflectances(*ground, ground[0]), ink=Reflectances(*ink, ink[0])
    )


@pytest.mark.parametrize(
    ("ground", "ink", "post", "words"),
    [
        # USPS Publication 25, §10-3; Royal Mail's guidance; worked by hand.
        ((0.85, 0.85), (0.10, 0.10), None, None),
        ((0.25, 0.25), (0.03, 0.03), "usps", "reflectance difference 22% in red"),
        ((0.25, 0.25), (0.03, 0.03), "royal-mail", "the paper reflects 25%"),
        ((0.80, 0.80), (0.45, 0.10), "royal-mail", "contrast 44%"),
        ((0.80, 0.80), (0.45, 0.10), "usps", None),
        ((0.80, 0.70), (0.10, 0.45), "usps", "25% in green"),
    ],
)
def test_addresses_that_machines_read(
    ground: tuple[float, float], ink: tuple[float, float], post: str | None, words: str | None
) -> None:
    context = PreflightContext(
        addressed=True, post=post, address_inks=(address(ground, ink),)  # type: ignore[arg-type]  # parametrized
    )  # fmt: skip
    codes = found(written(CLEAN, TRIM), RULES, context)
    assert ("address-contrast" in codes) is (words is not None)
    if words:
        assert words in codes["address-contrast"].message


def test_an_address_without_readings_says_so() -> None:
    context = PreflightContext(addressed=True)
    assert "address-contrast-unknown" in found(written(CLEAN, TRIM), RULES, context)


@pytest.mark.parametrize(
    ("inches", "code"),
    [
        ((7.25, 5.25), None),
        ((5.25, 7.25), None),
        ((4.0, 2.5), "mail-size"),
        ((12, 6), "mail-size"),
        ((6, 6), "mail-aspect"),
        ((10, 3.75), "mail-aspect"),
        ((9.5, 4.125), None),
    ],
)
def test_letter_sizes(inches: tuple[float, float], code: str | None) -> None:
    size = Size(width_pt=inches[0] * 72, height_pt=inches[1] * 72)
    data = written("", {"MediaBox": [0.0, 0, *(72 * side for side in inches)]})
    rules = ArtworkRules(trim=size)
    codes = found(data, rules, PreflightContext(mailed=True))
    assert set(codes) - {"no-trim-box"} == ({code} if code else set())
