"""Two orders, or two runs of one, held against each other."""

from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError, OrderError
from inkaccord.files import read_bytes
from inkaccord.order.approving import SignedFor, asked_changes, shown_of
from inkaccord.order.loading import LoadedOrder
from inkaccord.run.differing import RunDifferences, differences
from inkaccord.run.record import FORMAT, Run
from inkaccord.words import quoted


@dataclass(frozen=True)
class OrderSide:
    """One of the two.

    Attributes
    ----------
    asked
        What its order asks for; None for a run that was kept alone.
    changed_since
        Whether the order is not what was run.
    """

    name: str
    run: Run
    asked: SignedFor | None = None
    changed_since: bool = False


def between(before: OrderSide, now: OrderSide) -> RunDifferences:
    """Return what is otherwise in the later of two sides."""
    asked: tuple[str, ...] = ()
    if before.asked is not None and now.asked is not None:
        asked = tuple(asked_changes(before.asked, now.asked))
    return differences(before.run, now.run, asked)


def order_side(loaded: LoadedOrder, run: Run | None, name: str) -> OrderSide:
    """Return an order, whose book was asked, with its last run.

    Raises OrderError ``run-first`` where there is none.
    """
    if run is None:
        raise OrderError.of(
            "run-first",
            f"{name} was not run yet, so there is nothing to compare",
            hint=quoted("inkaccord", "run", name),
        )
    try:
        asked = shown_of(loaded)
    except FileError:
        asked = None
    return OrderSide(name, run, asked, run.order_sha256 != loaded.sha256)


def kept_run(path: Path) -> Run:
    """Return a run from its record. Raises FileError for a file that is none of this release's."""
    try:
        run = Run.model_validate_json(read_bytes(path))
    except ValidationError:
        run = None
    if run is None or run.format != FORMAT:
        raise FileError.of(
            "no-record",
            "this is no run.json that a run of this release left",
            place=Place(file=str(path)),
            hint="run that order again, and name the order",
        )
    return run
