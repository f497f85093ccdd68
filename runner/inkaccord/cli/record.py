"""``inkaccord record``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cautions import INKS_AND_HEAT
from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    DAY,
    JSON,
    Settings,
    as_data,
    parse_pair,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import find_shelf, order_to_run, same_place, shelf_with
from inkaccord.today import today
from inkaccord.words import counted

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.knowledge.course import Compared
    from inkaccord.recording.intake import Intake
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.sheets.reading.formats import OfferedFormat
    from inkaccord.sheets.scan.on_glass import FoundOnGlass


@click.command("record", epilog=f"Let a sheet dry and cool before it is handled. {INKS_AND_HEAT}")
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument(
    "files", metavar="[FILE]...", nargs=-1, type=click.Path(path_type=Path, dir_okay=False)
)
@click.option(
    "--pick",
    "picks",
    multiple=True,
    metavar="COLOUR=SWATCH",
    help="What was seen by eye, in one line: kelp=B7, 'kelp=B7, then C7', 'kelp=between B7 and "
    "B8', 'kelp=B7, a little darker', 'kelp=none of them: yellower'. May be given several times; "
    "'inkaccord look SHEET' asks for it instead.",
)
@click.option(
    "--thing",
    "things",
    multiple=True,
    metavar="COLOUR",
    help="FILE is a scan of the sheet with the thing for COLOUR on the glass, in its field on the "
    "sheet or beside it: finds the build that looks like it. May be given several times.",
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
    type=DAY,
    help="When it was picked, or read if the file does not say.  [default: today]",
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
@click.option(
    "--columns",
    multiple=True,
    metavar="L=NAME,…",
    help="What FILE calls its columns, where it has other names: L=Lstar,a=astar,b=bstar,id=Patch.",
)
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    sheet: str | None,
    files: tuple[Path, ...],
    picks: tuple[str, ...],
    things: tuple[str, ...],
    by: str,
    light: str,
    sure: float,
    day: datetime.date | None,
    beside: str | None,
    pair: "Pair | None",
    name: str | None,
    ink_limit: float | None,
    columns: tuple[str, ...],
    as_json: bool,
) -> None:
    """Take in the readings of a printed sheet, or what was picked by eye.

    SHEET is the id printed on the sheet. FILE is what the instrument wrote: CGATS text
    (ISO 28178), CSV, JSON, or a form that a plugin adds, such as a scan; of a sheet of several
    pages, one file or a file a page. All of it is checked first; either all of it is kept, or
    nothing.

    With --pair PAIR and no SHEET, FILE is a target that was not drawn here.
    """
    from inkaccord.sheets.reading.columns import parse_columns
    from inkaccord.shelf.store import Shelf

    told, on = parse_columns(columns), day
    if told and (beside is not None or things or not (files or pair)):
        raise click.UsageError("--columns is about a table of readings, in a FILE")
    if pair is not None:
        from inkaccord.recording.target import take_in_target

        paths = _target_files(sheet, files, (*picks, *things), beside)
        with Shelf.open(find_shelf(settings), by=by) as shelf:
            taken = take_in_target(
                shelf,
                pair,
                paths,
                today=today(),
                read_on=on,
                order=settings.named_order,
                name=name,
                ink_limit=ink_limit,
                columns=told,
                same_place=same_place(settings),
            )
    else:
        from inkaccord.recording.sheet import take_in_sheet

        sheet_id = _sheet_id(sheet, files, picks, beside, name, ink_limit)
        if things and (beside is not None or not files):
            raise click.UsageError(
                "--thing needs a FILE: a scan of the sheet with the thing on the glass"
                if beside is None
                else "--thing compares what lies on the glass: leave --beside out"
            )
        with Shelf.open(shelf_with(settings, sheet_id), by=by) as shelf:
            taken = take_in_sheet(
                shelf,
                sheet_id,
                files,
                picks,
                today=on or today(),
                read_on=on,
                formats=_formats(settings) if files and not things else (),
                order=settings.named_order,
                beside=beside,
                things=things,
                columns=told,
                by=by,
                light=light,
                sure=sure,
                same_place=same_place(settings),
            )
    if as_json:
        _print_intake(taken)
    else:
        again = order_to_run(settings, taken.sheet.order, shelf.place)
        _show_intake(settings, taken, again, picked=bool(picks or things))


def _formats(settings: Settings) -> "tuple[OfferedFormat, ...]":
    """Return the forms of files on offer; a plugin that can't offer its own is named aside."""
    formats = settings.outside.readings_formats()
    show_findings(settings.aside, settings.outside.findings)
    return formats


