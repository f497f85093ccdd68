"""The lines that answer a question, ready to be pasted, and the choices that they make."""

from collections.abc import Sequence
from itertools import combinations
from typing import Any

import numpy as np
import yaml

from inkaccord.colour.agreement.differences import SURE, differences
from inkaccord.knowledge.pairs import UNREAD_PAPER
from inkaccord.knowledge.values import Trade, Translations
from inkaccord.order.colours import Prefer
from inkaccord.order.model import Order
from inkaccord.order.stocks import Stock
from inkaccord.planning.accepting import off_by, reach
from inkaccord.planning.causes import Cause
from inkaccord.run.agreement import Distance
from inkaccord.run.bench import Bench
from inkaccord.run.plan import Answer, Choice
from inkaccord.words import joined

MOST_WIDENED = 2.0
"""A limit is offered to be widened to this many times itself; beyond, to accept the colour where it
is off says more plainly what is done."""
LIGHTER = 3.0
"""L* by which another stock is lighter, to be named for a colour that is out of reach: a paper sets
what light colours can be printed on it."""
STEP = 0.5
"""Limits are offered in steps of this many ΔE00."""


def answer(bench: Bench, *field: str, value: Any) -> Answer:
    """Return the answer that sets a field of the order."""
    return Answer(
        field=field,
        value=value,
        line=line_of(field, value),
        replaces=bench.line_of(field),
    )


def line_of(field: Sequence[str], value: Any) -> str:
    """Return the line of an order file that sets a field."""
    text = yaml.safe_dump(
        value, default_flow_style=True, sort_keys=False, allow_unicode=True, width=2**20
    )
    text = text.removesuffix("\n").removesuffix("\n...")
    return f"{'.'.join(field)}: {text}"


def accept(
    order: Order, causes: Sequence[Cause], distances: Sequence[Distance], bench: Bench
) -> Choice:
    """Offer to accept colours on the pieces of a pair, as far off as they are now."""
    answers = [
        _accepted(cause.colour, piece, off, bench)
        for cause in causes
        for piece in cause.pieces
        if (off := off_by(order, cause.colour, piece, distances)) is not None
    ]
    pieces = tuple(dict.fromkeys(piece for cause in causes for piece in cause.pieces))
    colours = dict.fromkeys(cause.colour for cause in causes)
    as_is = "as they are" if len(colours) > 1 else "as it is"
    then = "They are released and hold" if len(pieces) > 1 else "It is released and holds"
    return Choice(
        words=f"Accept {joined(list(colours))} on {joined(pieces)} {as_is}, with your own reason "
        f"for 'why'. {then} no other piece.",
        answers=tuple(answers),
    )


def _accepted(colour: str, piece: str, off: Distance, bench: Bench) -> Answer:
    """Return the line that accepts a colour on a piece, up to what is known of it now."""
    other = off.other if off.piece == piece else off.piece
    value = {
        "why": f"{off.delta_e_00:.1f} from {other or 'its aim'} is accepted",
        "up_to": reach(off),
    }
    return answer(bench, "pieces", piece, "accept", colour, value=value)


def print_more(spared: float, bench: Bench) -> Choice:
    """Offer the round that was not worth its days: swatches of all that is less sure."""
    limit = float(np.ceil(10.0 * spared - 1e-9) - 1.0) / 10.0
    return Choice(
        words=f"Print a few swatches more, of every colour that is not sure to ±{limit:.1f} yet.",
        answers=(answer(bench, "tolerances", "sure", value=limit),),
    )


def widen(order: Order, causes: Sequence[Cause], bench: Bench) -> Choice | None:
    """Offer limits within which colours surely lie, if they need not be much wider."""
    allowed, answers = [], []
    for cause in causes:
        limits = _wider(order, cause)
        if limits is None:
            return None
        same = len(limits) == 2 and len(set(limits.values())) == 1
        value = limits["to_aim"] if same else limits
        words = {"between_pieces": "between pieces", "to_aim": "from the aim"}
        parts = joined([f"{limit:g} ΔE00 {words[name]}" for name, limit in limits.items()])
        allowed.append(f"{cause.colour} up to {parts}")
        answers.append(answer(bench, "colours", cause.colour, "tolerance", value=value))
    return Choice(words=f"Allow {joined(allowed)}, on all pieces.", answers=tuple(answers))


