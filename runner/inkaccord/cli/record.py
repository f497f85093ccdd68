"""``inkaccord record``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.shared import (
    JSON,
    ORDERS_SHELF,
    SHELF,
    Settings,
    find_shelf,
    pass_settings,
    print_json,
    show_findings,
)
from inkaccord.errors import FileError, OrderError

if TYPE_CHECKING:
    from inkaccord.hooks import ReadingsTaken
    from inkaccord.shelf.store import Shelf


@click.command("record")
@click.argument("sheet", metavar="SHEET")
@click.argument(
    "file", metavar="[FILE]", required=False, type=click.Path(path_type=Path, dir_okay=False)
)
@click.option(
    "--pick",
    "picks",
    multiple=True,
    metavar="COLOUR=SWATCH",
    help="The swatch that matches by eye: kelp=B7, 'kelp=B7..B8' for between two, "
    "'kelp=B7 darker'. May be given several times.",
)
@click.option("--by", default="", metavar="NAME", help="Who picked.")
@click.option("--light", default="", metavar="WORDS", help="Under which light it was picked.")
@click.option(
    "--sure",
    default=0.5,
    show_default=True,
    type=click.FloatRange(0, 1),
    help="How sure the person was, from 0 to 1.",
)
@click.option(
    "--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="When it was picked.  [default: today]"
)
@ORDERS_SHELF
@SHELF
@JSON
@pass_settings
def command(
    settings: Settings,
    sheet: str,
    file: Path | None,
    picks: tuple[str, ...],
    by: str,
    light: str,
    sure: float,
    day: datetime.datetime | None,
    order: Path | None,
    shelf: str | None,
    as_json: bool,
) -> None:
    """Take in the readings of a printed sheet, or what was picked by eye.

    SHEET is the id printed on the sheet. FILE is what the instrument wrote: CGATS text
    (ISO 28178), CSV, JSON, or a form that a plugin adds, such as a scan. All of it is checked
    first; either all of it is kept, or nothing.
    """
    if file is None and not picks:
        raise click.UsageError("give a FILE with readings, or --pick COLOUR=SWATCH")
    from inkaccord.sheets.pick_text import parse_pick  # noqa: PLC0415 - after parsing
    from inkaccord.shelf.store import Shelf  # noqa: PLC0415 - after parsing

    with Shelf.open(find_shelf(settings, shelf, order)) as store:
        kept = store.sheet(sheet)
        on = day.date() if day else datetime.datetime.now().astimezone().date()
        made = [
            parse_pick(text, kept, by=by, light=light, sure=sure, picked_on=on) for text in picks
        ]
        taken = _read(settings, store, kept.id, file) if file is not None else None
        new_readings = False
        if taken is not None and file is not None:
            from inkaccord.files import sha256_of  # noqa: PLC0415 - only with a file

            new_readings = store.record_readings(
                taken.readings, source=file.name, source_sha256=sha256_of(file.read_bytes())
            )
        new_picks = store.record_picks(made) if made else 0
    findings = taken.findings if taken is not None else ()
    count = len(taken.readings.readings) if taken is not None else 0
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": kept.id,
                "pair": str(kept.pair),
                "readings": count,
                "new": new_readings or bool(new_picks),
                "picks": new_picks,
                "findings": [it.model_dump(mode="json") for it in findings],
            }
        )
        return
    show_findings(settings.screen, findings)
    if taken is not None:
        settings.screen.print(
            f"Recorded {count} readings of sheet {kept.id} ({kept.pair})."
            if new_readings
            else f"These readings of sheet {kept.id} are on the shelf already."
        )
    if made:
        settings.screen.print(f"Recorded {new_picks} new picks on sheet {kept.id} ({kept.pair}).")
    settings.screen.print("Next: run the order again.")


def _read(settings: Settings, store: "Shelf", sheet_id: str, file: Path) -> "ReadingsTaken":
    """Read a file with the first format that recognises it."""
    from inkaccord.hooks import ReadingsFormat, ReadingsTaken  # noqa: PLC0415 - after parsing
    from inkaccord.shelf.evidence import known_for  # noqa: PLC0415 - after parsing

    head = _head(file)
    plugins = settings.loaded
    sheet = store.sheet(sheet_id)
    known = known_for(sheet, store.readings_of(sheet.pair))
    formats = plugins.each("inkaccord_readings_formats", None)
    for plugin, form in formats:
        if not isinstance(form, ReadingsFormat):
            continue
        with plugins.blaming(plugin, form.name):
            if not form.recognises(file, head):
                continue
            taken = form.read(file, sheet, known)
            if not isinstance(taken, ReadingsTaken):
                raise TypeError(f"gave {type(taken).__name__}, not ReadingsTaken")
            return taken
    names = ", ".join(form.name for _, form in formats)
    raise OrderError.of(
        "unknown-readings",
        f"{file} is in no form that is known here ({names})",
        hint="save the readings as CGATS text or CSV with a column SAMPLE_ID",
    )


def _head(file: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            return stream.read(4096)
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read {file}: {problem.strerror or problem}",
            hint="check that it exists and that you may read it",
        ) from problem
