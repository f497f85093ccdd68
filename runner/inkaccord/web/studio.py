"""What a start of the page was opened on: orders in one folder, and the plugins that read them."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from starlette.requests import Request

from inkaccord.colour.pairs import Pair
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.files import read_bytes, sha256_of
from inkaccord.order.approving import is_held_for_approval
from inkaccord.order.diary import read_diary
from inkaccord.order.finding import order_files
from inkaccord.order.loading import ORDER_FILE, LoadedOrder, load_order
from inkaccord.order.model import Order
from inkaccord.out_folder import OutFolder
from inkaccord.plugins import Plugins
from inkaccord.recall.recent import Recent
from inkaccord.recording.asked import AskedShelf
from inkaccord.recording.from_book import with_book
from inkaccord.recording.places import out_of, shelf_of
from inkaccord.run.record import Run
from inkaccord.run.sending import with_sent
from inkaccord.shelf.place import ShelfPlace, place_of
from inkaccord.shelf.store import Shelf
from inkaccord.unchanged import RunInputs, found_before, is_overtaken

MOST_TYPED = 200
"""Characters that are kept of a place or a reason."""


@dataclass(frozen=True)
class OrderOnPage:
    """One order file, as it stands now.

    Attributes
    ----------
    key
        What the page calls it in its addresses: never a path.
    """

    key: str
    path: Path
    plugins: Plugins = field(repr=False)
    asked_shelf: str | None = None

    @cached_property
    def loaded(self) -> LoadedOrder:
        """The order. Raises InkaccordError with every mistake in its file."""
        return load_order(self.path, self.plugins.vendor_kinds())

    @cached_property
    def sha256(self) -> str:
        """Of the file as it is now."""
        return sha256_of(read_bytes(self.path))

    @cached_property
    def text(self) -> str:
        """The file as text, whose lines end with a line feed alone."""
        typed = read_bytes(self.path).decode("utf-8", errors="replace")
        return typed.replace("\r\n", "\n")

    @cached_property
    def trouble(self) -> InkaccordError | None:
        """What is wrong with the file or where it would write; None for an order that can run."""
        try:
            _ = self.out, self.shelf
        except InkaccordError as problem:
            return problem
        return None

    @cached_property
    def shelf(self) -> ShelfPlace:
        """Where its shelf is."""
        return place_of(shelf_of(self.loaded, self.asked_shelf))

    @cached_property
    def out(self) -> Path:
        """Its out folder."""
        return out_of(self.loaded)

    @cached_property
    def run(self) -> Run | None:
        """The record of its last run; None before the first."""
        return None if self.trouble else OutFolder(self.out).previous

    @cached_property
    def run_now(self) -> Run | None:
        """The record of its last run, with what was sent as the diary says by now."""
        if self.run is None:
            return None
        held = is_held_for_approval(self.loaded.order, self.run.approval)
        try:
            return with_sent(self.run, read_diary(self.path).sendings, held=held)
        except FileError:
            return self.run

    @cached_property
    def is_stale(self) -> bool:
        """Whether what the last run rests on was changed since; not where nobody knows.

        That a sheet was sent, printed or laid somewhere is none: the page says where each is now.
        """
        if self.run is None:
            return False
        try:
            inputs = RunInputs.read(self.with_book(), self.plugins)
        except OrderError:
            return True  # the book does not have any more what it had then: a run says so
        except FileError:
            return False
        return is_overtaken(self.run, inputs, self.out, self.shelf, on_paper=False)

    def with_book(self) -> LoadedOrder:
        """Return the order as a run has it, which took its evidence in, and asked the book."""
        if not self.loaded.order.asks_book:
            return self.loaded
        with Shelf.open(self.shelf) as shelf:
            return with_book(self.loaded, shelf)

    @property
    def title(self) -> str:
        """What a person calls it."""
        if self.trouble is None:
            return self.loaded.order.title or self.loaded.order.order
        return self.path.parent.name or self.path.name


@dataclass(frozen=True)
class Studio:
    """The folder, or the one order, that a person opened."""

    opened: Path
    plugins: Plugins
    shelf: str | None = None

    def orders(self) -> list[OrderOnPage]:
        """Return every order, read anew, in the order of their paths."""
        return [self.at(path) for path in sorted(order_files(self.opened))]

    @property
    def holds_others(self) -> bool:
        """Whether another order may be begun beside those that are here."""
        return self.opened.is_dir() and not (self.opened / ORDER_FILE).is_file()

    def folder_for_another(self) -> Path:
        """Return the folder that a new order lies in. Raises OrderError ``one-order``."""
        if not self.holds_others:
            raise OrderError.of(
                "one-order",
                "the page was opened on one order, and has no folder for another",
                hint="open the folder that your orders lie in: inkaccord open FOLDER",
            )
        return self.opened

    def at(self, path: Path) -> OrderOnPage:
        """Return the order of a file."""
        key = sha256_of(str(path.resolve()).encode())[:12]
        return OrderOnPage(key, path, self.plugins, self.shelf)

    def order(self, key: str) -> OrderOnPage:
        """Return one of them. Raises OrderError ``no-such-order``."""
        for order in self.orders():
            if order.key == key:
                return order
        raise OrderError.of(
            "no-such-order",
            "this order is not in the opened folder any more",
            hint="its file was moved or renamed; go back to all orders",
        )


def asked_order(request: Request) -> OrderOnPage:
    """Return the order that a request's address names. Raises OrderError ``no-such-order``."""
    studio: Studio = request.app.state.studio
    return studio.order(request.path_params["order"])


