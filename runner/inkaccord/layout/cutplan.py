"""The cuts of a layout in words: which edge to the back gauge, what to set, what comes free.

Every cut goes from edge to edge of the papers on the table and along an edge of a trim, so no cut
is made through a piece. Their order is that of :mod:`inkaccord.layout.countdown`.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

import numpy as np

from inkaccord.diagnostics import Diagnostic, Place, note
from inkaccord.layout.countdown import LEAST_SETTING_PT, SAME_PT, Setting, lay_edge, settings_of
from inkaccord.layout.model import Axis, Edge, SheetLayout
from inkaccord.models import Frozen
from inkaccord.sizes import Box
from inkaccord.units import inch, mm, rounded
from inkaccord.words import counted, joined

LIES = (
    "Front up, head away from you: left, right, top and bottom are those of the picture, however "
    "the pile is turned."
)
"""How the edges are named; stands once, above the cuts."""


class Turn(StrEnum):
    """How the pile is turned before a cut."""

    NONE = ""
    QUARTER = "turn a quarter"
    HALF = "turn round"


class Cut(Frozen):
    """One setting of the back gauge, for one pile or for several."""

    number: int
    runs: Axis
    """Which way the cut runs, seen on the sheet's front."""
    gauge: Edge
    """The edge of the papers that lies at the back gauge."""
    measure_pt: float
    """From the back gauge to the blade."""
    papers: tuple[Box, ...]
    """The papers that are cut at this setting, where each lay on the sheet."""
    places: tuple[float, ...]
    """Where each is cut: x of an upright cut, y of a level one."""
    turn: Turn = Turn.NONE
    lay: str = ""
    """What the press calls the edge, where it was laid there."""
    piles: str = ""
    """Which piles are cut, where it is not those of the cut before."""
    frees: str = ""
    """The pieces that are finished by this cut."""
    least_pt: float = LEAST_SETTING_PT
    """The least setting of the cutter."""

    @property
    def ends(self) -> tuple[tuple[float, float, float, float], ...]:
        """Both ends of each cut on the sheet, x and y, across the paper on the table."""
        if self.runs is Axis.UPRIGHT:
            cuts = zip(self.places, self.papers, strict=True)
            return tuple((at, paper.bottom, at, paper.top) for at, paper in cuts)
        cuts = zip(self.places, self.papers, strict=True)
        return tuple((paper.left, at, paper.right, at) for at, paper in cuts)

    @property
    def too_near(self) -> bool:
        """Whether the cutter's clamp does not come so near to the gauge."""
        return self.measure_pt < self.least_pt - SAME_PT

    def __str__(self) -> str:
        gauge = ""
        if self.number == 1 or self.turn:
            lay = f" ({self.lay})" if self.lay else ""
            gauge = f"{self.gauge} edge{lay} to the back gauge"
        parts = [self.turn, gauge, self.piles, f"set {in_both_units(self.measure_pt)}"]
        if self.too_near:
            parts.append(f"below the least setting of {in_both_units(self.least_pt)}")
        if self.frees:
            parts.append(f"frees {self.frees}")
        return f"{self.number}. {', '.join(filter(None, parts))}"


def in_both_units(length_pt: float) -> str:
    """Return a length as it is set at a cutter, in millimetres and inches, rounded to nearest."""
    return f"{rounded(mm(length_pt), 2)} mm ({rounded(inch(length_pt), 3)} in)"


def cut_plan(layout: SheetLayout, least_pt: float = LEAST_SETTING_PT) -> tuple[Cut, ...]:
    """Return the cuts of a layout in the order in which they are made.

    ``least_pt`` is the least setting of the cutter: the nearest that its clamp comes to the gauge.
    """
    return tuple(_cuts(layout, least_pt))


def turns_in(plan: Iterable[Cut]) -> int:
    """Return how often the pile is turned in a plan."""
    return sum(bool(cut.turn) for cut in plan)


