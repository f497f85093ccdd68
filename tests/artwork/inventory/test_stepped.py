"""Gradients in flat steps are listed as gradients, and derived stops as no colours."""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from artwork_kit import document
from gradient_kit import Numbers, mixed
from inkaccord.artwork.flights import LEAST_COLOURS, climbed, may_begin
from inkaccord.artwork.inventory.inventory import Inventory, inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, nearest, own_colours
from inkaccord.artwork.inventory.page import inventory_page
from inkaccord.artwork.roles import Role
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind, colour_in
from inkaccord.pdf.colours.spaces import DEVICE_CMYK

MM2 = (25.4 / 72) ** 2
KELP, LANTERN, SKY = (0.85, 0.2, 0.6, 0.3), (0.0, 0.38, 0.88, 0.02), (0.4, 0.05, 0.0, 0.0)
BRAND = {
    "kelp": [Paint.parse("cmyk 85 20 60 30")],
    "lantern": [Paint.parse("cmyk 0 38 88 2")],
}


def _rings(first: Numbers, last: Numbers, count: int) -> bytes:
    """Squares inside each other, as office suites draw a gradient round a middle."""
    lines = []
    for i in range(count):
        colour = " ".join(f"{v:.4f}" for v in mixed(i / (count - 1), first, last))
        inset = 40 * i / count
        size = 100 - 2 * inset
        lines.append(f"{colour} k {inset:.3f} {inset:.3f} {size:.3f} {size:.3f} re f*")
    return "\n".join(lines).encode()


def _steps(found: Inventory) -> list[str]:
    return [e.colour.text for e in found.colours if e.colour.kind is ColourKind.GRADIENT]


def test_a_flight_is_one_gradient_with_its_area() -> None:
    found = inventory(document(b"0 0 1 0 k 0 0 5 5 re f " + _rings(KELP, LANTERN, 80)))
    assert _steps(found) == ["gradient in flat steps, cmyk 85 20 60 30 to cmyk 0 38 88 2"]
    texts = {entry.colour.text for entry in found.colours}
    assert texts - set(_steps(found)) == {"cmyk 85 20 60 30", "cmyk 0 38 88 2", "cmyk 0 0 100 0"}
    (gradient,) = [e for e in found.colours if e.colour.kind is ColourKind.GRADIENT]
    # Without the outermost square and the innermost one.
    inset = 40 / 80
    area = ((100 - 2 * inset) ** 2 - (100 - 2 * 79 * inset) ** 2) * MM2
    assert gradient.area_mm2 == pytest.approx(area, rel=0.01)
    assert gradient.marks == len(gradient.steps) == 78
    assert gradient.roles == (Role.FILL,)
    assert "gradient in flat steps" in inventory_page(document(_rings(KELP, LANTERN, 80)), found)


def test_a_colour_that_stands_elsewhere_too_is_listed() -> None:
    middle = mixed(40 / 79, KELP, LANTERN)
    alone = " ".join(f"{v:.4f}" for v in middle).encode() + b" K 0 50 m 100 50 l S"
    found = inventory(document(_rings(KELP, LANTERN, 80) + b"\n" + alone))
    (gradient,) = [e for e in found.colours if e.colour.kind is ColourKind.GRADIENT]
    assert len(gradient.steps) == 77
    (other,) = [e for e in found.colours if Role.STROKE in e.roles]
    assert other.colour.text not in {step.text for step in gradient.steps}


@pytest.mark.parametrize("count", [3, 7])
def test_a_few_swatches_are_colours(count: int) -> None:
    found = inventory(document(_rings(KELP, LANTERN, count)))
    assert not _steps(found)
    assert len(found.colours) == count


def test_a_flight_is_found_among_fills_of_chance() -> None:
    """Where none may begin none is looked for; with the row begun at every fill it is the same."""
    rng = np.random.default_rng(15)
    chance = [tuple(map(float, one)) for one in rng.random((40, 4)).round(3)]
    flight = [mixed(i / 19, (0.1, 0.2, 0.6, 0.0), (0.9, 0.1, 0.0, 0.2)) for i in range(20)]
    row = [*chance[:17], *flight, *chance[17:]]
    begun = [
        at
        for at in range(len(row) - LEAST_COLOURS + 1)
        if climbed(row[at:], lambda _, numbers: numbers) is not None
    ]
    assert 17 in begun
    assert set(begun) <= set(may_begin(row))
    assert len(may_begin(row)) < 25


def test_a_colour_wheel_is_no_gradient_in_steps() -> None:
    colours = [
        tuple(0.5 + 0.5 * math.cos(i / 10 + turn) for turn in (0, 2, 4, 6)) for i in range(63)
    ]
    content = b"\n".join(
        " ".join(f"{v:.4f}" for v in colour).encode() + b" k 0 0 %d 9 re f" % (100 - i)
        for i, colour in enumerate(colours)
    )
    assert not _steps(inventory(document(content)))


def _gradient(*stops: Numbers) -> ArtworkColour:
    parts = tuple(colour_in(DEVICE_CMYK, stop) for stop in stops)
    return ArtworkColour(kind=ColourKind.GRADIENT, text="gradient", parts=parts)


@pytest.mark.parametrize(
    ("stops", "own"),
    [
        ([KELP, mixed(0.5, KELP, LANTERN), LANTERN], [KELP, LANTERN]),
        ([KELP, *(mixed(i / 9, KELP, SKY) for i in range(1, 9)), SKY], [KELP, SKY]),
        ([KELP, SKY, LANTERN], [KELP, SKY, LANTERN]),
        ([SKY, mixed(0.5, SKY, (0, 0, 0, 1)), (0, 0, 0, 1)], None),
    ],
    ids=["the mean", "a row", "a stop of its own", "no brand colour"],
)
def test_derived_stops_are_no_colours(stops: Sequence[Numbers], own: list[Numbers] | None) -> None:
    found = own_colours(_gradient(*stops), BRAND)
    assert found == _gradient(*(own if own is not None else stops)).parts


def test_a_gradient_with_a_derived_stop_is_the_brand_s() -> None:
    found = inventory(document(_rings(KELP, LANTERN, 20)))
    assert {one.standing for one in nearest(found, BRAND)} == {ColourStanding.MAPPED}
    (entry,) = nearest(
        [
            found.colours[0].model_copy(
                update={"colour": _gradient(KELP, (0.425, 0.29, 0.74, 0.16), LANTERN)}
            )
        ],
        BRAND,
    )
    assert entry.standing is ColourStanding.MAPPED
