"""How often an order has asked for paper already: it asks a person before it asks for too much."""

from collections.abc import Iterable

from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.order.model import Order
from inkaccord.sheets.model import Purpose, SampleSheet

MOST_READ = 2
"""Sheets of a pair that an order has read: the first, and one that closes in."""
MOST_PICKED = 3
"""Sheets of a pair that an order has picked from: the first, one that goes on from a pick at its
rim, and one round what was picked."""
_OWN = {Purpose.SCOUTING, Purpose.CLOSING_IN}


def of_order(order: Order, sheet: SampleSheet) -> bool:
    """Tell whether a sheet was planned for this very order, and not for an earlier one."""
    return sheet.order == order.order and sheet.date == order.date


def may_be_read(order: Order, pairs: Iterable[PairKnowledge]) -> bool:
    """Tell whether an order may ask for one more sheet to be read, of any of its pairs.

    Once a second sheet of one pair has been read, another's would be a third round.
    """
    return all(_read(order, known) < MOST_READ for known in pairs)


def _read(order: Order, known: PairKnowledge) -> int:
    """Return how many sheets of a pair an order has read."""
    own = (it.sheet for it in known.kept if of_order(order, it.sheet))
    return len({sheet.id for sheet in own if sheet.purpose in _OWN})


def may_be_picked(order: Order, pairs: Iterable[PairKnowledge]) -> bool:
    """Tell whether an order may ask for one more sheet to pick from, on any of its pairs.

    Once a third sheet of one pair has been picked from, another's would be a fourth round.
    """
    return all(_picked(order, known) < MOST_PICKED for known in pairs)


def _picked(order: Order, known: PairKnowledge) -> int:
    """Return how many sheets of a pair an order has picked from."""
    return len({it.sheet.id for it in known.picks if of_order(order, it.sheet)})
