"""The whole order at a glance: every colour on every piece, and whether it agrees."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inkaccord.order.model import Order
from inkaccord.report.graphics import Chart, Cross, Dot, Line, Mark, Path, Tile, Words
from inkaccord.report.screen import screen_colour
from inkaccord.run.bench import Bench
from inkaccord.run.record import Run
from inkaccord.run.verdicts import Sign, at_a_glance
from inkaccord.words import counted, joined

MOST_WITH_SWATCHES = 20
"""Pieces up to which a cell shows the colour too; more of them get the sign alone."""
_SWATCH = (26.0, 22.0)
_RIM = 4.0
FEW = 6
"""Pieces that are named where the picture is put into words; more of them are counted."""


@dataclass(frozen=True)
class Cell:
    """A colour on a piece: what is said of it, its screen colour and that of the stock."""

    sign: Sign
    printed: str = ""
    """Empty while it isn't known."""
    paper: str = ""


def glance(run: Run, order: Order, known: Bench) -> Chart:
    """Return the picture of a run."""
    pairs = {it.name: it.pair for it in run.pieces if it.colours}
    printed = {(it.colour, it.pair): screen_colour(it.predicted_lab).hex for it in run.translations}
    papers = {
        pair: screen_colour(known.pair(pair).model.paper_lab).hex
        for pair in dict.fromkeys(pairs.values())
    }
    cells = {
        (colour, piece): Cell(sign, printed.get((colour, pairs[piece]), ""), papers[pairs[piece]])
        for (colour, piece), sign in at_a_glance(run).items()
    }
    return glance_chart(list(order.colours), list(pairs), cells, _told(cells))


def _told(cells: Mapping[tuple[str, str], Cell]) -> str:
    """Say what the picture shows, so short that it can be listened to."""
    by_colour: dict[str, dict[Sign, list[str]]] = {}
    for (colour, piece), cell in cells.items():
        by_colour.setdefault(colour, {}).setdefault(cell.sign, []).append(piece)
    told = []
    for colour, signs in by_colour.items():
        parts = [f"{sign} on {_pieces(pieces)}" for sign, pieces in signs.items()]
        told.append(f"{colour}: {', '.join(parts)}")
    return f"At a glance. {'; '.join(told)}. The tables below say it in numbers."


def _pieces(names: Sequence[str]) -> str:
    return joined(names) if len(names) <= FEW else counted(len(names), "piece")


def legend(signs: Iterable[Sign]) -> Chart:
    """Return a line that says what each sign means."""
    marks: list[Mark] = []
    x = 8.0
    for sign in sorted(signs, key=list(Sign).index):
        marks += [*sign_marks(x, 10, sign), Words(x + 13, 14, sign.value, "name")]
        x += 36 + 6.4 * len(sign.value)
    return Chart(x, 20, "", tuple(marks))


def glance_chart(
    colours: Sequence[str],
    pieces: Sequence[str],
    cells: Mapping[tuple[str, str], Cell],
    says: str,
) -> Chart:
    """Return a row for each colour and a column for each piece.

    A cell shows the predicted colour on its stock, and a sign. A tick in a disc: surely inside
    every tolerance. An eye: judged by eye. A ring: too uncertain to say. A cross: surely outside. A
    short line: carried, but not known yet. Nothing: the piece doesn't carry the colour.
    """
    swatches = len(pieces) <= MOST_WITH_SWATCHES
    cell, row = (62.0, 38.0) if swatches else (30.0, 28.0)
    left = 16 + 6.7 * max((len(name) for name in colours), default=0)
    slant = 6.6 * max((len(name) for name in pieces), default=0) * math.sqrt(0.5)
    head = 18 + slant
    marks: list[Mark] = []
    for column, piece in enumerate(pieces):
        x = left + cell * (column + 0.5)
        marks.append(Words(x - 4, head - 8, piece, "name", turn=45))
    for line, colour in enumerate(colours):
        y = head + row * (line + 0.5)
        marks.append(Line(8, y - row / 2, left + cell * len(pieces), y - row / 2, "grid"))
        marks.append(Words(left - 14, y + 4, colour, "name", "end"))
        for column, piece in enumerate(pieces):
            if (colour, piece) in cells:
                shown = cells[colour, piece]
                x = left + cell * column
                if swatches:
                    marks += _swatch(x, y, shown)
                    marks += sign_marks(x + _SWATCH[0] + 13, y, shown.sign)
                else:
                    marks += sign_marks(x + cell / 2, y, shown.sign)
    width = left + cell * len(pieces) + max(slant - cell / 2, 0)
    return Chart(width, head + row * len(colours) + 2, says, tuple(marks))


def _swatch(x: float, y: float, cell: Cell) -> list[Mark]:
    if not cell.printed:
        return []
    width, height = _SWATCH
    top = y - height / 2
    return [
        Tile(x, top, width, height, "paper", cell.paper),
        Tile(x + _RIM, top + _RIM, width - 2 * _RIM, height - 2 * _RIM, "printed", cell.printed),
    ]


def sign_marks(x: float, y: float, sign: Sign) -> list[Mark]:
    """Return the marks of a sign about a point; no two differ in colour alone."""
    match sign:
        case Sign.INSIDE:
            tick = Path(((x - 3.3, y + 0.4), (x - 1.0, y + 2.7), (x + 3.4, y - 2.8)), "tickmark",
                        closed=False)  # fmt: skip
            return [Dot(x, y, 7.2, "inside"), tick]
        case Sign.BY_EYE:
            return [Path(tuple(_lens(x, y)), "eye"), Dot(x, y, 2.4, "pupil")]
        case Sign.UNCERTAIN:
            return [Dot(x, y, 6.2, "uncertain")]
        case Sign.OUTSIDE:
            return [Cross(x, y, 5.2, "outside")]
        case _:
            return [Line(x - 5, y, x + 5, y, "unknown")]


def _lens(x: float, y: float) -> list[tuple[float, float]]:
    """Return the outline of an eye: two arcs that meet in its corners."""
    half, height, steps = 8.0, 4.6, 8
    upper = [
        (x + half * (2 * at / steps - 1), y - height * math.sin(math.pi * at / steps))
        for at in range(steps + 1)
    ]
    return upper + [(px, 2 * y - py) for px, py in upper[-2:0:-1]]
