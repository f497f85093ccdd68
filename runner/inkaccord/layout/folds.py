"""Panels of folded pieces, and whether the grain runs along their folds.

Paper folds cleanly along its grain and cracks across it: common practice, no source.
"""

import itertools
from collections.abc import Sequence
from enum import StrEnum

from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.errors import OrderError
from inkaccord.layout.model import Axis, Fold, FoldKind, Imposition, Item, Placement
from inkaccord.sizes import Box, Size
from inkaccord.units import PT_PER_IN


class FoldStyle(StrEnum):
    """How a piece is folded."""

    HALF = "half"
    LETTER = "letter"
    """Three panels, one folded in between the others."""
    ACCORDION = "accordion"
    GATE = "gate"
    """Two half panels that meet in the middle."""


TUCK_PT = PT_PER_IN / 16
"""How much narrower the panel is that is folded in. Common practice; heavier stock takes more."""


def panels(
    style: FoldStyle,
    flat: Size,
    *,
    runs: Axis = Axis.UPRIGHT,
    count: int = 3,
    tuck_pt: float = TUCK_PT,
    kind: FoldKind = FoldKind.FOLD,
) -> tuple[Fold, ...]:
    """Return the folds of a piece.

    Parameters
    ----------
    style
        Half: two panels. Letter: three, the last folded in and narrower. Accordion: ``count``
        equal panels. Gate: two flaps that meet in the middle.
    flat
        Trim size before folding.
    runs
        The direction of the fold lines.
    tuck_pt
        How much narrower a folded-in panel is; for a gate, the gap where its flaps meet.

    Raises
    ------
    OrderError
        If the panels come out no wider than nothing.
    """
    span = flat.width_pt if runs is Axis.UPRIGHT else flat.height_pt
    if style is FoldStyle.HALF:
        lines: Sequence[float] = [span / 2]
    elif style is FoldStyle.LETTER:
        outer = (span + tuck_pt) / 3
        lines = [outer, 2 * outer]
    elif style is FoldStyle.ACCORDION:
        lines = [span * k / count for k in range(1, count)]
    else:
        lines = [span / 4 - tuck_pt / 2, span * 3 / 4 + tuck_pt / 2]
    widths = [b - a for a, b in zip([0.0, *lines], [*lines, span], strict=True)]
    if not lines or min(widths) <= 0:
        raise OrderError.of(
            "panels-too-narrow",
            f"a {style} fold of {flat} leaves a panel no width",
            hint="fold less often, or tuck less",
        )
    return tuple(Fold(runs=runs, at_pt=at, kind=kind) for at in lines)


def panel_boxes(item: Item) -> tuple[Box, ...]:
    """Return the panels of a flat piece, from its lower left corner, row by row."""
    upright = sorted(fold.at_pt for fold in item.folds if fold.runs is Axis.UPRIGHT)
    level = sorted(fold.at_pt for fold in item.folds if fold.runs is Axis.LEVEL)
    across = [0.0, *upright, item.trim.width_pt]
    up = [0.0, *level, item.trim.height_pt]
    return tuple(
        Box(left, bottom, right, top)
        for bottom, top in itertools.pairwise(up)
        for left, right in itertools.pairwise(across)
    )


def fold_lines(item: Item, placed: Placement) -> tuple[tuple[Fold, float, Axis], ...]:
    """Return each fold with its place on the sheet (x or y) and the way it runs there."""
    found = []
    for fold in item.folds:
        upright = fold.runs is Axis.UPRIGHT
        span = item.trim.width_pt if upright else item.trim.height_pt
        # Turned by 90° against the clock, what was left becomes the bottom, what was the
        # bottom becomes the right.
        far = placed.rotation in ({180, 270} if upright else {90, 180})
        along = span - fold.at_pt if far else fold.at_pt
        runs = fold.runs.across if placed.turned else fold.runs
        start = placed.x_pt if runs is Axis.UPRIGHT else placed.y_pt
        found.append((fold, start + along, runs))
    return tuple(found)


def check_grain(imposition: Imposition) -> tuple[Diagnostic, ...]:
    """Return findings for pieces whose folds run across the grain, or may do so."""
    findings: dict[tuple[str, str], Diagnostic] = {}
    for layout in imposition.layouts:
        grain = layout.sheet.grain
        for item in imposition.items:
            mine = [p for p in layout.placements if p.item == item.name and p.side == 1]
            directions = {fold.runs for fold in item.folds}
            if not (mine and directions):
                continue
            place = Place(field=f"pieces.{item.name}")
            if grain is None:
                findings["grain-unknown", item.name] = note(
                    "grain-unknown",
                    f"{item.name} is folded, and nobody said which way the grain of "
                    f"{layout.sheet.name} runs",
                    place=place,
                    hint="set 'grain: long' or 'grain: short' on the stock",
                )
            elif len(directions) > 1:
                findings["fold-across-grain", item.name] = note(
                    "fold-across-grain",
                    f"{item.name} has folds both ways, so one of them crosses the grain",
                    place=place,
                    hint="have the fold scored that crosses the grain: 'score: true' in the "
                    "piece's 'fold'",
                )
            elif any(runs is not grain for p in mine for _, _, runs in fold_lines(item, p)):
                findings["fold-across-grain", item.name] = warning(
                    "fold-across-grain",
                    f"{item.name} is folded across the grain of {layout.sheet.name}, "
                    "where paper tends to crack",
                    place=place,
                    hint="take a stock whose grain runs along the fold, or have it scored: "
                    "'score: true' in the piece's 'fold'",
                )
    return tuple(findings.values())