@contextmanager
def recalled(recent: Recent, loaded: LoadedOrder | None) -> Iterator[Recent]:
    """Give what the page found out lately, and what the last run of an order did."""
    if loaded is None:
        yield recent
        return
    with closing(found_before(loaded)) as before:
        yield recent.before(before)


@dataclass(frozen=True)
class ShelfOnPage:
    """A shelf that is asked from an order's page, or from the studio's own, without an order."""

    place: ShelfPlace
    plugins: Plugins
    recent: Recent
    order: OrderOnPage | None = None

    @property
    def known(self) -> Order | None:
        """What the order says of pairs and colours."""
        return None if self.order is None else self.order.loaded.order

    def pairs(self) -> tuple[Pair, ...]:
        """Return the pairs that the order needs, and those that the shelf knows."""
        with Shelf.open(self.place) as shelf:
            on_shelf = shelf.pairs()
        needed = self.known.pairs_needed() if self.known else ()
        return tuple(dict.fromkeys((*needed, *on_shelf)))

    @property
    def at(self) -> str:
        """What the addresses of pages about it begin with."""
        return "" if self.order is None else f"/order/{self.order.key}"

    @contextmanager
    def opened(self) -> Iterator[AskedShelf]:
        """Open it, to be asked."""
        loaded = None if self.order is None else self.order.loaded
        with Shelf.open(self.place) as shelf, recalled(self.recent, loaded) as recall:
            yield AskedShelf(shelf, self.known, recall=recall)


def asked_shelf(request: Request) -> ShelfOnPage:
    """Return the shelf that a request is about: the order's that its address names, or the usual.

    Raises OrderError ``no-such-order``.
    """
    return shelf_about(request, asked_order(request) if "order" in request.path_params else None)


def shelf_about(request: Request, order: OrderOnPage | None) -> ShelfOnPage:
    """Return an order's shelf; without one the usual."""
    recent: Recent = request.app.state.recent
    if order is not None:
        return ShelfOnPage(order.shelf, order.plugins, recent, order)
    studio: Studio = request.app.state.studio
    return ShelfOnPage(place_of(shelf_of(None, studio.shelf)), studio.plugins, recent)
