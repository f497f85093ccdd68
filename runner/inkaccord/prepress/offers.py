"""Quotes: what a piece costs at each vendor that could print it, and where another gets cheaper."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.layout.model import Imposition, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import lay_out, misfit
from inkaccord.order.job import Job
from inkaccord.order.model import Order
from inkaccord.order.prices import Prices
from inkaccord.order.pricing import PAST_TABLE, Charge, Work, charges_by, sum_of
from inkaccord.order.stocks import Stock
from inkaccord.order.vendors import Delivers, Device, Quote, Vendor
from inkaccord.prepress.framing import ROOMY_PT, lay_pieces, takes_more
from inkaccord.prepress.laying import item_of, layout_rules, mark_rules, sheets_of
from inkaccord.prepress.print_runs import slug_stand_in
from inkaccord.recall.recall import Recall, computed
from inkaccord.run.collected import PieceArtwork
from inkaccord.run.record import Run
from inkaccord.sizes import Sides, Size

LOOKED_AHEAD = 4
"""How many times the number of now it is looked for one at which another vendor gets cheaper."""
MOST_LOOKED_AT = 5000
SIDES_UNKNOWN = "its sheets are known once a run has looked through the artwork"
_ANY = "a piece"
_MANY = 10**6
"""Copies of which the fewest sheets hold as many each as they can."""


@dataclass(frozen=True)
class Offer:
    """What one vendor asks for a piece.

    Attributes
    ----------
    prints_it
        Whether the order has it print the piece.
    charges
        Line by line; delivery counts whole, also where the vendor delivers other pieces anyway.
    total
        None where something of it is not known.
    on_a_sheet
        How many lie on a sheet, where sheets are paid: the piece is laid on them alone, whatever it
        shares its sheets with in the order. None where pieces are paid.
    cheaper_from, cheaper_to
        The nearest higher and lower number of pieces, without overs, at which it asks less than the
        cheapest of now; None where there is none near by, where it is the cheapest, or where the
        two can't be compared.
    """

    vendor: str
    prints_it: bool
    charges: tuple[Charge, ...]
    total: Decimal | None
    currency: str | None
    on_a_sheet: int | None = None
    cheaper_from: int | None = None
    cheaper_to: int | None = None

    @property
    def past_table(self) -> bool:
        """Whether the number lies past the table's last line."""
        return any(it.note == PAST_TABLE for it in self.charges)


