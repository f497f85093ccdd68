"""``inkaccord message``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ORDER, OUT, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_place import shelf_place, to_run

if TYPE_CHECKING:
    from inkaccord.run.record import Run
    from inkaccord.shelf.place import ShelfPlace


@click.command("message")
@ORDER
@click.argument("vendor", metavar="[VENDOR]", required=False)
@OUT
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings, order: Path, vendor: str | None, out: Path | None, as_json: bool
) -> None:
    """Write what to say to a vendor when files or sample sheets are sent; to all, without VENDOR.

    ORDER is the YAML file, or a folder that holds order.yaml, as it was last run. The message is
    plain text, to be pasted and changed; its first line is the subject. Nothing is sent or kept.
    """
    from inkaccord.cli.one_run import load_with_book
    from inkaccord.errors import OrderError
    from inkaccord.recording.places import out_of
    from inkaccord.report.vendor_message import parcels, parcels_for, vendor_message
    from inkaccord.shelf.place import place_of
    from inkaccord.unchanged import RunInputs, last_run

    loaded = load_with_book(settings, order)
    where = out_of(loaded, out)
    inputs = RunInputs.read(loaded, settings.outside)
    place = place_of(shelf_place(settings, loaded))
    run = last_run(inputs, where, place, on_paper=False)
    if run is None:
        raise OrderError.of(
            "run-first",
            f"{loaded.order.order} was not run as it is now: it, its artwork, its files or what "
            "the shelf knows was changed since",
            hint=to_run(settings, order, out),
        )
    asked = loaded.order
    printed = _printed(place, run)
    ready = parcels(run, printed) if vendor is None else parcels_for(asked, run, vendor, printed)
    said = [vendor_message(asked, run, it) for it in ready]
    if as_json:
        messages = [
            {
                "vendor": parcel.vendor,
                "samples": [] if parcel.sampling is None else parcel.sampling.sheets,
                "zip": str(where / parcel.package.path),
                "message": text,
            }
            for parcel, text in zip(ready, said, strict=True)
        ]
        print_json({"exit_code": 0, "order": asked.order, "messages": messages})
        return
    if not said:
        settings.say("Nothing is ready to be sent yet.")
    for number, text in enumerate(said):
        if number:
            settings.screen.print(f"\n{'-' * 40}\n")
        for line in text.splitlines():
            settings.screen.print(plain(line), soft_wrap=True)


def _printed(place: "ShelfPlace", run: "Run") -> frozenset[str]:
    """Return which sheets of a run's sampling are on paper by now."""
    if not run.sampling:
        return frozenset()
    from inkaccord.shelf.store import Shelf

    with Shelf.open(place) as shelf, shelf.one_state():
        lines = [shelf.summary(sheet) for it in run.sampling for sheet in it.sheets]
    return frozenset(it.id for it in lines if it.printed_at)
