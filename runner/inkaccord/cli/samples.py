"""``inkaccord samples``."""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ON,
    ORDER_PATH,
    OUT,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
    tell,
)
from inkaccord.cli.shelf_place import order_words, same_place, shelf_place, to_record, to_run
from inkaccord.cli.tables import Name, table
from inkaccord.errors import ExitCode, InkaccordError
from inkaccord.today import today
from inkaccord.words import joined, quoted

if TYPE_CHECKING:
    from inkaccord.order.loading import LoadedOrder
    from inkaccord.recording.on_paper import Marked
    from inkaccord.report.sample_round import AwaitedSheet, SampleOnItsWay
    from inkaccord.run.record import Run
    from inkaccord.shelf.overview import SheetSummary

WHEN = {"sent": "off to be printed", "back": "back"}
"""The steps that are told of beside the list."""


@click.command("samples")
@click.argument("words", metavar="ORDER... [VENDOR]", nargs=-1, required=True)
@click.option("--sent", "step", flag_value="sent", help="VENDOR's sheets go off to be printed now.")
@click.option("--printed", "step", flag_value="printed", help="They are printed, in the house.")
@click.option("--back", "step", flag_value="back", help="They came back printed.")
@click.option("--place", default="", metavar="WHERE", help="Where they lie now that they are back.")
@ON
@OUT
@takes("shelf")
@JSON
@pass_settings
@click.pass_context
def command(
    ctx: click.Context,
    settings: Settings,
    words: tuple[str, ...],
    step: str | None,
    place: str,
    on: datetime.date,
    out: Path | None,
    as_json: bool,
) -> int:
    """Say where each sample sheet of orders is, and what is needed by when: what is due first.

    ORDER is the YAML file, or a folder that holds order.yaml; as for 'run' also a folder that holds
    orders, or a quoted pattern ('autumn/*'). A sheet is planned, sent, printed, back or read. With
    VENDOR and '--sent', '--printed' or '--back' it takes that step down for all sheets in this
    vendor's zips of the last runs that wait for it; 'inkaccord shelf sent', 'printed' and 'back' do
    it for one sheet or several. Without a step the last word is a VENDOR if nothing here is called
    so.
    """
    if place and step != "back":
        raise click.UsageError("--place says where sheets lie that are back: add --back")
    orders, vendor = _orders_and_vendor(ctx, words, step)
    if out is not None and len(orders) > 1:
        raise click.UsageError(f"--out is for one order, and {len(orders)} are named")
    asked, failed = _open(settings, orders, out)
    if vendor is not None:
        asked = _that_have(vendor, asked)
    if asked and step is not None and vendor is not None:
        _mark(settings, asked, vendor, step, place, on=on, as_json=as_json)
    elif as_json:
        _print(asked, failed, vendor)
    else:
        _show(settings, asked, vendor)
    if failed and (step or not as_json):
        for path, problem in failed:
            show_findings(settings.aside, problem.findings, order_words(settings, path))
    return int(ExitCode.worst([0, *(it.exit_code for _, it in failed)]))


@dataclass
class _Asked:
    """An order, what lies on its shelf, and its last run."""

    settings: Settings
    path: Path
    loaded: "LoadedOrder"
    out: Path | None

    @cached_property
    def shelf(self) -> str:
        return shelf_place(self.settings, self.loaded)

    @cached_property
    def lines(self) -> "tuple[SheetSummary, ...]":
        from inkaccord.shelf.store import Shelf

        with Shelf.open(self.shelf) as shelf, shelf.one_state():
            return shelf.overview(drift=False)

    @cached_property
    def run(self) -> "Run | None":
        from inkaccord.out_folder import OutFolder
        from inkaccord.recording.places import out_of

        return OutFolder(out_of(self.loaded, self.out)).previous

    def found(self, vendor: str | None) -> "list[SampleOnItsWay]":
        from inkaccord.report.sample_round import sample_round

        order = self.loaded.order
        found = sample_round(order, self.lines)
        return [it for it in found if vendor in {None, order.on(it.line.pair).vendor_name}]

    def zipped(self, vendor: str) -> list[str]:
        """Return the sheets in a vendor's zip."""
        sampling = self.run.sampling if self.run is not None else ()
        return [sheet for it in sampling if it.vendor == vendor for sheet in it.sheets]

    def mark(self, vendor: str, step: str, place: str, on: datetime.date) -> "Marked":
        from inkaccord.recording.on_paper import mark_waiting
        from inkaccord.report.wording import vendor_title
        from inkaccord.shelf.store import Shelf, clock_on

        to = vendor_title(self.loaded.order, vendor) if step == "sent" else place
        with Shelf.open(self.shelf, clock=clock_on(on)) as shelf:
            return mark_waiting(shelf, self.zipped(vendor), step, to)


