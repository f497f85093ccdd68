"""What an order costs: its pieces, each at its vendor, and the sample sheets printed for it."""

from collections.abc import Container, Iterable, Iterator, Sequence

from inkaccord.order.diary import SamplesPaid, read_diary
from inkaccord.order.job import Job
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.order.pricing import Charge, Work, charges_for
from inkaccord.order.vendors import Delivers
from inkaccord.run.imposed import PrintRun
from inkaccord.run.record import Run
from inkaccord.run.sampling import Sampling

NOT_LAID = "not known until its sheets are laid"


def piece_charges(
    order: Order, vendor: str, runs: Iterable[PrintRun], ready: Container[str] | None = None
) -> tuple[Charge, ...]:
    """Return what a vendor asks for its pieces.

    Parameters
    ----------
    runs
        What is printed in one go, of all vendors, as far as that is known.
    ready
        The pieces to count; None: all.
    """
    jobs = [it for it in order.jobs_of(vendor) if ready is None or it.name in ready]
    if order.vendors[vendor].delivers is Delivers.PIECES:
        works = [_of_piece(job) for job in jobs]
    else:
        works = [*_of_sheets(jobs, [it for it in runs if it.vendor == vendor])]
    return tuple(charges_for(order, vendor, works))


def _of_piece(job: Job) -> Work:
    number = job.paid(job.quantity)
    return Work(of=(job.name,), pieces=(job.name,), stock=job.pair.stock, number=number)


def _of_sheets(jobs: list[Job], runs: list[PrintRun]) -> Iterator[Work]:
    laid: set[str] = set()
    for one in runs:
        pieces = tuple(job.name for job in jobs if job.name in one.pieces)
        laid.update(pieces)
        if pieces:
            yield Work(of=pieces, pieces=pieces, stock=one.stock, number=one.times)
    for job in jobs:
        if job.name not in laid:
            yield Work(
                of=(job.name,), pieces=(job.name,), stock=job.pair.stock, number=None,
                why_unknown=NOT_LAID,
            )  # fmt: skip


def order_charges(
    order: Order, runs: Iterable[PrintRun], samples: Iterable[SamplesPaid]
) -> tuple[Charge, ...]:
    """Return all that is to be paid for an order, vendor by vendor, in the order of the file.

    Nothing where it states no prices.
    """
    known = [*runs]
    of_samples = [it for one in samples for it in one.charges]
    vendors = dict.fromkeys((*order.vendors, *(it.vendor for it in of_samples)))
    found: list[Charge] = []
    for vendor in vendors:
        found += (it for it in of_samples if it.vendor == vendor)
        if vendor in order.vendors:
            found += piece_charges(order, vendor, known)
    return tuple(found)


def charges_now(loaded: LoadedOrder, last: Run | None) -> tuple[tuple[Charge, ...], bool]:
    """Return all that is to be paid, as far as that is known now, and whether the order ran so.

    Where its file was changed since its last run, sheets that are to be laid have no number yet.
    """
    if last is not None and last.order_sha256 == loaded.sha256:
        return last.charges, True
    return order_charges(loaded.order, (), read_diary(loaded.path).samples), False


def samples_paid(
    kept: Iterable[SamplesPaid],
    asked: Sequence[Sampling],
    unprinted: Container[str],
) -> tuple[SamplesPaid, ...]:
    """Return what an order's sample sheets cost, those that were printed before among them.

    Of what was said before stands what has gone off, at the price that it had then; all else is
    said anew.

    Parameters
    ----------
    kept
        What was said before.
    asked
        What vendors are to print now.
    unprinted
        Those sheets of either that are on no paper, and have not gone off. Of what was said before
        they count only where they are asked for still, and beside one that has gone off.
    """
    standing: list[SamplesPaid] = []
    asked_for = {sheet for it in asked for sheet in it.sheets}
    for one in kept:
        left = tuple(it for it in one.sheets if it in asked_for or it not in unprinted)
        if not all(it in unprinted for it in left):
            standing.append(_only(one.vendor, left, one.charges))
    covered = {it for one in standing for it in one.sheets}
    for sampling in asked:
        rest = tuple(it for it in sampling.sheets if it not in covered)
        if rest and sampling.charges:
            standing.append(_only(sampling.vendor, rest, sampling.charges))
    return tuple(standing)


def _only(vendor: str, sheets: tuple[str, ...], charges: Iterable[Charge]) -> SamplesPaid:
    """Return what some of the sheets cost: what is paid for none of them is left out."""
    return SamplesPaid(
        vendor=vendor,
        sheets=sheets,
        charges=tuple(it for it in charges if not it.of or not set(it.of).isdisjoint(sheets)),
    )
