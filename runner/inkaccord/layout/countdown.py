"""The settings of a guillotine that take a layout apart, as a person makes them.

One edge of the pile stays at the back gauge while the settings count down, and piece after piece
comes off in front of the blade; then what is left is turned round, once, for what lies too near to
that edge. All papers are cut one way before any is turned the other way. The first edge at the
gauge is the one that the press laid: the side lay or the gripper edge. Common practice, no source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.layout.model import Axis, Block, Edge, SheetLayout, SheetStock
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM

LEAST_SETTING_PT = 35 * PT_PER_MM
"""How near to the back gauge the clamp of a cutter comes, where nobody says: on common ones 20 to
35 mm (common practice, no source), so this holds for all of them."""
SAME_PT = 0.01
"""Places that are nearer than this are one."""
_ENDS = {Axis.UPRIGHT: (Edge.LEFT, Edge.RIGHT), Axis.LEVEL: (Edge.BOTTOM, Edge.TOP)}
"""The edges from which cuts in a direction can be measured."""


@dataclass(frozen=True)
class Setting:
    """One place of the back gauge, and the papers that are cut there: piled, or one by one."""

    gauge: Edge
    """The edge of the papers that lies at the back gauge."""
    measure_pt: float
    """From the back gauge to the blade."""
    papers: tuple[Box, ...]
    """Where each lay on the sheet."""
    waiting: tuple[Box, ...]
    """All papers that were on the table when this edge was laid at the gauge."""

    @property
    def runs(self) -> Axis:
        """Which way the cut runs, seen on the sheet's front."""
        return _runs(self.gauge)

    def at(self, paper: Box) -> float:
        """Return where a paper is cut: x of an upright cut, y of a level one."""
        edge = float(getattr(paper, self.gauge.value))
        inward = 1 if self.gauge in {Edge.LEFT, Edge.BOTTOM} else -1
        return edge + inward * self.measure_pt

    def parts(self, paper: Box) -> tuple[Box, Box]:
        """Return what comes off a paper in front of the blade, and what stays behind it."""
        at = self.at(paper)
        off = paper._replace(**{self.gauge.value: at})
        return off, paper._replace(**{self.gauge.opposite.value: at})


def lay_edge(sheet: SheetStock, runs: Axis) -> Edge:
    """Return the edge from which cuts in one direction are counted: the press's own, if known."""
    edges = _ENDS[runs]
    lays = (sheet.side_lay, None if sheet.gripper is None else sheet.gripper.edge)
    return next((edge for edge in lays if edge in edges), edges[0])


def settings_of(layout: SheetLayout, least_pt: float) -> Iterator[Setting]:
    """Yield the settings in their order; below ``least_pt`` only what can't be cut otherwise."""
    size = layout.sheet.size
    papers = [_Paper(Box(0.0, 0.0, size.width_pt, size.height_pt), layout.tree)]
    runs = layout.tree.cut or Axis.UPRIGHT
    while papers:
        lay = lay_edge(layout.sheet, runs)
        near = [_Task(paper.box, paper.cuts(lay)) for paper in papers]
        yield from _count_down(lay, [task.until(least_pt) for task in near])
        rest = [task.rest(lay, least_pt) for task in near]
        yield from _count_down(lay.opposite, rest)
        papers = [part for paper in papers for part in paper.apart(runs) if part.has_cuts]
        runs = runs.across


@dataclass(frozen=True)
class _Paper:
    """A paper on the table, and the block that is to be cut out of it."""

    box: Box
    block: Block

    @property
    def has_cuts(self) -> bool:
        return bool(self.cuts(Edge.LEFT) or self.cuts(Edge.BOTTOM))

    def cuts(self, gauge: Edge) -> list[float]:
        """Return the measures from an edge at which this paper is cut, the largest first."""
        ends = _ENDS[_runs(gauge)]
        inner = self.block.parts if self.block.cut is _runs(gauge) else (self.block,)
        places = sorted(getattr(part.box, end.value) for part in inner for end in ends)
        start, end = (getattr(self.box, end.value) for end in ends)
        found: list[float] = []
        for place in places:
            if min(place - start, end - place) > SAME_PT and (
                not found or place - found[-1] > SAME_PT
            ):
                found.append(place)
        if gauge is ends[0]:
            return [place - start for place in reversed(found)]
        return [end - place for place in found]

    def apart(self, runs: Axis) -> Iterator["_Paper"]:
        """Yield the papers that its cuts in one direction leave."""
        for part in self.block.parts if self.block.cut is runs else (self.block,):
            ends = {end.value: getattr(part.box, end.value) for end in _ENDS[runs]}
            yield _Paper(self.box._replace(**ends), part)


@dataclass(frozen=True)
class _Task:
    """A paper, and the measures at which it is cut from one edge, the largest first."""

    box: Box
    measures: Sequence[float]

    def until(self, least_pt: float) -> "_Task":
        """Return what can be cut from the lay edge."""
        return _Task(self.box, [it for it in self.measures if it >= least_pt - SAME_PT])

    def rest(self, lay: Edge, least_pt: float) -> "_Task":
        """Return what lies too near to the lay edge for that, counted from the other edge."""
        done = self.until(least_pt).measures
        start, end = (getattr(self.box, end.value) for end in _ENDS[_runs(lay)])
        length = done[-1] if done else end - start
        left = Setting(lay, length, (), ()).parts(self.box)[1]
        near = self.measures[len(done) :]
        return _Task(left, [length - it for it in reversed(near)])


def _count_down(gauge: Edge, tasks: Sequence[_Task]) -> Iterator[Setting]:
    """Yield the settings from one edge; papers that begin with the same one share it."""
    yield from _shared(gauge, tasks, tuple(task.box for task in tasks))


def _shared(gauge: Edge, tasks: Sequence[_Task], waiting: tuple[Box, ...]) -> Iterator[Setting]:
    groups: dict[float, list[_Task]] = {}
    for task in tasks:
        if task.measures:
            groups.setdefault(round(task.measures[0], 2), []).append(task)
    for group in groups.values():
        first = Setting(gauge, group[0].measures[0], tuple(it.box for it in group), waiting)
        yield first
        left = [_Task(first.parts(task.box)[1], task.measures[1:]) for task in group]
        yield from _shared(gauge, left, waiting)


def _runs(gauge: Edge) -> Axis:
    """Return which way the cuts run that are measured from an edge."""
    return Axis.UPRIGHT if gauge in _ENDS[Axis.UPRIGHT] else Axis.LEVEL
