"""Delivery: an order sheet into every vendor's folder."""

from collections.abc import Mapping, Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.record import Run
from inkaccord.report.gallery import Gallery
from inkaccord.report.order_sheet import order_sheets
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import OutFile


@hookimpl
def inkaccord_deliver(
    order: Order, run: Run, files: Mapping[str, bytes], gallery: Gallery, bench: Bench
) -> Sequence[OutFile]:
    """Add ``VENDOR/order-sheet.pdf`` for each vendor that has something to print."""
    bench.progress("writing order sheets")
    return order_sheets(order, run, files, gallery, run.notes)
