"""The cuts of a layout in the order in which they are made, with the measure to set.

Every cut goes from edge to edge of the paper on the table and along an edge of a trim, so no
cut is made through a piece. The edge that lies at the back gauge is one that is already cut
true wherever there is one.
"""

from collections.abc import Iterator

from inkaccord.layout.model import Axis, Block, Edge, SheetLayout
from inkaccord.models import Frozen
from inkaccord.sizes import Box
from inkaccord.units import inch, mm

BLADES = (
    "Blades cut before they are felt. Follow the maker's instructions and your shop's rules: "
    "guards on, both hands on the controls, clamp down before the cut, never reach under the "
    "blade, lock the blade and switch off before changing it. Guillotines are for trained people."
)
"""The caution that goes with every cut plan."""

_SAME_PT = 0.01


class Cut(Frozen):
    """One cut, or the same cut made on several equal pieces of paper."""

    number: int
    runs: Axis
    """Which way the cut runs, seen on the sheet's front."""
    paper: Box
    """The paper on the table, where it lay on the sheet; the first of the equal ones."""
    at_pt: float
    """Where the cut lies on the sheet: x of an upright cut, y of a level one."""
    gauge: Edge
    """The edge of the paper that lies at the back gauge."""
    measure_pt: float
    """From the back gauge to the blade."""
    times: int = 1
    """Equal papers that are cut at this setting, piled or one after another."""
    leaves: str = ""
    """What this cut frees: the pieces that are finished by it."""

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """Both ends of the cut on the sheet, x and y, across the paper on the table."""
        if self.runs is Axis.UPRIGHT:
            return self.at_pt, self.paper.bottom, self.at_pt, self.paper.top
        return self.paper.left, self.at_pt, self.paper.right, self.at_pt

    def __str__(self) -> str:
        more = f", {self.times} equal papers" if self.times > 1 else ""
        done = f", frees {self.leaves}" if self.leaves else ""
        return (
            f"{self.number}. {self.gauge} edge to the back gauge, "
            f"set {mm(self.measure_pt):.2f} mm ({inch(self.measure_pt):.4f} in){more}{done}"
        )


def cut_plan(layout: SheetLayout) -> tuple[Cut, ...]:
    """Return the cuts of a layout in the order in which they are made."""
    size = layout.sheet.size
    sheet = Box(0.0, 0.0, size.width_pt, size.height_pt)
    found = _cuts(layout, layout.tree, sheet, 1)
    return tuple(cut.model_copy(update={"number": i}) for i, cut in enumerate(found, 1))


def _cuts(layout: SheetLayout, block: Block, paper: Box, times: int) -> Iterator[Cut]:
    """Yield the cuts that take a block out of the paper around it."""
    trims = [
        (Edge.LEFT, Axis.UPRIGHT, block.box.left, paper.left),
        (Edge.RIGHT, Axis.UPRIGHT, block.box.right, paper.right),
        (Edge.BOTTOM, Axis.LEVEL, block.box.bottom, paper.bottom),
        (Edge.TOP, Axis.LEVEL, block.box.top, paper.top),
    ]
    last = [edge for edge, _, at, end in trims if abs(at - end) > _SAME_PT]
    for edge, runs, at, end in trims:
        if abs(at - end) <= _SAME_PT:
            continue
        freed = [block] if edge is last[-1] else []
        yield _cut(runs, paper, at, edge.opposite, times, _names(layout, freed))
        paper = paper._replace(**{edge.value: at})
    if block.cut is not None:
        yield from _apart(layout, block, paper, times)


def _apart(layout: SheetLayout, block: Block, paper: Box, times: int) -> Iterator[Cut]:
    """Yield the cuts between the parts of a block, then those inside them."""
    runs = block.cut
    assert runs is not None  # noqa: S101 - only called for blocks that are cut
    near, far = (Edge.LEFT, Edge.RIGHT) if runs is Axis.UPRIGHT else (Edge.BOTTOM, Edge.TOP)
    strips: list[tuple[Block, Box]] = []
    for this, following in zip(block.parts, (*block.parts[1:], None), strict=True):
        strip = paper
        if following is not None:
            at, start = getattr(this.box, far.value), getattr(following.box, near.value)
            wide = start - at > _SAME_PT
            freed = [this] if _fills(this, paper, runs) else []
            ends = (
                [following]
                if following is block.parts[-1] and _fills(following, paper, runs)
                else []
            )
            # The near edge is cut true by now, so it lies at the gauge.
            yield _cut(
                runs, paper, at, near, times, _names(layout, freed if wide else freed + ends)
            )
            strip = paper._replace(**{far.value: at})
            paper = paper._replace(**{near.value: at})
            if wide:
                yield _cut(runs, paper, start, far, times, _names(layout, ends))
                paper = paper._replace(**{near.value: start})
        strips.append((this, strip))
    waiting = list(strips)
    while waiting:
        this, strip = waiting[0]
        equal = [pair for pair in waiting if _shape(layout, pair[0]) == _shape(layout, this)]
        waiting = [pair for pair in waiting if all(pair is not other for other in equal)]
        yield from _cuts(layout, this, strip, times * len(equal))


def _cut(runs: Axis, paper: Box, at: float, gauge: Edge, times: int, leaves: str) -> Cut:
    return Cut(
        number=1,
        runs=runs,
        paper=paper,
        at_pt=at,
        gauge=gauge,
        measure_pt=abs(at - float(getattr(paper, gauge.value))),
        times=times,
        leaves=leaves,
    )


def _name(layout: SheetLayout, block: Block) -> str:
    return "" if block.placement is None else layout.placements[block.placement].item


def _names(layout: SheetLayout, blocks: list[Block]) -> str:
    return " and ".join(filter(None, (_name(layout, block) for block in blocks)))


def _fills(block: Block, paper: Box, runs: Axis) -> bool:
    """Tell whether a block fills the paper in the other direction: then no cut is left to make."""
    if runs is Axis.UPRIGHT:
        ends = (block.box.bottom - paper.bottom, block.box.top - paper.top)
    else:
        ends = (block.box.left - paper.left, block.box.right - paper.right)
    return all(abs(end) <= _SAME_PT for end in ends)


def _shape(layout: SheetLayout, block: Block) -> tuple[object, ...]:
    """Return what two blocks share when they are cut at the same settings."""
    x, y = block.box.left, block.box.bottom
    return (
        round(block.box.width, 2),
        round(block.box.height, 2),
        _name(layout, block),
        block.cut,
        tuple(
            (round(p.box.left - x, 2), round(p.box.bottom - y, 2), _shape(layout, p))
            for p in block.parts
        ),
    )
