"""The message that goes with a vendor's files: plain text, to be pasted and changed."""

from collections.abc import Iterator, Set
from dataclasses import dataclass

from inkaccord.errors import OrderError
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.sending import SentNow
from inkaccord.order.workdays import files_needed_by
from inkaccord.report import wording
from inkaccord.report.press_run import finishes_in_words, runs_of
from inkaccord.run.record import PieceStatus, RecordedFile, Run
from inkaccord.run.sampling import Sampling
from inkaccord.run.sending import called_back
from inkaccord.words import counted, day, joined


@dataclass(frozen=True)
class Parcel:
    """What is sent to a vendor in one go."""

    vendor: str
    package: RecordedFile
    """Its zip."""
    sampling: Sampling | None = None
    """The sample sheets in it; None where it holds the job's own print files."""


def parcels(run: Run, on_paper: Set[str] = frozenset()) -> list[Parcel]:
    """Return what may be sent now: sample sheets first, each in the order of its pieces.

    ``on_paper`` are sheets that were printed since the run; a zip of such sheets alone is left out.
    """
    samples = {it.vendor: it for it in run.files if it.what == "sample-package"}
    waiting = [it for it in run.sampling if not on_paper >= set(it.sheets)]
    asked = [it for it in waiting if it.vendor in samples]
    zips = {it.vendor: it for it in run.files if it.what == "package"}
    ready = dict.fromkeys(it.vendor for it in run.pieces if it.status is PieceStatus.READY)
    return [
        *(Parcel(it.vendor, samples[it.vendor], it) for it in asked),
        *(Parcel(vendor, zips[vendor]) for vendor in ready if vendor in zips),
    ]


def need_vendor(order: Order, vendor: str) -> None:
    """Raise OrderError ``no-such-vendor`` for a vendor that an order does not have."""
    if vendor not in order.vendors:
        raise OrderError.of(
            "no-such-vendor",
            f"the order has no vendor {vendor!r}",
            hint=suggest(vendor, order.vendors),
        )


def parcels_for(
    order: Order, run: Run, vendor: str, on_paper: Set[str] = frozenset()
) -> list[Parcel]:
    """Return what may be sent to one vendor now.

    Raises as :func:`need_vendor`, and OrderError ``nothing-to-send`` while nothing is ready for it.
    """
    need_vendor(order, vendor)
    found = [it for it in parcels(run, on_paper) if it.vendor == vendor]
    if not found:
        raise OrderError.of(
            "nothing-to-send",
            f"nothing is ready for {vendor} yet",
            hint="do what the run asks for, and run the order again",
        )
    return found


@dataclass(frozen=True)
class Message:
    """What to write to a vendor, and what goes with it: nothing where files are called back."""

    vendor: str
    text: str
    parcel: Parcel | None = None


def messages(order: Order, run: Run, vendor: str | None, on_paper: Set[str]) -> list[Message]:
    """Return what to write to all vendors now, or to one.

    Raises as :func:`parcels_for` where one is named.
    """
    stops = [
        Message(sent.vendor, call_back(order, run, sent))
        for sent in called_back(run)
        if vendor in {None, sent.vendor}
    ]
    if vendor is None:
        ready = parcels(run, on_paper)
    else:
        ready = [] if stops else parcels_for(order, run, vendor, on_paper)
    return [*stops, *(Message(it.vendor, vendor_message(order, run, it), it) for it in ready)]


def call_back(order: Order, run: Run, sent: SentNow) -> str:
    """Return what to write to a vendor who has files of which none is made any more."""
    on_day = day(sent.on, weekday=True)
    theirs = any(it.vendor == sent.vendor for it in run.pieces)
    follow = "Other files will follow" if theirs else "We need nothing of it any more"
    lines = [
        f"{run.title or run.order}: please print nothing from the files of {on_day}",
        "",
        f"To {wording.vendor_title(order, sent.vendor)}",
        "",
        f"What we sent you on {on_day} does not hold any more: please print nothing from it.",
        f"{follow}.",
        "If some of it is printed already, please tell us how much before you cut or send it.",
        *_who_asks(order),
    ]
    return "\n".join(lines) + "\n"


