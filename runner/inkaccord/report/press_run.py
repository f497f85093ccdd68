"""What a press room reads of a run: which page, how many, how turned, in which inks."""

from collections.abc import Iterator, Sequence

from inkaccord.layout.model import Axis, Duplex, Edge
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.run.imposed import PrintedSide, PrintRun
from inkaccord.run.record import Run
from inkaccord.sizes import Size
from inkaccord.units import millimetres
from inkaccord.words import counted, joined

Fact = tuple[str, str]
"""What is told, in a word, and the telling."""

_TURNED = {
    Duplex.ONE_SIDED: "one side",
    Duplex.SHEETWISE: "both sides, sheetwise: two formes, the gripper edge stays",
    Duplex.WORK_AND_TURN: "both sides, work and turn: one forme, the gripper edge stays",
    Duplex.WORK_AND_TUMBLE: "both sides, work and tumble: one forme, the {other} edge grips next",
    Duplex.LONG_EDGE: "both sides, turned on the long edge",
    Duplex.SHORT_EDGE: "both sides, turned on the short edge",
}
_KEEP_SIDE_LAY = {Duplex.ONE_SIDED, Duplex.WORK_AND_TUMBLE}
"""Where the side lay stays on its side: the sheet is not turned about the axis along it."""


def runs_of(run: Run, vendor: str) -> list[PrintRun]:
    """Return what a vendor prints, in order."""
    return [one for one in run.runs if one.vendor == vendor]


def run_facts(order: Order, printed: PrintRun) -> Iterator[Fact]:
    """Yield what a press room has to know of a run, save what is on it and on what stock."""
    yield "Page" if printed.pages == 1 else "Pages", _pages(printed)
    size = _size(printed.width_mm, printed.height_mm)
    yield "Page size", size
    yield "Bleed", wording.length(printed.bleed_mm, inches=size.endswith(")"))
    yield "Printed", _turned(printed)
    if printed.imposed:
        yield from _lays(printed)
    yield from _inks(order, printed)


def _pages(printed: PrintRun) -> str:
    file = _name(printed.sides[0].path)
    first = printed.sides[0].page
    if printed.each_once:
        last = first + printed.pages - 1
        alternating = ", fronts and backs in turn" if len(printed.sides) == 2 else ""
        return f"{file}, pages {first} to {last}{alternating}, each once"
    if len({side.path for side in printed.sides}) > 1:
        return "; ".join(f"{_name(side.path)} ({side.side})" for side in printed.sides)
    pages = [f"page {side.page} ({side.side})" for side in printed.sides]
    return f"{file}, {joined(pages)}"


def _name(path: str) -> str:
    return path.rpartition("/")[2]


def _size(width_mm: float, height_mm: float) -> str:
    size = Size(width_pt=millimetres(width_mm), height_pt=millimetres(height_mm))
    metric = f"{width_mm:g} × {height_mm:g} mm"
    return metric if size.is_metric else f"{size} ({metric})"


def _turned(printed: PrintRun) -> str:
    if printed.turning is None:
        return wording.sides(len(printed.sides))
    edge = printed.gripper or Edge.BOTTOM
    return _TURNED[printed.turning].format(other=edge.opposite)


def _lays(printed: PrintRun) -> Iterator[Fact]:
    if printed.gripper is not None:
        depth = f", {printed.gripper_mm:g} mm" if printed.gripper_mm else ""
        yield "Gripper", f"{printed.gripper} edge{depth}, as the front is seen"
    if printed.side_lay is not None:
        edge = printed.side_lay
        if printed.turning in _KEEP_SIDE_LAY:
            yield "Side lay", f"{edge} edge"
        else:
            back = f"for the back the same edge, then at the {edge.opposite}"
            yield "Side lay", f"{edge} edge of the front; {back}"
    if printed.grain is not None:
        upright = printed.grain is Axis.UPRIGHT
        along = printed.height_mm if upright else printed.width_mm
        long = along == max(printed.width_mm, printed.height_mm)
        yield "Grain", f"{'long' if long else 'short'}, along the side of {along:g} mm"


def _inks(order: Order, printed: PrintRun) -> Iterator[Fact]:
    yield from _by_side("Inks", printed, [_side_inks(order, side) for side in printed.sides])
    finishes = [_side_finishes(order, side, printed.stock) for side in printed.sides]
    if any(finishes):
        yield from _by_side("Finishes", printed, [it or "none" for it in finishes])


def _by_side(word: str, printed: PrintRun, said: Sequence[str]) -> Iterator[Fact]:
    if len(set(said)) == 1:
        both = len(said) == 2 or printed.sides[0].side == "front and back"
        yield word, f"{said[0]}, on both sides alike" if both else said[0]
        return
    for side, words in zip(printed.sides, said, strict=True):
        yield f"{word}, {side.side}", words


def _side_finishes(order: Order, side: PrintedSide, stock: str) -> str:
    return "; ".join(finishes_in_words(order, side, stock))


def finishes_in_words(order: Order, side: PrintedSide, stock: str) -> list[str]:
    """Return what each of a side's plates is that is no colour."""
    return [plate_in_words(order, it, stock) for it in side.separations if it in order.plates]


def plate_in_words(order: Order, plate: str, stock: str) -> str:
    """Return what a finish's plate is, and how it lies on a stock."""
    finish = order.finishes[order.plates[plate]]
    words = f"plate \u2018{plate}\u2019: {finish.finish.words}"
    if plate == order.white_under(stock):
        words += ", under all ink"
    words += "" if finish.finish.prints else ", not to be printed"
    return f"{words} ({finish.note})" if finish.note else words


def _side_inks(order: Order, side: PrintedSide) -> str:
    if side.converted and not side.inks:
        return "the file is in RGB; the device's driver mixes the inks"
    parts = []
    if side.inks:
        inks = joined([ink.lower() for ink in side.inks])
        parts.append(f"{counted(len(side.inks), 'process ink')} ({inks})")
    if spots := [it for it in side.separations if it not in order.plates]:
        names = joined([f"\u2018{name}\u2019" for name in spots])
        own = "its" if len(spots) == 1 else "their"
        parts.append(f"{counted(len(spots), 'separation')} of {own} own: {names}")
    if not parts:
        parts.append("no ink of a piece")
    if side.mark_inks:
        parts.append(f"marks add {joined([ink.lower() for ink in side.mark_inks])}")
    if side.converted:
        parts.append("colours in RGB or with a profile on it go through your conversion")
    return "; ".join(parts)
