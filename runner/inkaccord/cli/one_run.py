"""One run of an order for the screen: opened, run, and how to call on the same shelf again."""

from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings, plain
from inkaccord.cli.shelf_place import order_words, same_place, shelf_place, to_run
from inkaccord.errors import InkaccordError
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.recording.places import out_of
from inkaccord.run.record import Run
from inkaccord.run.sending import sent_now
from inkaccord.shelf.place import place_of
from inkaccord.shelf.register import remember
from inkaccord.unchanged import RunInputs, is_overtaken, last_run, run_to_send

if TYPE_CHECKING:
    from inkaccord.run.bench import Progress
    from inkaccord.runs import Ahead


@dataclass(frozen=True)
class FinishedRun:
    """A run's record and order, where its files are, and how commands that follow are written."""

    run: Run
    asked: Order
    where: Path
    same_place: str
    """What a command adds to be about the same order and shelf."""
    again: str
    """The command that runs the order again."""
    approve: str = ""
    """The command that takes a client's approval of it down."""
    unchanged: bool = False
    """Whether there was nothing to do."""
    order: tuple[str, ...] = ()
    """How a command names the order, with the options that lead to its results and shelf."""


def run_once(
    settings: Settings,
    order: Path,
    *,
    out: Path | None,
    progress: "Progress | None" = None,
    shared: Path | None = None,
    ahead: "Ahead | None" = None,
) -> FinishedRun:
    """Run an order once; what would only repeat the last run is not done, nor loaded.

    How it goes on is shown, or told to ``progress``; of many orders, ``shared`` is a file for what
    others have computed, and ``ahead`` is what a worker makes of this one.
    """
    loaded = load_with_book(settings, order)
    where = out_of(loaded, out)
    place = shelf_place(settings, loaded)
    last = still_stands(RunInputs.read(loaded, settings.outside), where, place)
    if last is None:
        run = _made(settings, loaded, where, place, progress, shared, ahead)
    else:
        run = last
        remember(place_of(place), loaded.order.order, loaded.path)
    words = order_words(settings, order, out)
    again = to_run(settings, order, out)
    to_approve = f"{to_run(settings, order, out, 'approve')} --by NAME"
    return FinishedRun(
        run,
        loaded.order,
        where,
        same_place(settings, order),
        again,
        to_approve,
        last is run,
        tuple(words),
    )


def still_stands(inputs: RunInputs, where: Path, place: str) -> Run | None:
    """Return the record of the last run into a folder, where there is nothing to do."""
    last = last_run(inputs, where, place_of(place))
    if last is None or last.sent != sent_now(inputs.diary.sendings, last):
        return None
    return last


def order_to_send(
    settings: Settings, loaded: LoadedOrder, order: Path, out: Path | None, *, sent: bool = False
) -> tuple[Run, Path]:
    """Return an order's last run and its out folder, from which files may be sent as they lie.

    Raises as :func:`~inkaccord.unchanged.run_to_send`.
    """
    where, place = out_of(loaded, out), place_of(shelf_place(settings, loaded))
    again = to_run(settings, order, out)
    return run_to_send(
        RunInputs.read(loaded, settings.outside), where, place, again, sent=sent
    ), where


def load_with_book(settings: Settings, order: Path) -> LoadedOrder:
    """Load an order, with what the book says of its colours where it names the book's."""
    loaded = settings.load(order)
    if not loaded.order.asks_book:
        return loaded
    from inkaccord.recording.from_book import with_book
    from inkaccord.runs import take_in_evidence
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_place(settings, loaded)) as shelf:
        take_in_evidence(loaded, shelf, settings.say_more)
        return with_book(loaded, shelf)


def overtaken(settings: Settings, order: Path, ran: FinishedRun) -> bool:
    """Tell whether something that a run rests on was changed while it went on."""
    try:
        loaded = load_with_book(settings, order)
    except InkaccordError:
        return False  # that the order's file is changed is seen by the file
    inputs = RunInputs.read(loaded, settings.outside)
    return is_overtaken(ran.run, inputs, ran.where, place_of(shelf_place(settings, loaded)))


def _made(
    settings: Settings,
    loaded: LoadedOrder,
    where: Path,
    place: str,
    progress: "Progress | None",
    shared: Path | None,
    ahead: "Ahead | None",
) -> Run:
    from inkaccord.runs import run_order
    from inkaccord.shelf.store import Shelf

    with (
        nullcontext() if progress else settings.working(f"running {loaded.order.order}") as status,
        Shelf.open(place) as store,
    ):

        def show(text: str) -> None:
            if status is not None:
                status.update(plain(text))
            else:
                settings.say_more(text)

        remember(store.place, loaded.order.order, loaded.path)
        return run_order(
            loaded,
            out=where,
            shelf=store,
            plugins=settings.loaded,
            progress=progress or show,
            remark=settings.say,
            engine=settings.engine,
            shared=shared,
            ahead=ahead,
        )
