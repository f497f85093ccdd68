"""Delivery: the packing list of the whole order."""

from collections.abc import Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.record import Run
from inkaccord.report.gallery import Gallery
from inkaccord.report.packing_page import packing_lists
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import OutFile


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``packing-list.pdf``, ``.csv`` and ``.json``."""
    bench.progress("writing the packing list")
    return packing_lists(order, run, gallery)
