"""What vendors are to print of sample sheets: in which files, by when, and what it costs."""

import datetime
from collections.abc import Iterable

from inkaccord.colour.pairs import OnPair, Pair
from inkaccord.models import Frozen
from inkaccord.order.model import Order
from inkaccord.order.pricing import Charge, Work, charges_for
from inkaccord.order.workdays import files_needed_by
from inkaccord.sheets.savings import Cost


class SheetDates(Frozen):
    """By when a sample sheet is needed, if the pieces that wait for it are to be in time."""

    send_by: datetime.date
    """Then the vendor's lead time is left for the sheet, and once more for the pieces."""
    back_by: datetime.date
    """Then the pieces' print files are needed: the sheet is back and read."""
    pieces: tuple[str, ...]
    """Which are late otherwise."""


class SamplePart(OnPair):
    """What is printed together of sample sheets: pages of a file, on one device and stock."""

    path: str
    first: int
    """Its first page in the file, from 1."""
    pages: int
    sizes_mm: tuple[tuple[float, float], ...]
    """Of its pages, cut to their trim; each once."""
    sheets: tuple[str, ...]
    """The sheets on them."""
    cut_out: bool = False
    """Whether the sheets are cut out of these pages."""


class Sampling(Frozen):
    """The sample sheets that one vendor is to print."""

    vendor: str
    copies: int
    """Of every page."""
    parts: tuple[SamplePart, ...]
    cost: Cost
    """Of all copies together."""
    charges: tuple[Charge, ...]
    """What the vendor asks for them, line by line."""
    dates: SheetDates | None
    """The earliest of its sheets; None where the order has no due date."""

    @property
    def sheets(self) -> tuple[str, ...]:
        """The sheets, each once."""
        return tuple(dict.fromkeys(sheet for part in self.parts for sheet in part.sheets))

    @property
    def prints(self) -> int:
        """How many pages are printed in all."""
        return sum(part.pages for part in self.parts) * self.copies


def sheet_dates(order: Order, pair: Pair) -> SheetDates | None:
    """Return by when a pair's sample sheets are needed; None where the order has no due date.

    For a pair that only an aim is defined on, every piece waits.
    """
    if order.due is None:
        return None
    jobs = order.jobs_on(pair) or tuple(order.jobs.values())
    back_by = min(files_needed_by(order.due, job.vendor.lead_days) for job in jobs)
    return SheetDates(
        send_by=files_needed_by(back_by, order.on(pair).vendor.lead_days),
        back_by=back_by,
        pieces=tuple(job.name for job in jobs),
    )


def earliest(dates: Iterable[SheetDates | None]) -> SheetDates | None:
    """Return dates that keep all of these."""
    known = [it for it in dates if it is not None]
    if not known:
        return None
    return SheetDates(
        send_by=min(it.send_by for it in known),
        back_by=min(it.back_by for it in known),
        pieces=tuple(dict.fromkeys(piece for it in known for piece in it.pieces)),
    )


def sample_charges(
    order: Order, vendor: str, parts: Iterable[SamplePart], copies: int
) -> tuple[Charge, ...]:
    """Return what a vendor asks for sample sheets, of which each part is printed by itself."""
    works = [Work(of=part.sheets, stock=part.stock, number=part.pages * copies) for part in parts]
    return tuple(charges_for(order, vendor, works, samples=True))
