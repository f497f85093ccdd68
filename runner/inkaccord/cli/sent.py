"""``inkaccord sent``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ON,
    ORDER,
    OUT,
    Settings,
    pass_settings,
    plain,
    print_json,
    tell,
)
from inkaccord.cli.shelf_place import to_run
from inkaccord.words import counted, joined, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.run.record import Run


@click.command("sent")
@ORDER
@click.argument("vendor", metavar="[VENDOR]", required=False)
@ON
@click.option("--note", metavar="TEXT", default="", help="What is worth knowing of it.")
@OUT
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    order: Path,
    vendor: str | None,
    on: datetime.date,
    note: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Take down that VENDOR was sent its files; without VENDOR, say what was sent and when.

    ORDER is the YAML file, or a folder that holds order.yaml, as it was last run. The diary beside
    the order file keeps the digest of every print file and of the zip, and the number of copies.
    Where one of them is another later, run, report and page say so: the vendor holds what no
    longer counts.
    """
    from inkaccord.cli.one_run import load_with_book, order_to_send
    from inkaccord.order.diary import read_diary
    from inkaccord.out_folder import OutFolder
    from inkaccord.recording.places import out_of
    from inkaccord.report.sending import mark_sent
    from inkaccord.run.sending import sent_now, to_be_sent
    from inkaccord.unchanged import never_run

    loaded = load_with_book(settings, order)
    if vendor is not None:
        run, where = order_to_send(settings, loaded, order, out, sent=True)
        sending = mark_sent(loaded, run, where, vendor, on, note)
        told = f"on {sending.on}, {vendor} was told that what it was sent does not hold"
        number = counted(len(sending.files), "print file")
        was = f"{vendor} was sent {number} on {sending.on}" if sending.files else told
        words = f"Taken down: {was}."
        tell(settings, words, as_json=as_json, **sending.model_dump(mode="json"))
        if not as_json:
            _say_next(settings, to_be_sent(run, read_diary(loaded.path).sendings), run, order, out)
        return
    last = OutFolder(out_of(loaded, out)).previous
    if last is None:
        raise never_run(loaded.order.order, to_run(settings, order, out))
    sendings = read_diary(loaded.path).sendings
    found = sent_now(sendings, last)
    if as_json:
        print_json({"exit_code": 0, "sent": [it.model_dump(mode="json") for it in found]})
        return
    for then in found:
        now = f"since then: {'; '.join(then.changed)}" if then.changed else "as it lies here now"
        words = f"{then.vendor}: sent on {then.on}{f' ({then.note})' if then.note else ''}, {now}"
        settings.screen.print(plain(words), soft_wrap=True)
    if not found:
        settings.say("Nothing was sent yet, as far as the diary says.")
    if loaded.sha256 != last.order_sha256:
        again = to_run(settings, order, out)
        settings.say(
            f"The order was changed since its last run, which this is held against: {again}"
        )
        return
    _say_next(settings, to_be_sent(last, sendings), last, order, out)


def _say_next(
    settings: Settings, vendors: "Sequence[str]", run: "Run", order: Path, out: Path | None
) -> None:
    """Say who is still to be sent what is ready, and what writes the words for it."""
    from inkaccord.run.record import PieceStatus

    if not vendors and all(it.status is PieceStatus.READY for it in run.pieces):
        settings.screen.print("Every vendor has its files.")
    if vendors:
        words = plain(f"{to_run(settings, order, out, 'message')} {quoted(vendors[0])}")
        who = plain(joined(vendors))
        settings.screen.print(f"Still to be sent: {who}. Next: [cyan]{words}[/]", soft_wrap=True)
