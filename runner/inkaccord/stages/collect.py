"""Stage 1: the colours of every artwork."""

from inkaccord.foresight.taking_stock import take_stock
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected


@hookimpl
def inkaccord_collect(order: Order, bench: Bench) -> Collected:
    """Take stock of every artwork."""
    return take_stock(order, bench)
