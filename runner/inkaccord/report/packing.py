"""What arrives from whom, and what goes into each suite in which order: the packing list's data."""

import csv
import datetime
import io
import json

from inkaccord.models import Frozen
from inkaccord.order.enclosing import goes_into, outer_envelope, suite_sizes
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.run.record import PieceStatus, RecordedPiece, Run


class Arrival(Frozen):
    """One piece as it comes from its vendor."""

    piece: str
    quantity: int
    """What the suites need, and the extra ones."""
    overs: int
    more: int
    """Beyond quantity and overs: what fills the sheets that the pieces are laid on."""
    arrives: int
    """All of them."""
    trim: str
    stock: str
    finishing: str
    status: PieceStatus
    why: str


class Delivery(Frozen):
    """All that comes from one vendor."""

    vendor: str
    title: str
    pieces: tuple[Arrival, ...]


class Step(Frozen):
    """One piece of a suite, in the order in which they are laid together."""

    step: int
    piece: str
    per_suite: int
    place: str
    """In words: where it goes."""
    fits: bool | None
    """Whether it goes into the suite's outer envelope; None without one, and for the envelope."""


class PackingList(Frozen):
    """The packing list of an order."""

    order: str
    title: str
    date: datetime.date
    due: datetime.date | None
    suites: int
    deliveries: tuple[Delivery, ...]
    suite: tuple[Step, ...]
    spare: tuple[str, ...]
    """Pieces that go into no suite."""
    missing: dict[str, str]
    """Pieces that can't be packed yet: piece → why."""

    def as_json(self) -> bytes:
        """Return ``packing-list.json``."""
        data = self.model_dump(mode="json")
        return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()

    def as_csv(self) -> bytes:
        """Return ``packing-list.csv``: one line a piece, in UTF-8 with the mark that sheets need.

        A cell that a spreadsheet would take for a formula gets an apostrophe before it.
        """
        steps = {it.piece: it for it in self.suite}
        out = io.StringIO()
        write = csv.writer(out, lineterminator="\r\n")
        write.writerow(_COLUMNS)
        for delivery in self.deliveries:
            for arrival in delivery.pieces:
                step = steps.get(arrival.piece)
                write.writerow(
                    _plain(cell)
                    for cell in (
                        delivery.vendor,
                        delivery.title,
                        arrival.piece,
                        arrival.quantity,
                        arrival.overs,
                        arrival.more,
                        arrival.arrives,
                        step.per_suite if step else 0,
                        step.step if step else "",
                        arrival.trim,
                        arrival.stock,
                        arrival.finishing,
                        arrival.status.value,
                        arrival.why,
                    )
                )
        return b"\xef\xbb\xbf" + out.getvalue().encode()


_COLUMNS = (
    "vendor",
    "vendor_title",
    "piece",
    "quantity",
    "overs",
    "more",
    "arrives",
    "per_suite",
    "assembly_step",
    "trim",
    "stock",
    "finishing",
    "status",
    "why",
)


def _plain(cell: object) -> str:
    words = str(cell)
    return f"'{words}" if words[:1] in tuple("=+-@\t\r") else words


def packing_list(order: Order, run: Run) -> PackingList:
    """Return the packing list of an order as its run left it."""
    deliveries = tuple(
        Delivery(
            vendor=vendor,
            title=wording.vendor_title(order, vendor),
            pieces=tuple(_arrival(order, run, it) for it in run.pieces if it.vendor == vendor),
        )
        for vendor in order.vendors
        if any(it.vendor == vendor for it in run.pieces)
    )
    return PackingList(
        order=run.order,
        title=run.title,
        date=run.date,
        due=run.due,
        suites=run.suites,
        deliveries=deliveries,
        suite=tuple(_assembly(order)),
        spare=tuple(name for name, it in order.pieces.items() if it.per_suite == 0),
        missing={
            piece.name: piece.why or piece.status.value
            for piece in run.pieces
            if piece.status is not PieceStatus.READY
        },
    )


def _arrival(order: Order, run: Run, piece: RecordedPiece) -> Arrival:
    asked = order.pieces[piece.name]
    done = [wording.folding(asked.fold, asked.trim)] if asked.fold else []
    return Arrival(
        piece=piece.name,
        quantity=piece.quantity,
        overs=piece.overs,
        more=wording.more_than_ordered(run, piece),
        arrives=wording.printed(run, piece),
        trim=wording.trim_size(order, piece.name),
        stock=wording.stock_title(order, piece.stock),
        finishing="; ".join([*done, *([asked.finishing] if asked.finishing else [])]),
        status=piece.status,
        why=piece.why,
    )


def _assembly(order: Order) -> list[Step]:
    """Return the pieces of a suite in the order in which they are laid together.

    What the order names under ``assembly`` comes first, as it is named. The rest follows: the
    largest piece first, at the back, smaller ones on top, then the outer envelope, and last
    what doesn't go into it (common practice, no source).
    """
    sizes = suite_sizes(order)
    outer = outer_envelope(order, sizes)
    fits = {
        name: None if outer in (None, name) else goes_into(sizes[name], sizes[outer])
        for name in sizes
    }
    # Sorting is stable: within each kind the larger piece stays first.
    usual = sorted(sizes, key=lambda name: (name == outer) + 2 * (fits[name] is False))
    steps: list[Step] = []
    below: str | None = None
    for name in dict.fromkeys([*order.assembly, *usual]):
        if name == outer and steps:
            place, below = "round the others", name
        elif fits[name] is False:
            place = f"beside the envelope, being larger than {outer}"
        else:
            place, below = "at the back" if below is None else f"on {below}", name
        steps.append(
            Step(
                step=len(steps) + 1,
                piece=name,
                per_suite=order.pieces[name].per_suite,
                place=place,
                fits=fits[name],
            )
        )
    return steps
