"""Gradients of many parts: how much is looked at, and that it is found as in few."""

import pytest

from inkaccord.artwork.proof.function_parts import FunctionPart
from inkaccord.artwork.proof.gradient_stops import EACH, FEWEST, MANY, chains
from inkaccord.artwork.proof.shading_values import Numbers


class Counted:
    """A gradient from 0 to 1, as straight parts that count how often they are asked."""

    def __init__(self, parts: int) -> None:
        self.asked = 0
        self.parts = [
            FunctionPart(at / parts, (at + 1) / parts, self._at, "set") for at in range(parts)
        ]

    def _at(self, place: float) -> Numbers:
        self.asked += 1
        return (place,)


@pytest.mark.parametrize("parts", [1, 16, MANY])
def test_few_parts_are_looked_at_closely(parts: int) -> None:
    (chain,) = chains(Counted(parts).parts)
    assert len(chain.places) == parts * (EACH - 1) + 1


def test_many_parts_are_looked_at_no_more_often_than_they_are_many() -> None:
    gradient = Counted(1024)
    (chain,) = chains(gradient.parts)
    assert len(chain.places) == 1024 * (FEWEST - 1) + 1
    assert [chain.at(place) for place in chain.places] == [(place,) for place in chain.places]
    assert gradient.asked < 4 * 1024 + len(chain.places)


def test_each_place_is_asked_of_the_part_that_it_lies_in() -> None:
    parts = [
        FunctionPart(at / 8, (at + 1) / 8, lambda place, at=at: (at + place,), "set")
        for at in range(8)
    ]
    found = [(chain.places[0], chain.at(chain.places[0]), chain.at(9)) for chain in chains(parts)]
    assert found == [(at / 8, (at + at / 8,), (at + (at + 1) / 8,)) for at in range(8)]
