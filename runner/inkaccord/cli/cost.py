"""``inkaccord cost``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ORDER, OUT, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_place import to_run
from inkaccord.cli.tables import Name, table
from inkaccord.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.order.job import Job
    from inkaccord.prepress.offers import Offer
    from inkaccord.report.cost_list import CostList


@click.command("cost")
@ORDER
@click.option(
    "--csv",
    "target",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write it for the books: one line for each thing to pay.",
)
@OUT
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings, order: Path, target: Path | None, out: Path | None, as_json: bool
) -> None:
    """Say what an order costs by the prices that it states, sample sheets included.

    ORDER is the YAML file, or a folder that holds order.yaml. Each line is a number times a price,
    rounded to the currency's smallest unit (half away from zero); a total is the sum of its lines,
    in each currency by itself. What has no price is named, and is in no total. Taxes are not
    considered.

    Where more than one vendor could print a piece, their prices are compared: those of the order
    that take its stock and do its finishes, and those under 'quotes:'. Where a vendor is paid by
    the sheet, the sheets are those that the piece takes laid alone.
    """
    from inkaccord.files import write_if_changed
    from inkaccord.order.pricing import totals
    from inkaccord.out_folder import OutFolder
    from inkaccord.prepress.offers import offers
    from inkaccord.recording.places import out_of
    from inkaccord.report.cost_list import cost_csv, cost_list
    from inkaccord.run.paying import charges_now

    loaded = settings.load(order)
    last = OutFolder(out_of(loaded, out)).previous
    charges, as_run = charges_now(loaded, last)
    if target is not None:
        write_if_changed(target, cost_csv(loaded.order, charges))
    cost, quotes = cost_list(charges), offers(loaded.order, last)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "order": loaded.order.order,
                "charges": [it.model_dump(mode="json") for it in charges],
                "totals": {currency: str(it) for currency, it in totals(charges).items()},
                "without": cost.without,
                "quotes": {piece: [_row(it) for it in made] for piece, made in quotes.items()},
                "csv": None if target is None else str(target),
            }
        )
        return
    _show(settings, cost)
    for piece, made in quotes.items():
        _show_quotes(settings, loaded.order.jobs[piece], made)
    if not as_run:
        again = to_run(settings, order, out)
        settings.say(f"The order was not run as it is now; '{again}' lays its sheets.")
    if target is not None:
        settings.say(f"Written: {target}")


def _show(settings: Settings, cost: "CostList") -> None:
    if not cost.lines:
        settings.say("No vendor of this order states prices: add 'prices:' to one.")
        return
    listed = table(
        "vendor", "for", "what", "number", "each", "sum", "", right=("number", "each", "sum")
    )
    for one in cost.lines:
        listed.add_row(
            Name(one.vendor), plain(one.of), one.what, one.number, one.each, one.sum, one.currency
        )
    settings.screen.print(listed)
    settings.screen.print(f"Total: [bold]{cost.total}[/]", soft_wrap=True)
    for line in (*(f"without {it}" for it in cost.without), *cost.notes):
        settings.screen.print(plain(f"  {line}"), soft_wrap=True)


def _show_quotes(settings: Settings, job: "Job", offers: "Sequence[Offer]") -> None:
    from inkaccord.report.cost_list import quote_lines

    columns = ("number", "each", "set-up", "delivery", "sum")
    listed = table("vendor", *columns, right=columns)
    lines = quote_lines(offers)
    for one in lines:
        listed.add_row(Name(one.vendor), one.number, one.each, one.setup, one.delivery, one.total)
    title = f"{job.name}, {counted(job.quantity, 'piece')}"
    settings.screen.print(f"\n[bold]Quotes for {plain(title)}[/]")
    settings.screen.print(listed)
    for line in (note for one in lines for note in one.notes):
        settings.screen.print(plain(f"  {line}."), soft_wrap=True)
    if not any(it.prints_it for it in offers):
        settings.screen.print(
            plain(f"  {job.vendor_name}, which prints it, states no prices."),
            soft_wrap=True,
        )


def _row(offer: "Offer") -> dict[str, Any]:
    return {
        "vendor": offer.vendor,
        "prints_it": offer.prints_it,
        "charges": [it.model_dump(mode="json") for it in offer.charges],
        "total": None if offer.total is None else str(offer.total),
        "currency": offer.currency,
        "on_a_sheet": offer.on_a_sheet,
        "past_table": offer.past_table,
        "cheaper_from": offer.cheaper_from,
        "cheaper_to": offer.cheaper_to,
    }