def _orders_and_vendor(
    ctx: click.Context, words: Sequence[str], step: str | None
) -> tuple[tuple[Path, ...], str | None]:
    from glob import has_magic

    from inkaccord.order.finding import orders_named

    *before, last = words
    vendor = None
    if before and (step or not (Path(last).exists() or has_magic(last))):
        words, vendor = before, last
    elif step:
        raise click.UsageError(f"say whose sheets: inkaccord samples ORDER VENDOR --{step}")
    many = orders_named(words)
    if many is None:
        many = (Path(words[0]),)
    for path in many:
        ORDER_PATH.convert(path, ctx.command.params[0], ctx)
    return many, vendor


def _open(
    settings: Settings, orders: Sequence[Path], out: Path | None
) -> tuple[list[_Asked], list[tuple[Path, InkaccordError]]]:
    """Return the orders that can be read, and what is wrong with the others; one alone must be."""
    asked: list[_Asked] = []
    failed: list[tuple[Path, InkaccordError]] = []
    for path in orders:
        try:
            one = _Asked(settings, path, settings.load(path), out)
            _ = one.lines, one.run
            asked.append(one)
        except InkaccordError as problem:
            if len(orders) == 1:
                raise
            failed.append((path, problem))
    return asked, failed


def _that_have(vendor: str, asked: Sequence[_Asked]) -> list[_Asked]:
    """Return the orders that have a vendor. Raises OrderError where none has."""
    from inkaccord.report.vendor_message import need_vendor

    having = [it for it in asked if vendor in it.loaded.order.vendors]
    if asked and not having:
        need_vendor(asked[0].loaded.order, vendor)
    return having


def _mark(
    settings: Settings,
    asked: Sequence[_Asked],
    vendor: str,
    step: str,
    place: str,
    *,
    on: datetime.date,
    as_json: bool,
) -> None:
    from inkaccord.recording.on_paper import nothing_to_mark, said_of_all

    sheets = [name for it in asked for name in it.mark(vendor, step, place, on).sheets]
    if not sheets:
        where = "; ".join(to_run(settings, it.path, it.out, "samples") for it in asked)
        by_id = f"any sheet is marked by its id with: inkaccord shelf {step} SHEET"
        raise nothing_to_mark(vendor, step, f"where each is: {where}; {by_id}")
    words = f"{said_of_all(sheets, step)}."
    tell(settings, words, as_json=as_json, vendor=vendor, step=step, sheets=sheets)
    if not as_json:
        now = [_Asked(settings, it.path, it.loaded, it.out) for it in asked]
        _show_steps(settings, now, _due_first(now, vendor))


def _due_first(asked: Iterable[_Asked], vendor: str | None) -> "list[AwaitedSheet]":
    from inkaccord.report.sample_round import due_first
    from inkaccord.shelf.place import place_of

    return due_first((it.loaded.order.order, place_of(it.shelf), it.found(vendor)) for it in asked)


def _print(
    asked: Sequence[_Asked], failed: Sequence[tuple[Path, InkaccordError]], vendor: str | None
) -> None:
    now = today()
    rows = [_row(one, now) for one in _due_first(asked, vendor)]
    code = int(ExitCode.worst([0, *(it.exit_code for _, it in failed)]))
    findings = [one for _, it in failed for one in as_data(it.findings)]
    names = [it.loaded.order.order for it in asked]
    print_json({"exit_code": code, "orders": names, "sheets": rows, "findings": findings})


