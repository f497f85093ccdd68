"""What the record says of a laid sheet: its size, where each piece lies, and its cuts."""

from collections.abc import Sequence

from inkaccord.layout.cutplan import cut_plan, turns_in
from inkaccord.layout.folds import fold_lines
from inkaccord.layout.model import Axis, Item, Placement, SheetLayout
from inkaccord.order.job import Printing
from inkaccord.run.bench import Bench
from inkaccord.run.imposed import CutLine, LaidTrim, SheetRun
from inkaccord.units import mm


def recorded_sheet(
    bench: Bench,
    number: int,
    printing: Printing,
    layout: SheetLayout,
    items: Sequence[Item],
    path: str,
) -> SheetRun:
    """Return what the record says of one laid sheet: where each piece lies, and how it is cut.

    ``items`` are the pieces that lie on it, and ``path`` is the file that prints it.
    """
    size = layout.sheet.size
    counts = {item.name: layout.copies_of(item.name) for item in items}
    area = sum(placed.width_pt * placed.height_pt for placed in layout.placements)
    width, height = size.in_mm
    cuts = bench.recall(cut_plan, layout, printing.vendor.cutter.least)
    return SheetRun(
        number=number,
        vendor=printing.vendor_name,
        device=printing.pair.device,
        stock=printing.pair.stock,
        pieces={name: count for name, count in counts.items() if count},
        run=layout.run,
        width_mm=round(width, 2),
        height_mm=round(height, 2),
        printable_mm=_in_mm(*layout.sheet.printable),
        used=round(min(1.0, area / (size.width_pt * size.height_pt)), 4),
        path=path,
        cut_plan=tuple(map(str, cuts)),
        turns=turns_in(cuts),
        trims=tuple(_trim(placed, items) for placed in layout.placements),
        cuts=tuple(
            CutLine(number=cut.number, ends_mm=_in_mm(*ends)) for cut in cuts for ends in cut.ends
        ),
    )


def _trim(placed: Placement, items: Sequence[Item]) -> LaidTrim:
    (item,) = (item for item in items if item.name == placed.item)
    box = placed.trim
    return LaidTrim(
        piece=placed.item,
        box_mm=_in_mm(*box),
        bleed_mm=_in_mm(*placed.bleed),
        folds_mm=tuple(
            _in_mm(at, box.bottom, at, box.top)
            if runs is Axis.UPRIGHT
            else _in_mm(box.left, at, box.right, at)
            for _, at, runs in fold_lines(item, placed)
        ),
    )


def _in_mm(a: float, b: float, c: float, d: float) -> tuple[float, float, float, float]:
    return round(mm(a), 2), round(mm(b), 2), round(mm(c), 2), round(mm(d), 2)