def _print_intake(taken: "Intake") -> None:
    print_json(
        {
            "exit_code": 0,
            "sheet": taken.sheet.id,
            "pair": str(taken.sheet.pair),
            "readings": taken.readings,
            "new": taken.new_readings or bool(taken.new_picks),
            "picks": taken.new_picks,
            "things": [_thing_json(one) for one in taken.things],
            "drift": None if taken.drift is None else _drift_json(taken.drift),
            "findings": as_data(taken.findings),
        }
    )


def _show_intake(settings: Settings, taken: "Intake", again: str | None, *, picked: bool) -> None:
    show_findings(settings.screen, taken.findings)
    named = plain(f"sheet {taken.sheet.id} ({taken.sheet.pair})")
    if taken.readings:
        settings.screen.print(
            f"Recorded {counted(taken.readings, 'reading')} of {named}."
            if taken.new_readings
            else f"These readings of {named} are on the shelf already."
        )
    if taken.drift is not None:
        apart = f"{taken.drift.apart.typical:.1f} ΔE00"
        since = plain(f"sheet {taken.drift.since_sheet}, read {taken.drift.since}")
        steady = "The pair has drifted." if taken.drift.beyond else "The pair is steady."
        settings.screen.print(
            f"Its controls lie {apart} from those of {since}. {steady}", soft_wrap=True
        )
    for one in taken.things:
        _show_thing(settings, taken.sheet, one)
    if taken.things:
        from inkaccord.recording.things import second_opinion

        settings.screen.print(second_opinion(taken.things[0].photographed), soft_wrap=True)
    if picked:
        noun = "pick" if taken.new_picks == 1 else "picks"
        settings.screen.print(
            f"Recorded {taken.new_picks} new {noun} on {named}."
            if taken.new_picks
            else f"These picks on {named} are on the shelf already."
        )
    settings.screen.print(
        f"Next: {plain(again) if again else 'run the order again.'}", soft_wrap=True
    )


def _show_thing(settings: Settings, sheet: "SampleSheet", one: "FoundOnGlass") -> None:
    first, *others = one.swatches
    settings.screen.print(
        f"{one.colour}: to the scanner its thing looks like {one.build} on {sheet.pair}; to you it "
        f"lies within {one.likeness.bound:.1f} ΔE00 of that, in 95 of 100 cases.",
        soft_wrap=True,
    )
    settings.screen.print(
        f"The eye has the last word: look at {first}, {' and '.join(others)} beside the thing. "
        f"inkaccord look {sheet.id}{same_place(settings)} asks which is nearest.",
        soft_wrap=True,
    )


def _thing_json(one: "FoundOnGlass") -> dict[str, Any]:
    return {
        "colour": one.colour,
        "build": str(one.build),
        "error": round(one.likeness.error, 2),
        "bound": round(one.likeness.bound, 2),
        "swatches": list(one.swatches),
        "distances": [round(distance, 2) for distance in one.likeness.distances],
        "photographed": one.photographed,
    }


def _drift_json(drift: "Compared") -> dict[str, Any]:
    return {
        "since_sheet": drift.since_sheet,
        "since": drift.since.isoformat(),
        "delta_e_00": round(drift.apart.typical, 2),
        "largest": round(drift.apart.largest, 2),
        "swatches": drift.apart.swatches,
        "beyond": drift.beyond,
    }


def _target_files(
    sheet: str | None, files: tuple[Path, ...], picks: tuple[str, ...], beside: str | None
) -> tuple[Path, ...]:
    """Return every FILE, the first of which stands in the place of SHEET.

    Raises UsageError for what does not go together with --pair.
    """
    if picks or beside:
        raise click.UsageError("--pair takes a whole file: leave --pick, --thing and --beside out")
    if sheet is None:
        raise click.UsageError("with --pair, give a FILE and no SHEET")
    return (Path(sheet), *files)


def _sheet_id(
    sheet: str | None,
    files: tuple[Path, ...],
    picks: tuple[str, ...],
    beside: str | None,
    name: str | None,
    ink_limit: float | None,
) -> str:
    """Return the SHEET. Raises UsageError for what does not go together without --pair."""
    for option, value in (("--name", name), ("--ink-limit", ink_limit)):
        if value is not None:
            raise click.UsageError(f"{option} needs --pair")
    if sheet is None:
        raise click.UsageError("give the SHEET by the id that is printed on it, or --pair PAIR")
    if not files and not picks:
        if Path(sheet).is_file():
            raise click.UsageError(
                f"give the id of the SHEET before {sheet}; it is printed on the sheet"
            )
        raise click.UsageError("give a FILE with readings, or --pick COLOUR=SWATCH")
    if beside is not None and not files:
        raise click.UsageError("--beside needs a FILE: the scan that shows both sheets")
    return sheet
