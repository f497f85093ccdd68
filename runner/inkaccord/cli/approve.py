"""``inkaccord approve``."""

import datetime
from pathlib import Path

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ON, ORDER, OUT, Settings, pass_settings, tell
from inkaccord.cli.shelf_place import to_run
from inkaccord.errors import InkaccordError


@click.command("approve")
@ORDER
@click.option("--by", metavar="NAME", required=True, help="Who approved it.")
@click.option("--note", metavar="TEXT", default="", help="What was said with it.")
@click.option(
    "--code",
    metavar="CODE",
    default="",
    help="The code on the page that was signed; another one than that of now is refused.",
)
@click.option(
    "--scan",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="The signed page, scanned or photographed: a copy is kept.",
)
@ON
@OUT
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    order: Path,
    by: str,
    note: str,
    code: str,
    scan: Path | None,
    on: datetime.date,
    out: Path | None,
    as_json: bool,
) -> None:
    """Take down that a client approved what the client's page shows.

    ORDER is the YAML file, or a folder that holds order.yaml, as it was last run. It stands in the
    diary beside the order file, bound to the artwork, sizes, numbers, stocks and colours that were
    shown; what was shown is kept in 'approved' beside it. Once one of these is changed, run, check,
    report and page say that the approval no longer covers it. The order is run once more, so that
    it can be sent.
    """
    from inkaccord.cli.one_run import load_with_book, run_once
    from inkaccord.cli.run_summary import show_next
    from inkaccord.out_folder import OutFolder
    from inkaccord.recording.places import out_of
    from inkaccord.report.approving import ApprovalTold, approve

    if not by.strip():
        raise click.BadParameter("say who approved it", param_hint="--by")
    loaded = load_with_book(settings, order)
    where = out_of(loaded, out)
    approval = approve(
        loaded, OutFolder(where).previous, where, ApprovalTold(by, on, note, code, scan)
    )
    words = f"Taken down: {approval.by} approved {loaded.order.order} as page {approval.shown.code}"
    tell(
        settings,
        f"{words} shows it. Kept beside the order: {', '.join(approval.files)}",
        as_json=as_json,
        code=approval.shown.code,
        files=approval.files,
    )
    try:
        ran = run_once(settings, order, out=out)
    except InkaccordError:  # what is in its way is said by the command for it
        settings.say(f"Next: {to_run(settings, order, out)}")
        return
    if not as_json:
        show_next(settings.screen, ran)
