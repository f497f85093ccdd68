"""Delivery: an order sheet into every vendor's folder."""

from collections.abc import Mapping, Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.report.order_sheet import order_sheets
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import Run


@hookimpl
def inkaccord_deliver(
    order: Order, run: Run, files: Mapping[str, bytes], gallery: Gallery, bench: Bench
) -> Sequence[OutFile]:
    """Add ``VENDOR/order-sheet.pdf`` for each vendor that has something to print."""
    bench.progress("writing order sheets")
    return order_sheets(order, run, files, gallery, run.notes)
