"""Where the folds of the usual ways to fold lie."""

import itertools

import pytest

from inkaccord.order.panels import FoldStyle, fold_places


@pytest.mark.parametrize(
    ("style", "widths"),
    [
        (FoldStyle.HALF, [396, 396]),
        (FoldStyle.LETTER, [265.5, 265.5, 261]),
        (FoldStyle.ACCORDION, [264, 264, 264]),
        (FoldStyle.GATE, [195.75, 400.5, 195.75]),
    ],
)
def test_panels_of_a_letter_sheet(style: FoldStyle, widths: list[float]) -> None:
    """A folded-in panel is 1/16 in narrower (common practice, no source)."""
    lines = [0.0, *fold_places(style, 792.0), 792.0]
    assert [b - a for a, b in itertools.pairwise(lines)] == pytest.approx(widths)


def test_folds_that_leave_a_panel_no_width_are_refused() -> None:
    with pytest.raises(ValueError, match="a gate fold leaves a panel no width"):
        fold_places(FoldStyle.GATE, 16, tuck_pt=20)
    with pytest.raises(ValueError, match="no width"):
        fold_places(FoldStyle.ACCORDION, 300, count=1)