@dataclass(frozen=True)
class _Maker:
    """A vendor that could print a piece, and what it is paid by: pieces, or sheets of so many."""

    job: Job
    prices: Prices
    currency: str | None
    prints_it: bool
    on_a_sheet: int | None = None
    why_unknown: str = ""
    totals: dict[int | None, Decimal | None] = field(default_factory=dict)
    """What is known already, by the number that is paid: many quantities take the same sheets."""

    def number(self, quantity: int) -> int | None:
        """Return how many pieces or sheets it would be paid for; None where that is not known."""
        if self.why_unknown:
            return None
        number = self.job.paid(quantity)
        return number if self.on_a_sheet is None else -(-number // self.on_a_sheet)

    def work(self, quantity: int) -> Work:
        """Return what it would print of so many, and be paid for."""
        return Work(
            of=(self.job.name,),
            pieces=(self.job.name,),
            stock=self.job.pair.stock,
            number=self.number(quantity),
            why_unknown=self.why_unknown,
        )

    def total(self, quantity: int) -> Decimal | None:
        """Return what so many cost; None where something of it is not known."""
        number = self.number(quantity)
        if number not in self.totals:
            self.totals[number] = sum_of(self.prices, self.currency, self.work(quantity))
        return self.totals[number]

    def offer(self, cheapest: "_Maker | None") -> Offer:
        """Return what it asks, held against the one that asks the least now."""
        quantity, vendor = self.job.quantity, self.job.vendor_name
        above = below = None
        if cheapest is not None and cheapest is not self and cheapest.currency == self.currency:
            last = min(LOOKED_AHEAD * quantity, quantity + MOST_LOOKED_AT)
            above = _first_cheaper(self, cheapest, range(quantity + 1, last + 1))
            first = max(1, quantity - MOST_LOOKED_AT)
            below = _first_cheaper(self, cheapest, range(quantity - 1, first - 1, -1))
        return Offer(
            vendor=vendor,
            prints_it=self.prints_it,
            charges=tuple(charges_by(vendor, self.prices, self.currency, [self.work(quantity)])),
            total=self.total(quantity),
            currency=self.currency,
            on_a_sheet=self.on_a_sheet,
            cheaper_from=above,
            cheaper_to=below,
        )


def _first_cheaper(one: _Maker, other: _Maker, numbers: Iterable[int]) -> int | None:
    for number in numbers:
        here, there = one.total(number), other.total(number)
        if here is None or there is None:
            return None
        if here < there:
            return number
    return None


def offers(
    order: Order, last: Run | None = None, recall: Recall = computed
) -> dict[str, tuple[Offer, ...]]:
    """Return, by piece, what each vendor asks that could print it; pieces with more than one alone.

    Compared are vendors of the order that take its stock and do its finishes, and its ``quotes``.
    The cheapest of those in its currency stands first, what is not known last.

    Parameters
    ----------
    last
        The order's last run, which knows of each artwork its pages and finishes.
    recall
        Where layouts of sheets are recalled from, as those of a run.
    """
    seen = {it.piece: it for it in last.artworks} if last is not None else {}
    found, alone = {}, _Alone(recall)
    for name, job in order.jobs.items():
        makers = [*_makers(order, job, seen.get(name), alone)]
        if len(makers) > 1:
            found[name] = _compared(makers, job.quantity)
    return found


def _compared(makers: list[_Maker], quantity: int) -> tuple[Offer, ...]:
    known = [(total, it) for it in makers if (total := it.total(quantity)) is not None]
    cheapest: dict[str | None, _Maker] = {}
    for _, maker in sorted(known, key=lambda one: one[0]):
        cheapest.setdefault(maker.currency, maker)
    made = [it.offer(cheapest.get(it.currency)) for it in makers]
    return tuple(
        sorted(made, key=lambda it: (it.total is None, it.currency or "", it.total or Decimal(0)))
    )


def _makers(order: Order, job: Job, seen: PieceArtwork | None, alone: "_Alone") -> Iterator[_Maker]:
    pages = None if seen is None else seen.pages
    asked = () if seen is None else seen.finishes
    kinds = {order.finishes[it].finish for it in asked if it in order.finishes}
    for name, vendor in order.vendors.items():
        here, devices = name == job.vendor_name, _devices(job, name, vendor)
        able = devices and kinds <= vendor.finishes.keys()
        if vendor.prices is not None and (here or (able and _covers(vendor.prices, job))):
            moved = [_moved(job, name, vendor, *device) for device in devices.items()]
            yield _best(_maker(order, one, pages, alone, prints_it=here) for one in moved)
    for name, quote in order.quotes.items():
        if job.name in quote.pieces or (not quote.pieces and _covers(quote.prices, job)):
            vendor = _vendor_of(quote)
            ((key, device),) = vendor.devices.items()
            moved_here = _moved(job, name, vendor, key, device)
            if quote.sheets:  # the shop has the stock in sheets of its own
                moved_here = replace(moved_here, stock=_as_large(job.stock, quote.sheets))
            yield _maker(order, moved_here, pages, alone, prints_it=False)


def _devices(job: Job, name: str, vendor: Vendor) -> dict[str, Device]:
    """Return the device that prints a piece, or those of another vendor that take its stock."""
    if name == job.vendor_name:
        return {job.pair.device: job.device}
    return {
        key: device
        for key, device in vendor.devices.items()
        if not device.stocks or job.pair.stock in device.stocks
    }


def _vendor_of(quote: Quote) -> Vendor:
    """Return as much of a vendor's profile as a quote tells."""
    return Vendor(
        title=quote.title,
        delivers=Delivers.SHEETS if quote.sheets else Delivers.PIECES,
        devices={"device": Device(sheets=quote.sheets)},
        overs=quote.overs,
        prices=quote.prices,
    )


def _as_large(stock: Stock, sheets: Sequence[Size]) -> Stock:
    """Return a stock out of which each of some sheets can be cut."""
    width, height = (max(it.width_pt for it in sheets), max(it.height_pt for it in sheets))
    return stock.model_copy(update={"size": Size(width_pt=width, height_pt=height)})


def _moved(job: Job, name: str, vendor: Vendor, key: str, device: Device) -> Job:
    """Return a piece as another vendor would print it."""
    pair = Pair(device=key, stock=job.pair.stock, setting=device.setting)
    return replace(job, pair=pair, vendor_name=name, vendor=vendor, device=device)


def _best(makers: Iterable[_Maker]) -> _Maker:
    """Return the device that takes the fewest sheets."""
    return max(makers, key=lambda it: (not it.why_unknown, it.on_a_sheet or 0))


def _maker(
    order: Order, job: Job, pages: int | None, alone: "_Alone", *, prints_it: bool
) -> _Maker:
    prices = job.vendor.prices
    assert prices is not None  # noqa: S101 - asked for before, and of a quote always there
    made = _Maker(job, prices, prices.currency or order.currency, prints_it)
    if job.vendor.delivers is Delivers.PIECES or job.fed_singly:
        return made
    try:
        asked = (1, 2) if pages is None else (pages,)
        counted = {alone.on_a_sheet(order, job, it) for it in asked}
    except OrderError as problem:
        return replace(made, why_unknown=problem.findings[0].message)
    if len(counted) > 1:
        return replace(made, why_unknown=SIDES_UNKNOWN)
    return replace(made, on_a_sheet=counted.pop())


@dataclass
class _Alone:
    """How many copies of a piece lie on a sheet that bears nothing else: each case laid once.

    Neither its name nor its number counts for that; nor, where room for marks takes no copy away,
    do the marks.
    """

    recall: Recall
    unmarked: dict[object, int | None] = field(default_factory=dict)
    marked: dict[object, int] = field(default_factory=dict)

    def on_a_sheet(self, order: Order, job: Job, pages: int) -> int:
        """Return how many copies a sheet holds. Raises OrderError where none fits."""
        sides = job.piece.sides_of(pages)
        named = item_of(job, sides).model_copy(update={"quantity": _MANY})
        item = named.model_copy(update={"name": _ANY})
        marks = mark_rules(order, job, slug_stand_in(order, job, ()))
        sheets, rules = sheets_of(job), layout_rules(job, sides)
        room = None if marks is None or job.vendor.frame is not None else marks.least_room_pt
        case = item, sheets, rules, room
        try:
            if case not in self.unmarked:
                self.unmarked[case] = self._whatever_marks(*case)
            known = self.unmarked[case]
            if known is not None:
                return known
            with_marks = *case, marks
            if with_marks not in self.marked:
                self.marked[with_marks] = _most(
                    lay_pieces(self.recall, job, [item], sides, marks)[0]
                )
            return self.marked[with_marks]
        except OrderError:  # once more by its own name, which stands in what is wrong
            return _most(lay_pieces(self.recall, job, [named], sides, marks)[0])

    def _whatever_marks(
        self, item: Item, sheets: tuple[SheetStock, ...], rules: LayoutRules, room: float | None
    ) -> int | None:
        """Return how many a sheet holds; None where that hangs on which marks find their room."""
        bare = self.recall(lay_out, [item], sheets, rules)
        if room is None:
            return _most(bare)
        if rules.costs is not None:
            return None
        most = _most(bare)
        least = rules.model_copy(update={"frame": Sides.even(room)})
        roomy = rules.model_copy(update={"frame": Sides.even(ROOMY_PT)})
        if self._in_frame(item, sheets, least) != most:
            return None
        # As when pieces are laid: so much room is kept only where it takes no sheet.
        kept = not misfit(item, sheets, roomy) and not takes_more(
            self.recall, [item], sheets, roomy, bare
        )
        return None if kept and self._in_frame(item, sheets, roomy) != most else most

    def _in_frame(
        self, item: Item, sheets: tuple[SheetStock, ...], rules: LayoutRules
    ) -> int | None:
        if misfit(item, sheets, rules):
            return None
        return _most(self.recall(lay_out, [item], sheets, rules))


def _most(laid: Imposition) -> int:
    """Return how many copies of the one piece that is laid the fullest sheet holds."""
    return max(it.copies_of(laid.items[0].name) for it in laid.layouts)


def _covers(prices: Prices, job: Job) -> bool:
    return any(it.table for it in prices.tables_for((job.name,), job.pair.stock))