def _wider(order: Order, cause: Cause) -> dict[str, float] | None:
    """Return the limits of a colour that it surely keeps; None where they are too wide to offer."""
    between = _needed(
        [doubt.distance for doubt in cause.doubts if doubt.distance.other is not None]
    )
    to_aim = _needed([doubt.distance for doubt in cause.doubts if doubt.distance.other is None])
    for doubt in cause.doubts:
        needed = to_aim if doubt.distance.other is None else between
        if doubt.distance.tolerance * MOST_WIDENED < needed:
            return None
    own = order.colours[cause.colour].tolerance
    written = (None, None) if own is None else (own.between_pieces, own.to_aim)
    limits = {
        "between_pieces": max(between, written[0] or 0.0),
        "to_aim": max(to_aim, written[1] or 0.0),
    }
    return {name: limit for name, limit in limits.items() if limit}


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
    job = order.jobs[piece]
    trim, here, device = job.piece.trim, job.stock, job.device
    fitting = [
        name
        for name, stock in order.stocks.items()
        if (name in device.stocks or not device.stocks)
        and stock.kind is here.kind
        and (trim.fits_in(stock.size) or trim.turned.fits_in(stock.size))
        and _lightness(stock) > _lightness(here) + LIGHTER
    ]
    if not fitting:
        return None
    others = f", or on {joined(fitting[1:], 'or')}" if fitting[1:] else ""
    return Choice(
        words=f"Print {piece} on {fitting[0]}, which {job.pair.device} takes as well{others}.",
        answers=(answer(bench, "pieces", piece, "stock", value=fitting[0]),),
    )


def _lightness(stock: Stock) -> float:
    return UNREAD_PAPER[0] if stock.ground is None else stock.ground[0]


def alike_or_true(
    order: Order, cause: Cause, translations: Translations, bench: Bench
) -> Choice | None:
    """Offer the other way to treat a colour out of reach, where it would keep to all limits.

    Only for what is surely too large, as no way makes anything surer; and what the order says of
    the colour itself is not offered to be taken back.
    """
    colour = cause.colour
    points = [it for it in translations.trades if it.colour == colour]
    stated = order.colours[colour].prefer is not None
    if not points or stated or not cause.worst.sure:
        return None
    if order.prefer is Prefer.EACH_CLOSEST:
        words = "Print it alike on all pieces, at most {far:.1f} ΔE00 from the aim."
        value, found = Prefer.ALIKE, _keeping(order, colour, points)
    else:
        words = "Print each piece as near to the aim as it can, at most {apart:.1f} apart."
        value, found = Prefer.EACH_CLOSEST, _keeping(order, colour, points[-2:-1])
    if found is None:
        return None
    return Choice(
        words=words.format(far=max(found.to_aim.values()), apart=found.apart),
        answers=(answer(bench, "colours", colour, "prefer", value=value.value),),
    )


def _keeping(order: Order, colour: str, points: Sequence[Trade]) -> Trade | None:
    """Return the point nearest to the aim that keeps to all limits, if one does."""
    keeping = [point for point in points if _keeps(order, colour, point)]
    return min(keeping, key=lambda point: point.mean_to_aim, default=None)


def _keeps(order: Order, colour: str, point: Trade) -> bool:
    pieces = tuple(point.to_aim)
    between = (order.limit_between(colour, *two) for two in combinations(pieces, 2))
    return all(point.apart <= limit for limit in between) and all(
        far <= order.limit_to_aim(colour, piece) for piece, far in point.to_aim.items()
    )
