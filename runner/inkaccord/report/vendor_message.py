"""The message that goes with a vendor's files: plain text, to be pasted and changed."""

from collections.abc import Iterator

from inkaccord.errors import OrderError
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.workdays import files_needed_by
from inkaccord.report import wording
from inkaccord.run.record import PieceStatus, RecordedFile, Run
from inkaccord.words import counted, joined


def packages(run: Run) -> dict[str, RecordedFile]:
    """Return the zip of each vendor for whom pieces are ready, in the order of its pieces."""
    zips = {file.vendor: file for file in run.files if file.what == "package"}
    ready = dict.fromkeys(it.vendor for it in run.pieces if it.status is PieceStatus.READY)
    return {vendor: zips[vendor] for vendor in ready if vendor in zips}


def package_to_send(order: Order, run: Run, vendor: str) -> RecordedFile:
    """Return a vendor's zip.

    Raises OrderError ``no-such-vendor`` for one that the order does not have, and
    ``nothing-to-send`` while nothing is ready for it.
    """
    if vendor not in order.vendors:
        raise OrderError.of(
            "no-such-vendor",
            f"the order has no vendor {vendor!r}",
            hint=suggest(vendor, order.vendors),
        )
    package = packages(run).get(vendor)
    if package is None:
        raise OrderError.of(
            "nothing-to-send",
            f"nothing is ready for {vendor} yet",
            hint="do what the run asks for, and run the order again",
        )
    return package


def vendor_message(order: Order, run: Run, vendor: str) -> str:
    """Return what to write to a vendor, from the first line, which is its subject, to the last."""
    return "\n".join(_lines(order, run, vendor)) + "\n"


def _lines(order: Order, run: Run, vendor: str) -> Iterator[str]:
    ready = [it for it in run.pieces if it.vendor == vendor and it.status is PieceStatus.READY]
    later = [it.name for it in run.pieces if it.vendor == vendor and it not in ready]
    package = packages(run).get(vendor)
    yield f"{run.title or run.order}: {counted(len(ready), 'piece')} to print"
    yield ""
    yield f"To {wording.vendor_title(order, vendor)}"
    yield ""
    if package is not None:
        yield f"With this comes {package.path.rpartition('/')[2]}. Please print from it:"
        yield ""
    for piece in ready:
        stock = wording.stock_title(order, piece.stock)
        yield f"- {piece.name}: {wording.quantity_in_words(run, piece)}, on {stock}"
    yield ""
    yield "The order sheet in it (order-sheet.pdf) says the rest: sizes, runs, inks, finishing."
    yield (
        "Every file's numbers are made for the device and stock that it names. Please print them "
        "as they are, at 100 % and without colour conversion, and ask before you change device, "
        "stock or setting."
    )
    if later:
        yield f"{joined(later)} will follow."
    if run.due is not None:
        yield ""
        needed = files_needed_by(run.due, order.vendors[vendor].lead_days)
        yield f"We need the goods by {wording.day(run.due, weekday=True)}."
        yield f"By your lead time you need the files by {wording.day(needed, weekday=True)}."
    if order.deliver_to:
        yield from ("", "Please deliver to", *order.deliver_to.splitlines())
    if order.ordered_by is not None:
        who = order.ordered_by
        yield from ("", *(it for it in (who.name, who.telephone, who.email) if it))
