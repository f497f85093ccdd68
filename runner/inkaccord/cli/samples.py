"""``inkaccord samples``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ORDER, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_place import same_place, shelf_place, to_run
from inkaccord.cli.tables import Name, table
from inkaccord.today import today
from inkaccord.words import quoted

if TYPE_CHECKING:
    from inkaccord.report.sample_round import SampleOnItsWay


@click.command("samples")
@ORDER
@takes("shelf")
@JSON
@pass_settings
def command(settings: Settings, order: Path, as_json: bool) -> None:
    """Say where each sample sheet of an order is, and what is needed by when.

    ORDER is the YAML file, or a folder that holds order.yaml. A sheet is planned, sent, printed,
    back or read; 'inkaccord shelf sent', 'printed' and 'back' say so of one sheet or several.
    """
    from inkaccord.report.sample_round import SampleState, sample_round
    from inkaccord.shelf.store import Shelf

    loaded = settings.load(order)
    with Shelf.open(shelf_place(settings, loaded)) as shelf, shelf.one_state():
        found = sample_round(loaded.order, shelf.overview())
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
    place = same_place(settings, order)
    for state, verb in ((SampleState.PLANNED, "sent"), (SampleState.SENT, "back")):
        ids = [it.line.id for it in found if it.state is state]
        if ids:
            words = quoted("inkaccord", "shelf", verb, *ids) + place
            when = "off to be printed" if verb == "sent" else "back"
            settings.screen.print(f"When they are {when}: [cyan]{plain(words)}[/]", soft_wrap=True)


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