def below_least(layouts: Sequence[SheetLayout], least_pt: float) -> list[Diagnostic]:
    """Return a finding for each piece that can't be cut without a setting below the least."""
    found: dict[str, float] = {}
    for layout in layouts:
        for setting in settings_of(layout, least_pt):
            if setting.measure_pt >= least_pt - SAME_PT:
                continue
            for placed in layout.placements:
                if any(paper.holds(placed.trim) for paper in setting.papers):
                    least = min(found.get(placed.item, setting.measure_pt), setting.measure_pt)
                    found[placed.item] = least
    return [
        note(
            "below-least-setting",
            f"{name} is cut at a setting of {in_both_units(measure)}; the clamp of the cutter is "
            f"taken to stop at {in_both_units(least_pt)}",
            place=Place(field=f"pieces.{name}"),
            hint="ask whoever cuts, and say how near the clamp comes: 'cutter: {least: 20mm}' of "
            "the vendor",
        )
        for name, measure in found.items()
    ]


def _cuts(layout: SheetLayout, least_pt: float) -> Iterator[Cut]:
    last: Setting | None = None
    for number, setting in enumerate(settings_of(layout, least_pt), start=1):
        turn = Turn.NONE
        if last is not None and setting.gauge is not last.gauge:
            turn = Turn.HALF if setting.gauge is last.gauge.opposite else Turn.QUARTER
        yield Cut(
            number=number,
            runs=setting.runs,
            gauge=setting.gauge,
            measure_pt=setting.measure_pt,
            papers=setting.papers,
            places=tuple(map(setting.at, setting.papers)),
            turn=turn,
            lay=_lay_in_words(layout, setting),
            piles=_piles(layout, setting, last, number),
            frees=_freed(layout, setting),
            least_pt=least_pt,
        )
        last = setting


def _lay_in_words(layout: SheetLayout, setting: Setting) -> str:
    sheet = layout.sheet
    if setting.gauge is not lay_edge(sheet, setting.runs):
        return ""
    if sheet.gripper is not None and setting.gauge is sheet.gripper.edge:
        return "gripper edge"
    return "side lay" if setting.gauge is sheet.side_lay else ""


def _piles(layout: SheetLayout, setting: Setting, last: Setting | None, number: int) -> str:
    """Return which piles are cut, where the table does not tell."""
    if last is None or _goes_on(setting, last):
        return ""
    here, more = len(setting.papers), len(setting.waiting)
    if here == more > 1:
        return counted(here, "pile")
    held = Counter(_holding(layout, paper) for paper in setting.papers)
    said = joined([f"{counted(times, 'pile')} of {what}" for what, times in held.items()])
    others = (it for it in setting.waiting if not any(it.holds(paper) for paper in setting.papers))
    alike = any(_holding(layout, other) in held for other in others)
    return f"{said}, where {number} stands in the picture" if alike else said


def _goes_on(setting: Setting, last: Setting) -> bool:
    """Tell whether the papers are those that the last cut left at the gauge."""
    return setting.papers == tuple(last.parts(paper)[1] for paper in last.papers)


def _holding(layout: SheetLayout, paper: Box) -> str:
    """Return what is on a paper and how large the paper is, in words."""
    names = Counter(it.item for it in layout.placements if paper.holds(it.trim))
    held = joined([name if number == 1 else f"{number} × {name}" for name, number in names.items()])
    return f"{held} ({rounded(mm(paper.width), 0)} × {rounded(mm(paper.height), 0)} mm)"


def _freed(layout: SheetLayout, setting: Setting) -> str:
    parts = np.array([part for paper in setting.papers for part in setting.parts(paper)])
    trims = np.array([placed.trim for placed in layout.placements])
    same = (np.abs(trims[:, None] - parts) <= 2 * SAME_PT).all(axis=2).any(axis=1)
    names = Counter(layout.placements[at].item for at in np.flatnonzero(same).tolist())
    return joined(
        [name if number == 1 else f"{number} piles of {name}" for name, number in names.items()]
    )
