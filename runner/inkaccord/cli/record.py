"""``inkaccord record``."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from rich.markup import escape

from inkaccord.cli.anywhere import takes
from inkaccord.cli.recording import RecordOptions, record_foreign, record_sheet
from inkaccord.cli.shared import (
    JSON,
    Settings,
    parse_pair,
    pass_settings,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import find_shelf, order_to_run, shelf_with

if TYPE_CHECKING:
    from inkaccord.knowledge.course import Compared


@click.command("record")
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument(
    "files", metavar="[FILE]...", nargs=-1, type=click.Path(path_type=Path, dir_okay=False)
)
@click.option(
    "--pick",
    "picks",
    multiple=True,
    metavar="COLOUR=SWATCH",
    help="The swatch that matches by eye: kelp=B7, 'kelp=B7..B8' for between two, "
    "'kelp=B7 darker'. May be given several times.",
)
@click.option("--by", default="", metavar="NAME", help="Who picked, or read the sheet.")
@click.option("--light", default="", metavar="WORDS", help="Under which light it was picked.")
@click.option(
    "--sure",
    default=0.5,
    show_default=True,
    type=click.FloatRange(0, 1),
    help="How sure the person was, from 0 to 1.",
)
@click.option(
    "--on",
    "day",
    type=click.DateTime(["%Y-%m-%d"]),
    help="When it was picked; with --pair, when it was read if the file does not say."
    "  [default: today]",
)
@click.option(
    "--beside",
    metavar="SHEET",
    help="Of a scan that shows two sheets: the one whose readings are known. Colours are told by "
    "it, so that all of the other is news, the controls too.",
)
@click.option(
    "--pair",
    callback=parse_pair,
    metavar="PAIR",
    help="Instead of SHEET: FILE is another target printed on this pair (device@stock), with "
    "builds and readings, such as a characterisation set.",
)
@click.option("--name", metavar="WORDS", help="With --pair: what the target is called.")
@click.option(
    "--ink-limit",
    type=click.FloatRange(100, 400),
    metavar="PERCENT",
    help="With --pair: total ink that it takes.  [default: as the order says]",
)
@takes("order", "shelf")
@JSON
@pass_settings
def command(settings: Settings, /, *, as_json: bool, **asked: Any) -> None:
    """Take in the readings of a printed sheet, or what was picked by eye.

    SHEET is the id printed on the sheet. FILE is what the instrument wrote: CGATS text
    (ISO 28178), CSV, JSON, or a form that a plugin adds, such as a scan; of a sheet of several
    pages, one file or a file a page. All of it is checked first; either all of it is kept, or
    nothing.

    With --pair PAIR and no SHEET, FILE is a target that was not drawn here.
    """
    from inkaccord.shelf.store import Shelf  # noqa: PLC0415 - after parsing

    options = _checked(RecordOptions(**asked))
    where = shelf_with(settings, options.sheet) if options.sheet else find_shelf(settings)
    with Shelf.open(where, by=options.by) as store:
        if options.pair is not None:
            done = record_foreign(settings, store, options)
        else:
            done = record_sheet(settings, store, options)
        again = order_to_run(settings, done.sheet.order, store.path)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": done.sheet.id,
                "pair": str(done.sheet.pair),
                "readings": done.readings,
                "new": done.new_readings or bool(done.new_picks),
                "picks": done.new_picks,
                "drift": None if done.drift is None else _drift_json(done.drift),
                "findings": [it.model_dump(mode="json") for it in done.findings],
            }
        )
        return
    show_findings(settings.screen, done.findings)
    it = f"sheet {done.sheet.id} ({done.sheet.pair})"
    if done.readings:
        settings.screen.print(
            f"Recorded {done.readings} readings of {it}."
            if done.new_readings
            else f"These readings of {it} are on the shelf already."
        )
    if done.drift is not None:
        apart = f"{done.drift.apart.typical:.1f} ΔE00"
        since = f"sheet {done.drift.since_sheet}, read {done.drift.since}"
        steady = "The pair has drifted." if done.drift.beyond else "The pair is steady."
        settings.screen.print(
            f"Its controls lie {apart} from those of {since}. {steady}", soft_wrap=True
        )
    if options.picks:
        noun = "pick" if done.new_picks == 1 else "picks"
        settings.screen.print(
            f"Recorded {done.new_picks} new {noun} on {it}."
            if done.new_picks
            else f"These picks on {it} are on the shelf already."
        )
    settings.screen.print(
        f"Next: {escape(again) if again else 'run the order again.'}", soft_wrap=True
    )


def _drift_json(drift: "Compared") -> dict[str, Any]:
    return {
        "since_sheet": drift.since_sheet,
        "since": drift.since.isoformat(),
        "delta_e_00": round(drift.apart.typical, 2),
        "largest": round(drift.apart.largest, 2),
        "swatches": drift.apart.swatches,
        "beyond": drift.beyond,
    }


def _checked(options: RecordOptions) -> RecordOptions:
    """Return the options, FILE in its place. Raises UsageError for what does not go together."""
    if options.pair is not None:
        if options.picks or options.beside:
            raise click.UsageError("--pair takes a whole file: leave --pick and --beside out")
        if options.sheet is None:
            raise click.UsageError("with --pair, give a FILE and no SHEET")
        return replace(options, sheet=None, files=(Path(options.sheet), *options.files))
    for name in ("name", "ink_limit"):
        if getattr(options, name) is not None:
            raise click.UsageError(f"--{name.replace('_', '-')} needs --pair")
    if options.sheet is None:
        raise click.UsageError("give the SHEET by the id that is printed on it, or --pair PAIR")
    if not options.files and not options.picks:
        if Path(options.sheet).is_file():
            raise click.UsageError(
                f"give the id of the SHEET before {options.sheet}; it is printed on the sheet"
            )
        raise click.UsageError("give a FILE with readings, or --pick COLOUR=SWATCH")
    return options
