"""What ``inkaccord run`` shows of many orders: a line for each as it ends, and their sum."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from rich.live import Live
from rich.table import Table
from rich.text import Text

from inkaccord.cli.many_runs import Batch, OrderOutcome, run_each
from inkaccord.cli.run_summary import STATUS_STYLE
from inkaccord.cli.shared import Settings, plain, print_json, show_findings
from inkaccord.cli.shelf_place import order_words
from inkaccord.cli.tables import Name, table
from inkaccord.words import counted, visible

_ROUND_IT = 5
"""Lines of the screen that the orders which have ended leave free while others run."""


def run_many(settings: Settings, orders: Sequence[Path], *, as_json: bool) -> int:
    """Run many orders, show what comes of each, and return the worst exit code."""
    batch = Batch(len(orders))
    on_screen = not as_json and settings.screen.is_terminal
    shown = _Filling(settings, batch) if on_screen else _Lines(settings, as_json=as_json)
    try:
        with shown.open():
            for outcome in run_each(settings, orders, shown.progress):
                batch.outcomes.append(outcome)
                shown.ended(outcome)
    finally:
        if on_screen and batch.outcomes:
            _show_table(settings, batch.outcomes)
        _show_sum(settings, batch, as_json=as_json)
    return batch.exit_code


class _Lines:
    """A line for each order as it ends, for programs and files."""

    def __init__(self, settings: Settings, *, as_json: bool) -> None:
        self._settings = settings
        self._as_json = as_json

    @contextmanager
    def open(self) -> Iterator[None]:
        yield

    def progress(self, order: Path, text: str) -> None:
        self._settings.say_more(f"{order}: {text}")

    def ended(self, outcome: OrderOutcome) -> None:
        if self._as_json:
            print_json(outcome.as_json(), lines=False)
            return
        line = f"{outcome.order}: {_standing(outcome)}. {_next(outcome)}"
        self._settings.screen.print(plain(line), soft_wrap=True)
        _show_findings(self._settings, outcome)


class _Filling:
    """A table on a terminal that fills while the orders run."""

    def __init__(self, settings: Settings, batch: Batch) -> None:
        self._batch = batch
        self._screen = settings.screen
        self._now = ""
        self._live = Live(
            console=self._screen, get_renderable=self._shown, transient=True, refresh_per_second=4
        )

    @contextmanager
    def open(self) -> Iterator[None]:
        with self._live:
            yield

    def progress(self, order: Path, text: str) -> None:
        self._now = f"{order}: {text}"

    def ended(self, outcome: OrderOutcome) -> None:
        del outcome  # the batch has it
        self._live.refresh()

    def _shown(self) -> Table:
        whole = Table.grid()
        ended = self._batch.outcomes
        room = max(1, self._screen.height - _ROUND_IT)
        whole.add_row(_table(ended[-room:], one_line_each=True))
        of_all = f"{len(ended)} of {self._batch.orders}   {visible(self._now)}"
        whole.add_row(Text(of_all, style="dim", no_wrap=True, overflow="ellipsis"))
        return whole


def _show_findings(settings: Settings, outcome: OrderOutcome) -> None:
    show_findings(settings.aside, outcome.findings, order_words(settings, outcome.order))


def _show_table(settings: Settings, outcomes: Sequence[OrderOutcome]) -> None:
    settings.screen.print(_table(outcomes))
    for outcome in outcomes:
        _show_findings(settings, outcome)


def _table(outcomes: Sequence[OrderOutcome], *, one_line_each: bool = False) -> Table:
    made = table("order", "state", "next")
    for outcome in outcomes:
        style = STATUS_STYLE[outcome.state]
        step = Text(visible(_next(outcome)), no_wrap=one_line_each, overflow="ellipsis")
        made.add_row(Name(str(outcome.order)), f"[{style}]{plain(_standing(outcome))}[/]", step)
    return made


def _standing(outcome: OrderOutcome) -> str:
    pieces = [f"{number} {status}" for status, number in outcome.pieces.items()]
    unchanged = ["unchanged"] if outcome.unchanged else []
    return ", ".join([*pieces, *unchanged]) or str(outcome.state)


def _next(outcome: OrderOutcome) -> str:
    first, *others = outcome.next
    return f"{first} (and {len(others)} more)" if others else first


def _show_sum(settings: Settings, batch: Batch, *, as_json: bool) -> None:
    if as_json:
        print_json(batch.as_json(), lines=False)
        return
    ended = len(batch.outcomes)
    of_all = counted(batch.orders, "order")
    states = ", ".join(f"{number} {state}" for state, number in batch.states.items() if number)
    left = batch.orders - ended
    rest = f"; {left} not run yet: the same command goes on there" if left else ""
    settings.screen.print()
    settings.screen.print(plain(f"{of_all}: {states or 'none was run'}{rest}."), soft_wrap=True)