def vendor_message(order: Order, run: Run, parcel: Parcel) -> str:
    """Return what to write to a vendor, from the first line, which is its subject, to the last."""
    file = parcel.package.path.rpartition("/")[2]
    if parcel.sampling is None:
        lines = [*_for_the_job(order, run, parcel.vendor, file), *_where_to(order, "deliver")]
    else:
        lines = [*_for_samples(order, run, parcel.sampling, file), *_where_to(order, "send them")]
    return "\n".join(lines) + "\n"


def _for_samples(order: Order, run: Run, sampling: Sampling, package: str) -> Iterator[str]:
    yield f"{run.title or run.order}: {counted(len(sampling.sheets), 'sample sheet')} to print"
    yield ""
    yield f"To {wording.vendor_title(order, sampling.vendor)}"
    yield ""
    yield f"With this comes {package}. Please print from it, one side only:"
    yield ""
    for part in sampling.parts:
        setting = f", setting {part.setting}" if part.setting else ""
        copies = counted(sampling.copies, "copy", "copies")
        white = order.white_under(part.stock)
        under = f", plate {white} under every swatch" if white else ""
        yield (
            f"- sheet{'s' if len(part.sheets) > 1 else ''} {joined(part.sheets)}: {copies} of "
            f"{counted(part.pages, 'page')}, on {wording.stock_title(order, part.stock)}, "
            f"device {part.device}{setting}{under}"
        )
    yield ""
    yield "The order sheet in it (order-sheet.pdf) says the rest."
    yield (
        "These sheets show us what your device does with numbers, so that the job comes out right. "
        "Please print them as the job will be printed: the same device, stock and setting, at "
        "100 % and without colour conversion; ask before you change any of it. Let them dry, and "
        "send them flat between boards and in the dark, also what came out badly."
    )
    if sampling.dates is not None:
        yield ""
        yield f"We need them back by {day(sampling.dates.back_by, weekday=True)}."


def _for_the_job(order: Order, run: Run, vendor: str, package: str) -> Iterator[str]:
    ready = [it for it in run.pieces if it.vendor == vendor and it.status is PieceStatus.READY]
    later = [it.name for it in run.pieces if it.vendor == vendor and it not in ready]
    yield f"{run.title or run.order}: {counted(len(ready), 'piece')} to print"
    yield ""
    yield f"To {wording.vendor_title(order, vendor)}"
    yield ""
    yield from _instead(run, vendor)
    yield f"With this comes {package}. Please print from it:"
    yield ""
    for piece in ready:
        stock = wording.stock_title(order, piece.stock)
        yield f"- {piece.name}: {wording.quantity_in_words(run, piece)}, on {stock}"
    plates = {
        words: None
        for one in runs_of(run, vendor)
        for side in one.sides
        for words in finishes_in_words(order, side, one.stock)
    }
    if plates:
        yield ""
        yield "Not all plates are colours. Please ask before you leave one out, or print it as one:"
        yield ""
        yield from (f"- {words}" for words in plates)
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
        yield f"We need the goods by {day(run.due, weekday=True)}."
        if days := order.vendors[vendor].lead_days:
            needed = day(files_needed_by(run.due, days), weekday=True)
            yield f"By your lead time you need the files by {needed}."


def _where_to(order: Order, what: str) -> Iterator[str]:
    """Yield the address, and who asks."""
    if order.deliver_to:
        yield from ("", f"Please {what} to", *order.deliver_to.splitlines())
    yield from _who_asks(order)


def _instead(run: Run, vendor: str) -> Iterator[str]:
    """Yield what becomes of files that a vendor has already, where they are not those of now."""
    for sent in run.sent:
        if sent.vendor == vendor and sent.changed:
            on_day = day(sent.on, weekday=True)
            yield f"This takes the place of what we sent you on {on_day}:"
            yield "please print nothing from that."
            yield ""


def _who_asks(order: Order) -> Iterator[str]:
    if order.ordered_by is not None:
        who = order.ordered_by
        yield from ("", *(it for it in (who.name, who.telephone, who.email) if it))
