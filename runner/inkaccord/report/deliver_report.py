"""Delivery: the report, one HTML file that opens without a network."""

from collections.abc import Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.report.html import report
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import Run


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``report.html``."""
    bench.progress("writing the report")
    return [report(order, run, bench, gallery)]
