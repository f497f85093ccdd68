"""Many orders run one after another: what came of each, and that a bad one stops no other."""

import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from inkaccord.cli.next_orders import NextOrders
from inkaccord.cli.one_run import FinishedRun, run_once
from inkaccord.cli.shared import Settings, as_data, failure_of
from inkaccord.cli.streams import end_asked_later
from inkaccord.diagnostics import Diagnostic, Place, Severity, error
from inkaccord.errors import OWN_MISTAKE, ExitCode, InkaccordError, OrderError
from inkaccord.files import working_folder
from inkaccord.order.finding import file_of_order
from inkaccord.out_folder import RECORD
from inkaccord.plugins import let_go
from inkaccord.report.wording import first_step, how_pieces_stand
from inkaccord.run.record import PieceStatus

_STATES: dict[int, PieceStatus] = {
    ExitCode.DONE: PieceStatus.READY,
    ExitCode.WAITING: PieceStatus.WAITING,
}


@dataclass(frozen=True)
class OrderOutcome:
    """What came of one order of many.

    Attributes
    ----------
    order
        Its file or folder, as it was named or found.
    exit_code
        What running it alone would have left with.
    pieces
        How many of its pieces stand how; none where it could not be run.
    next
        What it waits for, the first thing first; at least one sentence.
    record
        The record of its run; None where it could not be run.
    unchanged
        Whether there was nothing to do.
    findings
        Why it could not be run.
    """

    order: Path
    exit_code: int
    pieces: dict[PieceStatus, int]
    next: tuple[str, ...]
    record: Path | None = None
    unchanged: bool = False
    findings: tuple[Diagnostic, ...] = ()

    @classmethod
    def of_run(cls, order: Path, ran: FinishedRun) -> "OrderOutcome":
        """Return what came of an order that was run."""
        return cls(
            order=order,
            exit_code=int(ran.run.exit_code),
            pieces=how_pieces_stand(ran.run),
            next=tuple(step.text for step in ran.run.next) or (first_step(ran.run),),
            record=ran.where / RECORD,
            unchanged=ran.unchanged,
        )

    @classmethod
    def of_failure(cls, order: Path, code: int, findings: Sequence[Diagnostic]) -> "OrderOutcome":
        """Return what came of an order that could not be run."""
        why = (
            f"{finding.place.field}: {finding.message}" if finding.place.field else finding.message
            for finding in findings
            if finding.severity is Severity.ERROR
        )
        return cls(order, code, {}, tuple(why), findings=tuple(findings))

    @property
    def state(self) -> PieceStatus:
        """Where the order as a whole stands."""
        return _STATES.get(self.exit_code, PieceStatus.FAILED)

    def as_json(self) -> dict[str, Any]:
        """Return it as a line of ``--json``."""
        return {
            "order": str(self.order),
            "exit_code": self.exit_code,
            "state": self.state,
            "unchanged": self.unchanged,
            "pieces": self.pieces,
            "next": self.next if self.record else (),
            "record": None if self.record is None else str(self.record),
            "findings": as_data(self.findings),
        }


@dataclass
class Batch:
    """Many orders, and what came of those that have ended.

    Attributes
    ----------
    orders
        How many there are.
    outcomes
        Of those that have ended, in the order of their end.
    """

    orders: int
    outcomes: list[OrderOutcome] = field(default_factory=list)

    @property
    def states(self) -> dict[PieceStatus, int]:
        """How many orders that have ended stand how."""
        found = Counter(it.state for it in self.outcomes)
        return {it: found[it] for it in (*_STATES.values(), PieceStatus.FAILED)}

    @property
    def exit_code(self) -> int:
        """The worst of those that have ended."""
        return ExitCode.worst(it.exit_code for it in self.outcomes)

    def as_json(self) -> dict[str, Any]:
        """Return it as the last line of ``--json``."""
        ended = len(self.outcomes)
        states = {str(state): number for state, number in self.states.items()}
        return {"orders": self.orders, "ended": ended, "exit_code": self.exit_code, **states}


def run_each(
    settings: Settings, orders: Sequence[Path], progress: Callable[[Path, str], None]
) -> Iterator[OrderOutcome]:
    """Run orders and yield what came of each as it ends.

    Each is run as if it were alone, with plugins of its own, so that what is said of one is not
    said of the next; but what was computed for one, as of an artwork, is not computed again. Where
    there are workers they make the next ones meanwhile, which come out the same.
    """
    in_one_folder = _sharing_an_out_folder(orders)
    with working_folder() as folder:
        coming = NextOrders(settings, [it for it in orders if it not in in_one_folder])
        for order in orders:
            if order in in_one_folder:
                yield OrderOutcome.of_failure(order, ExitCode.WRONG, [in_one_folder[order]])
                continue
            told = partial(progress, order)
            run = partial(run_once, out=None, progress=told, shared=folder / "shared.sqlite")
            outcome = _run_one(replace(settings), order, told, run, coming)
            yield outcome
            if outcome.record is not None and not outcome.unchanged:
                with end_asked_later():
                    let_go()


def _run_one(
    settings: Settings,
    order: Path,
    progress: Callable[[str], None],
    run: Callable[..., FinishedRun],
    coming: NextOrders,
) -> OrderOutcome:
    progress("reading the order")
    try:
        ran = run(settings, order, ahead=coming.turn_of(order))
        return OrderOutcome.of_run(order, ran)
    except InkaccordError as problem:
        return OrderOutcome.of_failure(order, problem.exit_code, problem.findings)
    except BrokenPipeError:
        raise  # the reader of our output has gone, and no order is to blame
    except OSError as problem:
        failure = failure_of(problem)
        return OrderOutcome.of_failure(order, failure.exit_code, failure.findings)
    except Exception as problem:  # noqa: BLE001 - the other orders must not suffer from it
        traceback.print_exc()
        mistake = error(
            "own-mistake",
            f"a mistake of inkaccord's own stopped it: {type(problem).__name__}: {problem}",
            place=Place(file=str(order)),
            hint="report it with the lines above that begin with 'Traceback'; nothing was "
            "half-written",
        )
        return OrderOutcome.of_failure(order, OWN_MISTAKE, [mistake])


def _sharing_an_out_folder(orders: Sequence[Path]) -> dict[Path, Diagnostic]:
    """Return what is wrong with orders that lie in one folder, and so would write into one."""
    folders = {order: file_of_order(order).resolve().parent for order in orders}
    several = {it for it, number in Counter(folders.values()).items() if number > 1}
    return {
        order: OrderError.of(
            "one-out-folder",
            f"several of these orders lie in {order.parent}, and would write into one out folder",
            place=Place(file=str(order)),
            hint="give each a folder of its own, or run one at a time with --out",
        ).findings[0]
        for order, folder in folders.items()
        if folder in several
    }
