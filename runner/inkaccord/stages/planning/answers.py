"""The lines that answer a question, ready to be pasted, and the choices that they make."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import yaml

from inkaccord.colour.agreement.differences import SURE, differences
from inkaccord.order.answers import Limits
from inkaccord.order.model import Order
from inkaccord.order.stocks import Stock
from inkaccord.stages.accepting import reach
from inkaccord.stages.bench import Bench
from inkaccord.stages.knowledge import UNREAD_PAPER
from inkaccord.stages.planning.doubts import Doubt
from inkaccord.stages.planning.wording import joined
from inkaccord.stages.results import Answer, Choice, Distance

MOST_WIDENED = 2.0
"""A limit is offered to be widened to this many times itself; beyond, to accept the colour where it
is off says more plainly what is done."""
LIGHTER = 3.0
"""L* by which another stock is lighter, to be named for a colour that is out of reach: a paper sets
what light colours can be printed on it."""
STEP = 0.5
"""Limits are offered in steps of this many ΔE00."""


def answer(bench: Bench, *field: str, value: Any) -> Answer:
    """Return the line that sets a field of the order."""
    text = yaml.safe_dump(
        value, default_flow_style=True, sort_keys=False, allow_unicode=True, width=2**20
    )
    text = text.removesuffix("\n").removesuffix("\n...")
    return Answer(
        field=field,
        value=value,
        line=f"{'.'.join(field)}: {text}",
        replaces=bench.line_of(field),
    )


def accept(colour: str, pieces: Sequence[str], doubts: Sequence[Doubt], bench: Bench) -> Choice:
    """Offer to accept a colour on pieces as they print it, as far off as it is now."""
    answers = []
    for piece in pieces:
        own = [doubt.it for doubt in doubts if piece in {doubt.it.piece, doubt.it.other}]
        said = max(own, key=lambda it: (it.other is None, it.delta_e_00))
        other = said.other if said.piece == piece else said.piece
        value = {
            "why": f"{said.delta_e_00:.1f} from {other or 'its aim'} is accepted",
            "up_to": max(reach(it.delta_e_00, it.uncertainty) for it in own),
        }
        answers.append(answer(bench, "pieces", piece, "accept", colour, value=value))
    where = "there" if len(pieces) > 1 else f"on {pieces[0]}"
    many = len(pieces) > 1
    return Choice(
        words=f"Accept {colour} {where} as it is, with your own reason for 'why'. "
        f"{joined(pieces)} {'are' if many else 'is'} released and "
        f"{'hold' if many else 'holds'} no other piece.",
        answers=tuple(answers),
    )


def widen(order: Order, colour: str, doubts: Sequence[Doubt], bench: Bench) -> Choice | None:
    """Offer limits within which the distances surely lie, if they need not be much wider."""
    between = _needed([doubt.it for doubt in doubts if doubt.it.other is not None])
    to_aim = _needed([doubt.it for doubt in doubts if doubt.it.other is None])
    if any(doubt.it.tolerance * MOST_WIDENED < max(between, to_aim) for doubt in doubts):
        return None
    own = order.colours[colour].tolerance or Limits.model_construct()
    limits = {"between_pieces": max(between, own.between_pieces or 0.0)}
    limits["to_aim"] = max(to_aim, own.to_aim or 0.0)
    written = {name: limit for name, limit in limits.items() if limit}
    same = len(written) == 2 and len(set(written.values())) == 1
    words = {"between_pieces": "between pieces", "to_aim": "from the aim"}
    allowed = joined([f"{limit:g} ΔE00 {words[name]}" for name, limit in written.items()])
    value = limits["to_aim"] if same else written
    return Choice(
        words=f"Allow {colour} up to {allowed}, on all pieces.",
        answers=(answer(bench, "colours", colour, "tolerance", value=value),),
    )


def _needed(distances: Sequence[Distance]) -> float:
    """Return the least limit, in steps, that all distances are surely inside; 0 for none."""
    if not distances:
        return 0.0
    apart = np.array([it.delta_e_00 for it in distances])
    unsure = np.array([it.uncertainty for it in distances])
    limit = float(-(-apart.max() // STEP) * STEP)
    while not (differences(apart, unsure, limit).within >= SURE).all():
        limit += STEP
    return limit


def lighter_stocks(order: Order, piece: str, bench: Bench) -> Choice | None:
    """Name lighter stocks of the order that the piece's device takes and that it fits on."""
    it = order.pieces[piece]
    here, device = order.stocks[it.stock], order.device(it.device)
    fitting = [
        name
        for name, stock in order.stocks.items()
        if (name in device.stocks or not device.stocks)
        and stock.kind is here.kind
        and (it.trim.fits_in(stock.size) or it.trim.turned.fits_in(stock.size))
        and _lightness(stock) > _lightness(here) + LIGHTER
    ]
    if not fitting:
        return None
    others = f", or on {joined(fitting[1:])}" if fitting[1:] else ""
    return Choice(
        words=f"Print {piece} on {fitting[0]}, which {it.device} takes as well{others}.",
        answers=(answer(bench, "pieces", piece, "stock", value=fitting[0]),),
    )


def _lightness(stock: Stock) -> float:
    return UNREAD_PAPER[0] if stock.colour is None else stock.colour[0]
