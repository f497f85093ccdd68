import pytest
from pydantic import ValidationError

from inkaccord.layout.folds import fold_lines
from inkaccord.layout.model import Axis, Fold, Item, Placement
from inkaccord.sizes import Size

FLAT = Size(width_pt=300, height_pt=200)


def turned(rotation: int) -> Placement:
    """Return where the piece lies, 10 pt from the left of the sheet and 20 pt from its bottom."""
    wide = rotation in {90, 270}
    return Placement.model_validate(
        {
            "item": "a",
            "x_pt": 10,
            "y_pt": 20,
            "width_pt": 200 if wide else 300,
            "height_pt": 300 if wide else 200,
            "rotation": rotation,
        }
    )


@pytest.mark.parametrize(
    ("rotation", "at", "runs"),
    [
        (0, 10 + 100, Axis.UPRIGHT),
        (90, 20 + 100, Axis.LEVEL),
        (180, 10 + 200, Axis.UPRIGHT),
        (270, 20 + 200, Axis.LEVEL),
    ],
)
def test_fold_follows_its_piece(rotation: int, at: float, runs: Axis) -> None:
    """A fold a third from the left edge, wherever that edge lies."""
    item = Item(name="a", trim=FLAT, quantity=1, folds=(Fold(runs=Axis.UPRIGHT, at_pt=100),))
    assert [(x, way) for _, x, way in fold_lines(item, turned(rotation))] == [(at, runs)]


@pytest.mark.parametrize(("rotation", "at"), [(0, 20 + 50), (90, 10 + 150), (180, 170), (270, 60)])
def test_level_fold_follows_its_piece(rotation: int, at: float) -> None:
    item = Item(name="a", trim=FLAT, quantity=1, folds=(Fold(runs=Axis.LEVEL, at_pt=50),))
    assert [x for _, x, _ in fold_lines(item, turned(rotation))] == [at]


def test_a_fold_outside_the_piece_is_refused() -> None:
    with pytest.raises(ValidationError, match="outside the piece"):
        Item(name="a", trim=FLAT, quantity=1, folds=(Fold(runs=Axis.UPRIGHT, at_pt=300),))
