"""What is said of colours that are no brand colours: one finding for one cause."""

import pytest

from inkaccord.artwork.programs import ProgramKind
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Place, Severity
from inkaccord.foresight.remarks import MOST_NAMED, remarks
from inkaccord.order.model import Order
from inkaccord.run.collected import FoundAs, FoundColour, PieceArtwork
from report_kit import example_order


@pytest.fixture
def order() -> Order:
    return example_order()


def found(text: str, found_as: FoundAs, colour: str | None = None, **more: object) -> FoundColour:
    paint = Paint.parse(text)
    return FoundColour(
        text=text, paint=paint, found_as=found_as, colour=colour, area_mm2=12.0, pages=(1,),
        roles=("fill",), **more,
    )  # fmt: skip


def said(order: Order, *colours: FoundColour) -> list[Diagnostic]:
    artwork = PieceArtwork(
        piece="tag", path="tag.pdf", sha256="0" * 64, pages=1, photographs=0, colours=colours,
        program=ProgramKind.LAYOUT,
    )  # fmt: skip
    return remarks(order, artwork, Place())


def test_three_colours_close_to_one_are_one_finding(order: Order) -> None:
    name = next(iter(order.colours))
    near = [found(f"cmyk 8{at} 20 60 31", FoundAs.NEAR_MISS, name) for at in (4, 5, 6)]
    (finding,) = said(order, *near)
    assert finding.message.startswith(f"tag.pdf holds 3 colours that lie close to {name} (")
    assert finding.message.count("12 mm² (fill)") == 3
    assert (finding.in_program or "").startswith("in the layout program: ")
    assert f"to colours.{name}.in_artwork" in (finding.hint or "")
    for one in near:
        assert f"'{one.text}'" in (finding.hint or "")


def test_close_to_two_colours_is_two_causes(order: Order) -> None:
    one, other = list(order.colours)[:2]
    near = [found("cmyk 84 20 60 31", FoundAs.NEAR_MISS, one),
            found("cmyk 0 30 80 1", FoundAs.NEAR_MISS, other)]  # fmt: skip
    assert [it.code for it in said(order, *near)] == ["near-miss"] * 2


def test_nameless_colours_are_one_finding_the_first_of_them_named(order: Order) -> None:
    many = [found(f"cmyk {at} 1 2 3", FoundAs.UNKNOWN) for at in range(9)]
    (finding,) = said(order, *many)
    assert "holds 9 colours that are no brand colours" in finding.message
    assert finding.message.endswith(f"; and {9 - MOST_NAMED} more")
    assert "'keep' to leave them alone" in (finding.hint or "")


def test_a_profile_is_another_cause(order: Order) -> None:
    plain = found("cmyk 1 1 2 3", FoundAs.UNKNOWN)
    profiled = found("cmyk 2 1 2 3", FoundAs.UNKNOWN, profiled=True)
    first, second = said(order, plain, profiled)
    assert "under 'colours'" in (first.hint or "")
    assert "'profiled: plain'" in (second.hint or "")
    assert "without a profile" in (second.in_program or "")
    assert "'keep'" not in f"{first.in_program}{second.in_program}"


def test_what_is_on_a_layer_that_is_off_is_not_said_to_print(order: Order) -> None:
    off = found("rgb 255 0 0", FoundAs.UNKNOWN, shown=False)
    (finding,) = said(order, off)
    assert finding.code == "colour-on-hidden-layer"
    assert finding.severity is Severity.NOTE
    assert "printed as" not in finding.message
    assert {it.code for it in said(order, off, found("rgb 255 0 0", FoundAs.UNKNOWN))} == {
        "colour-on-hidden-layer", "unknown-colour",
    }  # fmt: skip
