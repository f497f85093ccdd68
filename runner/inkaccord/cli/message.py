"""``inkaccord message``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ORDER, OUT, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_place import shelf_place, to_run
from inkaccord.words import quoted

if TYPE_CHECKING:
    from inkaccord.report.vendor_message import Message
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
    from inkaccord.cli.one_run import load_with_book, order_to_send
    from inkaccord.order.diary import read_diary
    from inkaccord.report.vendor_message import messages
    from inkaccord.run.sending import sent_now
    from inkaccord.shelf.place import place_of

    loaded = load_with_book(settings, order)
    run, where = order_to_send(settings, loaded, order, out)
    place = place_of(shelf_place(settings, loaded))
    said = messages(loaded.order, run, vendor, _printed(place, run))
    if as_json:
        rows = [_row(one, where) for one in said]
        print_json({"exit_code": 0, "order": loaded.order.order, "messages": rows})
        return
    if not said:
        again = to_run(settings, order, out)
        settings.say(f"Nothing is ready to be sent yet; '{again}' says what is needed.")
    for number, one in enumerate(said):
        if number:
            settings.screen.print(f"\n{'-' * 40}\n")
        for line in one.text.splitlines():
            settings.screen.print(plain(line), soft_wrap=True)
    sent = sent_now(read_diary(loaded.path).sendings, run)
    hold = {it.vendor: it.on for it in sent if not it.changed}
    for one in said:
        samples = one.parcel is not None and one.parcel.sampling is not None
        if not samples and one.vendor in hold:
            settings.say(f"{one.vendor} was sent its files on {hold[one.vendor]}, as they are now.")
            continue
        typed = to_run(settings, order, out, "samples" if samples else "sent")
        words = quoted(one.vendor, *(["--sent"] if samples else []))
        done = "is told" if one.parcel is None else "has them" if samples else "has its files"
        settings.say(f"Once {one.vendor} {done}: {typed} {words}")


def _row(one: "Message", where: Path) -> dict[str, Any]:
    parcel = one.parcel
    sampling = None if parcel is None else parcel.sampling
    return {
        "vendor": one.vendor,
        "samples": [] if sampling is None else sampling.sheets,
        "zip": None if parcel is None else str(where / parcel.package.path),
        "message": one.text,
    }


def _printed(place: "ShelfPlace", run: "Run") -> frozenset[str]:
    """Return which sheets of a run's sampling are on paper by now."""
    if not run.sampling:
        return frozenset()
    from inkaccord.shelf.store import Shelf

    with Shelf.open(place) as shelf, shelf.one_state():
        lines = [shelf.summary(sheet) for it in run.sampling for sheet in it.sheets]
    return frozenset(it.id for it in lines if it.printed_at)
