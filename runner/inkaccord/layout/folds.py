"""Where folds lie on the sheet, and whether the grain runs along them.

Paper folds cleanly along its grain and cracks across it: common practice, no source.
"""

from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.layout.model import Axis, Fold, Imposition, Item, Placement


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
    """Return findings for pieces whose grain runs the wrong way, or may do so."""
    findings: dict[tuple[str, str], Diagnostic] = {}
    for layout in imposition.layouts:
        grain = layout.sheet.grain
        for item in imposition.items:
            mine = [p for p in layout.placements if p.item == item.name and p.side == 1]
            directions = {fold.runs for fold in item.folds}
            if not (mine and (directions or item.grain)):
                continue
            place = Place(field=f"pieces.{item.name}")
            if grain is None:
                findings["grain-unknown", item.name] = note(
                    "grain-unknown",
                    f"{item.name} {'is folded' if directions else 'is to have its grain one way'}, "
                    f"and nobody said which way the grain of {layout.sheet.name} runs",
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
