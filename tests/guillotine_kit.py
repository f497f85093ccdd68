"""A guillotine made of numbers: it does what the printed lines of a cut plan say, and nothing else.

It knows the sheet only from the written file: which form lies where on a page. A paper is a
rectangle; what the piles of one line have in common is that they lie at the same edge.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pikepdf

PT_PER_MM = 72 / 25.4
NEAR_PT = 0.05
"""Settings are printed to a hundredth of a millimetre, and a paper bears up to three of them."""

Rectangle = tuple[float, float, float, float]
EDGES = ("left", "bottom", "right", "top")
LINE = re.compile(
    r"(?P<number>\d+)\. (?:(?P<turn>turn a quarter|turn round), )?"
    r"(?:(?P<edge>left|bottom|right|top) edge(?: \((?P<lay>.*?)\))? to the back gauge, )?"
    r"(?:(?P<piles>.+?), )?set (?P<mm>[\d.]+) mm \((?P<inches>[\d.]+) in\)"
    r"(?P<below>, below the least setting of [^)]*\))?(?:, frees (?P<frees>.+))?"
)

PILES = re.compile(r"(\d+) piles?(?: of (.+?) \((\d+) × (\d+) mm\))?(?=, | and |$)")


@dataclass(frozen=True)
class Copy:
    """One copy of a piece as a written page shows it."""

    form: bytes
    """The content of the form that is drawn there."""
    matrix: tuple[float, ...]
    box: Rectangle
    """Its trim on the sheet."""


def copies_on(page: pikepdf.Page) -> list[Copy]:
    """Read a page of a written sheet file: each form of a piece, with its trim on the sheet.

    The space of a form begins at the corner of its trim; its box has the bleed beyond, as much on
    every side.
    """
    found = []
    matrix: tuple[float, ...] = ()
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) == "cm":
            matrix = tuple(float(value) for value in operands)
        elif str(operator) == "Do" and str(operands[0]).startswith("/P"):
            form = page.Resources.XObject[str(operands[0])]
            within = _carried(tuple(map(float, form.Matrix)), tuple(map(float, form.BBox)))
            trim = (0.0, 0.0, within[2] + within[0], within[3] + within[1])
            found.append(Copy(form.read_bytes(), matrix, _carried(matrix, trim)))
    return found


def _carried(matrix: tuple[float, ...], box: Sequence[float]) -> Rectangle:
    a, b, c, d, e, f = matrix
    xs = [a * x + c * y + e for x in (box[0], box[2]) for y in (box[1], box[3])]
    ys = [b * x + d * y + f for x in (box[0], box[2]) for y in (box[1], box[3])]
    return min(xs), min(ys), max(xs), max(ys)


def _is_as_large(paper: Rectangle, size_mm: Sequence[str]) -> bool:
    sides = (paper[2] - paper[0], paper[3] - paper[1])
    return all(
        abs(side / PT_PER_MM - float(it)) < 0.52 for side, it in zip(sides, size_mm, strict=True)
    )


@dataclass
class Guillotine:
    """A table with papers on it. Left, right, top and bottom are those of the sheet's front."""

    width: float
    height: float
    pieces: Sequence[tuple[str, Rectangle]]
    picture: Mapping[int, Sequence[Rectangle]] = field(default_factory=dict)
    """By number: the lines of cuts that the picture shows, from (x, y) to (x, y)."""
    papers: list[Rectangle] = field(init=False)
    at_gauge: list[Rectangle] = field(init=False)
    off: list[Rectangle] = field(default_factory=list)
    """What came off in front of the blade since the pile was turned, and is put aside."""
    edge: str = ""
    turns: int = 0
    smallest_mm: float = 1e9
    """The least setting that was made without a word."""

    def __post_init__(self) -> None:
        self.papers = [(0.0, 0.0, self.width, self.height)]
        self.at_gauge = list(self.papers)

    def cut_all(self, lines: Sequence[str]) -> None:
        """Do what the lines say, one after the other."""
        for at, line in enumerate(lines, start=1):
            read = LINE.fullmatch(line)
            assert read, f"can't be read at the machine: {line}"
            assert int(read["number"]) == at
            self._turn(read)
            asked = read["piles"]
            papers = list(self.at_gauge) if asked is None else self._piles(asked, read)
            if read["turn"]:
                self.off = []
            self._cut(papers, float(read["mm"]) * PT_PER_MM, line)
            assert abs(float(read["mm"]) - float(read["inches"]) * 25.4) < 0.02
            if not read["below"]:
                self.smallest_mm = min(self.smallest_mm, float(read["mm"]))

    @property
    def loose(self) -> list[tuple[str, Rectangle]]:
        """The papers with pieces on them: what is left once waste is swept away."""
        return [(self._holding(paper), paper) for paper in self.papers if self._held(paper)]

    def _turn(self, read: "re.Match[str]") -> None:
        edge = read["edge"] or self.edge
        assert edge, "the first line names an edge"
        if self.edge and edge != self.edge:
            self.turns += 1
            across = abs(EDGES.index(edge) - EDGES.index(self.edge)) == 2
            assert read["turn"] == ("turn round" if across else "turn a quarter")
        else:
            assert read["turn"] is None
        self.edge = edge

    def _piles(self, asked: str, read: "re.Match[str]") -> list[Rectangle]:
        """Return the piles that a line asks for: so many, with so much on each."""
        found: list[Rectangle] = []
        measure = float(read["mm"]) * PT_PER_MM
        ready = [
            paper
            for paper in self.papers
            if self._held(paper) and self._lies_along_a_trim(paper, measure)
        ]
        if read["turn"] == "turn round":
            ready = [paper for paper in ready if paper not in self.off]
        wanted = PILES.findall(asked.partition(", where ")[0])
        assert wanted, asked
        for number, what, *size in wanted:
            like = [
                paper
                for paper in ready
                if not what or (self._holding(paper) == what and _is_as_large(paper, size))
            ]
            if "in the picture" in asked:
                like = [it for it in like if self._shows(it, int(read["number"]))]
            assert len(like) == int(number), f"{read[0]}: {len(like)} piles are there"
            found += like
        return found

    def _shows(self, paper: Rectangle, number: int) -> bool:
        """Tell whether the picture shows a line with that number on a paper."""
        return any(
            paper[0] - NEAR_PT <= (x1 + x2) / 2 <= paper[2] + NEAR_PT
            and paper[1] - NEAR_PT <= (y1 + y2) / 2 <= paper[3] + NEAR_PT
            for x1, y1, x2, y2 in self.picture[number]
        )

    def _cut(self, papers: list[Rectangle], measure: float, line: str) -> None:
        self.at_gauge = []
        assert papers
        for paper in papers:
            at = self._place(paper, measure)
            axis = EDGES.index(self.edge) % 2
            low, high = paper[axis], paper[axis + 2]
            assert low + NEAR_PT < at < high - NEAR_PT, f"{line}: nothing to cut there"
            for name, piece in self._held(paper):
                inside = piece[axis] + NEAR_PT < at < piece[axis + 2] - NEAR_PT
                assert not inside, f"{line}: through {name}"
            below = (*paper[: axis + 2], at, *paper[axis + 3 :])
            above = (*paper[:axis], at, *paper[axis + 1 :])
            self.papers.remove(paper)
            self.papers += [below, above]
            kept, off = (below, above) if self.edge in {"left", "bottom"} else (above, below)
            self.at_gauge.append(kept)
            self.off.append(off)

    def _place(self, paper: Rectangle, measure: float) -> float:
        edge = paper[EDGES.index(self.edge)]
        return edge + measure if self.edge in {"left", "bottom"} else edge - measure

    def _lies_along_a_trim(self, paper: Rectangle, measure: float) -> bool:
        at, axis = self._place(paper, measure), EDGES.index(self.edge) % 2
        inside = paper[axis] + NEAR_PT < at < paper[axis + 2] - NEAR_PT
        ends = [end for _, piece in self._held(paper) for end in (piece[axis], piece[axis + 2])]
        return inside and any(abs(at - end) <= NEAR_PT for end in ends)

    def _held(self, paper: Rectangle) -> list[tuple[str, Rectangle]]:
        return [
            (name, piece)
            for name, piece in self.pieces
            if all(paper[i] - NEAR_PT <= piece[i] for i in (0, 1))
            and all(piece[i] <= paper[i] + NEAR_PT for i in (2, 3))
        ]

    def _holding(self, paper: Rectangle) -> str:
        names = Counter(name for name, _ in self._held(paper))
        words = [name if number == 1 else f"{number} × {name}" for name, number in names.items()]
        return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))
