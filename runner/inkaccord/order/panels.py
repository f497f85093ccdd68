"""The usual ways to fold a piece into panels, and where their folds lie."""

from enum import StrEnum

from inkaccord.units import inches

TUCK_PT = inches(1 / 16)
"""How much narrower a panel is that is folded in. Common practice, no source; heavier stock takes
more."""


class FoldStyle(StrEnum):
    """A way to fold into panels."""

    HALF = "half"
    LETTER = "letter"
    """Three panels, the last one folded in between the others, and narrower."""
    ACCORDION = "accordion"
    """Equal panels, to and fro."""
    GATE = "gate"
    """Two flaps that meet in the middle, with a gap between them."""


def fold_places(
    style: FoldStyle, span_pt: float, *, count: int = 3, tuck_pt: float = TUCK_PT
) -> tuple[float, ...]:
    """Return where the folds of a piece lie, from its left or lower edge.

    Parameters
    ----------
    span_pt
        Across the folds, before folding.
    count
        The panels of an accordion.
    tuck_pt
        How much narrower a panel is that is folded in; for a gate, the gap where its flaps meet.

    Raises
    ------
    ValueError
        If a panel comes out no wider than nothing.
    """
    match style:
        case FoldStyle.HALF:
            lines = [span_pt / 2]
        case FoldStyle.LETTER:
            outer = (span_pt + tuck_pt) / 3
            lines = [outer, 2 * outer]
        case FoldStyle.ACCORDION:
            lines = [span_pt * panel / count for panel in range(1, count)]
        case FoldStyle.GATE:
            lines = [span_pt / 4 - tuck_pt / 2, span_pt * 3 / 4 + tuck_pt / 2]
    widths = [b - a for a, b in zip([0.0, *lines], [*lines, span_pt], strict=True)]
    if not lines or min(widths) <= 0:
        raise ValueError(f"a {style} fold leaves a panel no width")
    return tuple(lines)
