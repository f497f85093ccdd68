"""``inkaccord samples``."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ORDER,
    OUT,
    Settings,
    pass_settings,
    plain,
    print_json,
    tell,
)
from inkaccord.cli.shelf_place import shelf_place, to_run
from inkaccord.cli.tables import Name, table
from inkaccord.today import today
from inkaccord.words import joined, quoted

if TYPE_CHECKING:
    from inkaccord.report.sample_round import SampleOnItsWay
    from inkaccord.run.record import Run
    from inkaccord.shelf.overview import SheetSummary
    from inkaccord.shelf.store import Shelf

WHEN = {"sent": "off to be printed", "back": "back"}
"""The steps that are told of beside the list."""


@click.command("samples")
@ORDER
@click.argument("vendor", metavar="[VENDOR]", required=False)
@click.option("--sent", "step", flag_value="sent", help="VENDOR's sheets go off to be printed now.")
@click.option("--printed", "step", flag_value="printed", help="They are printed, in the house.")
@click.option("--back", "step", flag_value="back", help="They came back printed.")
@click.option("--place", default="", metavar="WHERE", help="Where they lie now that they are back.")
@OUT
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    order: Path,
    vendor: str | None,
    step: str | None,
    place: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Say where each sample sheet of an order is, and what is needed by when.

    ORDER is the YAML file, or a folder that holds order.yaml. A sheet is planned, sent, printed,
    back or read. With VENDOR and '--sent', '--printed' or '--back' it takes that step down for all
    sheets in this vendor's zip of the last run that wait for it; 'inkaccord shelf sent', 'printed'
    and 'back' do it for one sheet or several.
    """
    if place and step != "back":
        raise click.UsageError("--place says where sheets lie that are back: add --back")
    if step and not vendor:
        raise click.UsageError(f"say whose sheets: inkaccord samples ORDER VENDOR --{step}")
    from inkaccord.errors import OrderError
    from inkaccord.out_folder import OutFolder
    from inkaccord.recording.places import out_of
    from inkaccord.report.sample_round import sample_round
    from inkaccord.report.vendor_message import need_vendor
    from inkaccord.report.wording import vendor_title
    from inkaccord.shelf.store import Shelf

    loaded = settings.load(order)
    if vendor is not None:
        need_vendor(loaded.order, vendor)
    with Shelf.open(shelf_place(settings, loaded)) as shelf:
        with shelf.one_state():
            lines = shelf.overview()
        found = sample_round(loaded.order, lines)
        waiting = _waiting(lines, OutFolder(out_of(loaded, out)).previous)
        if step and vendor:
            sheets = waiting.get((vendor, step), [])
            if not sheets:
                raise OrderError.of(
                    "nothing-to-mark",
                    f"no sample sheet of the last run for {vendor} waits to be marked as {step}",
                    hint=f"where each is: {to_run(settings, order, out, 'samples')}; any sheet is "
                    f"marked by its id with: inkaccord shelf {step} SHEET",
                )
            to = vendor_title(loaded.order, vendor) if step == "sent" else place
            for sheet in sheets:
                _mark(shelf, sheet, step, to)
            words = f"{joined(sheets)} {'is' if len(sheets) == 1 else 'are'} {step}."
            tell(settings, words, as_json=as_json, vendor=vendor, step=step, sheets=sheets)
            return
    if vendor is not None:
        found = [it for it in found if loaded.order.on(it.line.pair).vendor_name == vendor]
    now = today()
    if as_json:
        rows = [_row(it) | {"reminder": it.reminder(now)} for it in found]
        print_json({"exit_code": 0, "order": loaded.order.order, "sheets": rows})
        return
    if not found:
        again = to_run(settings, order)
        settings.say(f"No sample sheet was asked for yet; '{again}' says what is needed.")
        return
    listed = table("sheet", "on", "it is", "since", "who has it", "by", whole=("sheet", "since"))
    for one in found:
        listed.add_row(
            plain(one.line.id),
            Name(str(one.line.pair)),
            str(one.state),
            one.since.isoformat(),
            plain(one.who) or "–",
            one.next_by.isoformat() if one.next_by else "–",
        )
    settings.screen.print(listed)
    for one in found:
        if reminder := one.reminder(now):
            settings.screen.print(plain(f"{one.line.id}: {reminder}."), soft_wrap=True)
    listed_here = {it.line.id for it in found}
    for (name, verb), ids in waiting.items():
        if verb in WHEN and not listed_here.isdisjoint(ids):
            words = f"{to_run(settings, order, out, 'samples')} {quoted(name, f'--{verb}')}"
            said = f"When those of {plain(name)} are {WHEN[verb]}: [cyan]{plain(words)}[/]"
            settings.screen.print(said, soft_wrap=True)


def _waiting(
    lines: "Iterable[SheetSummary]", run: "Run | None"
) -> dict[tuple[str, str], list[str]]:
    """Return the sheets in each vendor's zip that wait for a step, by vendor and step."""
    steps = {it.id: it.next_on_paper for it in lines}
    found: dict[tuple[str, str], list[str]] = {}
    for sampling in run.sampling if run is not None else ():
        for sheet in sampling.sheets:
            for step in steps.get(sheet, ()):
                found.setdefault((sampling.vendor, step), []).append(sheet)
    return found


def _mark(shelf: "Shelf", sheet: str, step: str, place: str) -> None:
    from inkaccord.shelf.kept import MoveKind

    if step == "printed":
        shelf.paper.mark_printed(sheet)
    else:
        shelf.paper.move(sheet, MoveKind(step), place)


def _row(one: "SampleOnItsWay") -> dict[str, Any]:
    dates = one.dates
    return {
        "id": one.line.id,
        "pair": str(one.line.pair),
        "vendor": one.vendor,
        "state": str(one.state),
        "since": one.since.isoformat(),
        "who": one.who or None,
        "send_by": dates.send_by.isoformat() if dates else None,
        "back_by": dates.back_by.isoformat() if dates else None,
        "pieces": list(dates.pieces) if dates else [],
    }
