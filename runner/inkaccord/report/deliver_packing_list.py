"""Delivery: the packing list of the whole order."""

from collections.abc import Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.report.packing_page import packing_lists
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import Run


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``packing-list.pdf``, ``.csv`` and ``.json``."""
    bench.progress("writing the packing list")
    return packing_lists(order, run, gallery)