def _show(settings: Settings, asked: Sequence[_Asked], vendor: str | None) -> None:
    found = _due_first(asked, vendor)
    if not found:
        again = joined([f"'{to_run(settings, it.path)}'" for it in asked])
        if asked:
            settings.say(f"No sample sheet was asked for yet; {again} says what is needed.")
        return
    many = len(asked) > 1
    columns = ("sheet", *(("order",) if many else ()), "on", "it is", "since", "who has it", "by")
    listed = table(*columns, whole=("sheet", "since"))
    for awaited in found:
        one = awaited.one
        listed.add_row(
            plain(one.line.id),
            *((Name(", ".join(awaited.orders)),) if many else ()),
            Name(str(one.line.pair)),
            str(one.state),
            one.since.isoformat(),
            plain(one.who) or "–",
            one.next_by.isoformat() if one.next_by else "–",
        )
    settings.screen.print(listed)
    now = today()
    for awaited in found:
        if reminder := awaited.one.reminder(now):
            words = plain(f"{awaited.one.line.id}: {reminder}.")
            settings.screen.print(words, soft_wrap=True)
    _show_steps(settings, asked, found)


def _show_steps(
    settings: Settings, asked: Sequence[_Asked], found: "Sequence[AwaitedSheet]"
) -> None:
    """Show what takes down the next step of each sheet that is listed, each once."""
    from inkaccord.report.sample_round import SampleState

    said = [line for order in asked for line in _steps(settings, order, found)]
    if all(it.one.state is SampleState.READ for it in found):
        said = [*_runs(settings, asked, found), *said]
    for line in dict.fromkeys(said):
        settings.screen.print(line, soft_wrap=True)


def _runs(
    settings: Settings, asked: Sequence[_Asked], found: "Sequence[AwaitedSheet]"
) -> Iterator[str]:
    """Yield that all sheets are read, and what runs the orders that wait for no other."""
    from inkaccord.run.record import PieceStatus

    on_them = {name for it in found for name in it.orders}
    waiting = []
    for order in asked:
        pieces = order.run.pieces if order.run is not None else ()
        is_ready = pieces and all(it.status is PieceStatus.READY for it in pieces)
        if order.loaded.order.order in on_them and not is_ready:
            waiting.append(f"Next: [cyan]{plain(to_run(settings, order.path, order.out))}[/]")
    yield " ".join(["All of them are read.", *waiting[:1]])
    yield from waiting[1:]


def _steps(settings: Settings, asked: _Asked, found: "Sequence[AwaitedSheet]") -> Iterator[str]:
    """Yield what is said next of an order's sheets: whole zips, or sheets to read."""
    from inkaccord.report.sample_round import SampleState

    states = {it.one.line.id: it.one.state for it in found}
    asks = {it.sheet: it for it in asked.run.next} if asked.run is not None else {}
    for sheet in (it.id for it in asked.lines if it.id in states):
        if states[sheet] not in {SampleState.BACK, SampleState.PRINTED}:
            continue
        typed = plain(to_record(settings, sheet, asked.path))
        yield f"When {sheet} is read: [cyan]{typed}[/]"
        if (asked_for := asks.get(sheet)) is not None and asked_for.look:
            typed = plain(asked_for.look + same_place(settings, asked.path))
            yield f"What the eye decides on it: [cyan]{typed}[/]"
    lines = {it.id: it for it in asked.lines if it.id in states}
    for vendor in asked.loaded.order.vendors:
        there = [lines[it] for it in asked.zipped(vendor) if it in lines]
        for step in dict.fromkeys(step for it in there for step in it.next_on_paper):
            if step in WHEN:
                words = to_run(settings, asked.path, asked.out, "samples")
                typed = plain(f"{words} {quoted(vendor, f'--{step}')}")
                yield f"When those of {plain(vendor)} are {WHEN[step]}: [cyan]{typed}[/]"


def _row(awaited: "AwaitedSheet", now: datetime.date) -> dict[str, Any]:
    one = awaited.one
    dates = one.dates
    return {
        "id": one.line.id,
        "orders": list(awaited.orders),
        "pair": str(one.line.pair),
        "vendor": one.vendor,
        "state": str(one.state),
        "since": one.since.isoformat(),
        "who": one.who or None,
        "send_by": dates.send_by.isoformat() if dates else None,
        "back_by": dates.back_by.isoformat() if dates else None,
        "pieces": list(dates.pieces) if dates else [],
        "reminder": one.reminder(now),
    }
