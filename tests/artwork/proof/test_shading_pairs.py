"""Gradients that differ in their place alone are judged once, all others each by itself."""

from collections.abc import Iterator

import pikepdf
import pytest

import gradient_kit
from artwork_kit import parsed
from gradient_kit import Stripe, axial
from inkaccord.artwork.proof.shading_pairs import ShadingPair, once_each

KELP, CORAL, PAPER = (0.85, 0.2, 0.6, 0.3), (0.0, 0.7, 0.6, 0.1), (0.0,) * 4


@pytest.fixture
def pdf() -> Iterator[pikepdf.Pdf]:
    with pikepdf.new() as made:
        yield made


def line(pdf, colour, coords="[20 0 80 0]", space="/DeviceCMYK"):
    function = pdf.make_indirect(gradient_kit.stitched(pdf, [Stripe(0, 1, colour, PAPER)]))
    made = axial(pdf, function, space)
    made["/Coords"] = parsed(coords)
    return made


def looked(pairs):
    seen = []

    def look(pair):
        seen.append(pair.path)
        return pair.path

    return seen, list(once_each(pairs, look))


def test_the_same_line_elsewhere_is_judged_once(pdf):
    pairs = [
        ShadingPair(line(pdf, KELP, coords), line(pdf, CORAL, coords), name)
        for name, coords in (("a", "[20 0 80 0]"), ("b", "[0 5 80 9]"), ("c", "[1 2 3 4]"))
    ]
    seen, found = looked(pairs)
    assert seen == ["a"]
    assert found == [(pair, "a") for pair in pairs]


def test_another_colour_space_or_copy_is_judged_by_itself(pdf):
    right = line(pdf, KELP), line(pdf, CORAL)
    pairs = [
        ShadingPair(*right, "right"),
        ShadingPair(right[0], line(pdf, (0.0, 0.7, 0.6, 0.11)), "a wrong copy"),
        ShadingPair(line(pdf, PAPER), right[1], "another old one"),
        ShadingPair(right[0], line(pdf, CORAL, space="/DeviceRGB"), "another space"),
    ]
    seen, found = looked(pairs)
    assert seen == [pair.path for pair in pairs]
    assert [it for _, it in found] == seen


def test_what_is_no_line_or_makes_no_sense_is_always_judged(pdf):
    field = parsed("<< /ShadingType 1 /ColorSpace /DeviceCMYK >>")
    odd = parsed("<< /ShadingType 2 >>")
    odd["/Function"] = odd_function = pdf.make_indirect(pikepdf.Dictionary())
    odd_function["/Functions"] = odd_function  # holds itself
    pairs = [ShadingPair(one, one, name) for one in (field, odd) for name in ("first", "again")]
    seen, _ = looked(pairs)
    assert seen == ["first", "again"] * 2
