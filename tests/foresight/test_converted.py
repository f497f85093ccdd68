"""An export in which the program converted every colour is recognised as that."""

import pytest

from inkaccord.artwork.advice import advised
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Place
from inkaccord.foresight.converted import is_converted, said_of_conversion
from inkaccord.run.collected import FoundAs, FoundColour, PieceArtwork


def _artwork(*colours: tuple[str, FoundAs]) -> PieceArtwork:
    found = tuple(
        FoundColour(text=text, paint=Paint.parse(text), found_as=found_as,
                    colour="kelp" if found_as is FoundAs.BRAND else None)
        for text, found_as in colours
    )  # fmt: skip
    return PieceArtwork(
        piece="tag", path="tag.pdf", sha256="0" * 64, pages=1, photographs=0, colours=found
    )


ODD, BLACK = "cmyk 86.6667 41.1765 69.4118 31.7647", "cmyk 72.1569 67.451 67.0588 88.2353"


def test_broken_numbers_everywhere_and_no_brand_colour() -> None:
    artwork = _artwork((ODD, FoundAs.UNKNOWN), (BLACK, FoundAs.UNKNOWN), ("gray 0", FoundAs.KEPT))
    assert is_converted(artwork)
    (said,) = advised([said_of_conversion(artwork, Place())], artwork.program)
    assert "cmyk 86.7 41 69.4 31.8" in said.message  # 105 of 255 is 41 %, within rounding
    assert "without colour conversion" in (said.in_program or "")


@pytest.mark.parametrize(
    "other",
    [("cmyk 85 20 60 30", FoundAs.BRAND), ("cmyk 40 5 0 0", FoundAs.UNKNOWN)],
    ids=["a brand colour", "a colour that a person wrote"],
)
def test_one_colour_as_a_person_wrote_it_says_otherwise(other: tuple[str, FoundAs]) -> None:
    assert not is_converted(_artwork((ODD, FoundAs.UNKNOWN), (BLACK, FoundAs.UNKNOWN), other))


def test_numbers_counted_in_255ths_are_not_broken() -> None:
    rounded = [(f"rgb {r} 92 77.9999", FoundAs.UNKNOWN) for r in (20, 30, 40)]
    assert not is_converted(_artwork(*rounded))
