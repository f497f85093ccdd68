"""What arrives from whom, and what goes into each suite in which order: the packing list's data."""

import datetime
import json
from collections.abc import Iterator, Mapping

from inkaccord.models import Frozen
from inkaccord.order.enclosing import (
    Packed,
    is_envelope,
    outer_envelope,
    packing_of,
    suite_sizes,
)
from inkaccord.order.going import Goes
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.spreadsheet import csv_bytes
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
    """Whether it goes into its envelope, its own or the suite's; None where that is not asked."""


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
        """Return ``packing-list.csv``: one line a piece."""
        return csv_bytes(_COLUMNS, self._rows())

    def _rows(self) -> Iterator[tuple[object, ...]]:
        steps = {it.piece: it for it in self.suite}
        for delivery in self.deliveries:
            for arrival in delivery.pieces:
                step = steps.get(arrival.piece)
                yield (
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
    largest piece first, at the back, smaller ones on top, each with what goes with it; then a band,
    the outer envelope, and last what lies beside (common practice, no source).
    """
    outer = outer_envelope(order, suite_sizes(order))
    packed = packing_of(order)
    steps: list[Step] = []
    below: str | None = None
    for name in dict.fromkeys([*order.assembly, *_usual(packed, outer)]):
        how = packed[name]
        if name == outer and steps:
            place, below = "round the others", name
        elif how.goes is Goes.WITH:
            tucked = is_envelope(order, str(how.other)) and how.fits
            place = f"with {how.other}{', tucked under its flap' if tucked else ''}"
        elif how.goes is Goes.ROUND:
            place = "round those before it, as a band"
        elif how.goes is Goes.BESIDE:
            larger = f", being larger than {outer}" if how.fits is False else ""
            place = f"beside the {'envelope' if outer else 'others'}{larger}"
        else:
            place, below = "at the back" if below is None else f"on {below}", name
        steps.append(
            Step(
                step=len(steps) + 1,
                piece=name,
                per_suite=order.pieces[name].per_suite,
                place=place,
                fits=how.fits,
            )
        )
    return steps


def _usual(packed: Mapping[str, Packed], outer: str | None) -> Iterator[str]:
    """Yield pieces in the usual order; they come the largest first."""
    late = {Goes.ROUND: 1, Goes.BESIDE: 3}
    alone = [name for name, it in packed.items() if it.goes is not Goes.WITH]
    # Sorting is stable: within each kind the larger piece stays first.
    for name in sorted(alone, key=lambda it: 2 if it == outer else late.get(packed[it].goes, 0)):
        # A card goes with its envelope; what goes with the outer one is laid in before it closes.
        with_it = [other for other, it in packed.items() if it.other == name]
        yield from (*with_it, name) if name == outer else (name, *with_it)
