"""A colour that some pair can't reach: what it costs each piece to keep them all alike."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inkaccord.knowledge.values import Trade
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.charts import Curve, trade_chart
from inkaccord.report.graphics import svg
from inkaccord.report.screen import ScreenColour, screen_colour


@dataclass(frozen=True)
class TradeCell:
    """What pieces on one pair would print at one choice."""

    delta_e_00: float
    """To the aim."""
    printed: ScreenColour | None


@dataclass(frozen=True)
class TradeChoice:
    """One choice: how far apart the pieces may lie."""

    words: str
    apart: float
    mean_to_aim: float
    chosen: bool
    cells: tuple[TradeCell, ...]


@dataclass(frozen=True)
class TradeView:
    """The choices of one colour, from the most alike to each as close as it can be."""

    groups: tuple[str, ...]
    """The pieces, those on one pair together."""
    choices: tuple[TradeChoice, ...]
    chart: Markup

    @property
    def ends(self) -> tuple[TradeChoice, ...]:
        """The most alike, what is printed, and each as close as it can be."""
        first, last = self.choices[0], self.choices[-1]
        return tuple(it for it in self.choices if it in (first, last) or it.chosen)


def trade_view(colour: str, trades: Sequence[Trade], order: Order) -> TradeView | None:
    """Return the choices of a colour; None where every pair reaches it."""
    if not trades:
        return None
    by_pair: dict[str, list[str]] = {}
    for piece in trades[0].to_aim:
        by_pair.setdefault(str(order.jobs[piece].pair), []).append(piece)
    groups = [tuple(pieces) for pieces in by_pair.values()]
    taken = {round(it.apart, 1) for it in trades if it.chosen}
    ordered = sorted(
        (it for it in trades if it.chosen or round(it.apart, 1) not in taken),
        key=lambda it: it.apart,
    )
    farthest = ordered[-1]
    choices = tuple(
        TradeChoice(
            words="each as close as it can be" if trade.apart == farthest.apart else "kept alike",
            apart=trade.apart,
            mean_to_aim=trade.mean_to_aim,
            chosen=trade.chosen,
            cells=tuple(_cell(trade, pieces[0]) for pieces in groups),
        )
        for trade in ordered
    )
    names = tuple(wording.some(pieces) for pieces in groups)
    curves = [
        Curve(
            names[at],
            tuple((it.apart, it.cells[at].delta_e_00) for it in choices),
            tuple(_fill(it.cells[at]) for it in choices),
        )
        for at in range(len(groups))
    ]
    chosen = next((it.apart for it in choices if it.chosen), None)
    return TradeView(names, choices, svg(trade_chart(colour, curves, chosen)))


def _cell(trade: Trade, piece: str) -> TradeCell:
    lab = trade.labs.get(piece)
    return TradeCell(trade.to_aim[piece], None if lab is None else screen_colour(lab))


def _fill(cell: TradeCell) -> str:
    return "" if cell.printed is None else cell.printed.hex
