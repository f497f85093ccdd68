"""Delivery: the agreement sheet, a page or two on paper to file with the order."""

from collections.abc import Sequence

from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.report.agreement_page import agreement_page
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import Run


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``agreement.pdf``, once something is known."""
    bench.progress("writing the agreement sheet")
    page = agreement_page(order, run, bench, gallery)
    return [] if page is None else [page]
