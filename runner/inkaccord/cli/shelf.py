"""``inkaccord shelf``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import INTO
from inkaccord.cli.on_paper import back, label, lent, place, printed, returned, sent
from inkaccord.cli.shared import (
    JSON,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
    tell,
)
from inkaccord.cli.shelf_opened import change_sheet, open_shelf
from inkaccord.cli.shelf_place import order_for
from inkaccord.cli.tables import Name, table
from inkaccord.errors import ExitCode
from inkaccord.today import today
from inkaccord.words import counted, day

if TYPE_CHECKING:
    from inkaccord.sheets.model import Pick, SampleSheet
    from inkaccord.shelf.overview import SheetSummary


@click.group("shelf")
@takes("order", "shelf")
def command() -> None:
    """See and keep the sample sheets, readings and picks."""


for _on_paper in (printed, sent, back, place, lent, returned, label):
    command.add_command(_on_paper)


@command.command("list")
@JSON
@click.option("--all", "retired", is_flag=True, help="Also what is retired.")
@click.option(
    "--page",
    "number",
    type=click.IntRange(1),
    default=1,
    show_default=True,
    help="Which hundred of a longer list.",
)
@pass_settings
def list_(settings: Settings, as_json: bool, retired: bool, number: int) -> None:
    """List the sheets with their pair, age, evidence, drift, and how many colours it served.

    A hundred at a time, pair by pair, the oldest first.

    Drift is how far its control swatches read from those of the pair's first reading: root mean
    square ΔE00, the readings' noise taken off.
    """
    from inkaccord.shelf.overview import ListPage

    page = ListPage.numbered(number)
    with open_shelf(settings) as store, store.one_state():
        rows = [_row(line) for line in store.overview(retired=retired, page=page)]
        of_all = store.number_of_sheets(retired=retired)
        where = str(store.place)
    pages = ListPage.pages(of_all)
    if as_json:
        about = {"page": number, "pages": pages, "sheets_in_all": of_all}
        print_json({"shelf": where, **about, "sheets": rows})
        return
    listed = table(
        "sheet",
        "pair",
        "swatches",
        "read",
        "drift",
        "picks",
        "served",
        "state",
        right=("swatches", "drift", "picks", "served"),
        whole=("sheet", "read", "state"),
    )
    for row in rows:
        listed.add_row(
            plain(row["id"]),
            Name(row["pair"]),
            str(row["swatches"]),
            row["last_read"] or "–",
            "–" if row["drift"] is None else f"{row['drift']:.1f}",
            str(row["picks"]),
            str(row["served"]),
            row["state"],
        )
    settings.screen.print(f"Shelf {plain(where)}")
    settings.screen.print(listed)
    if number < pages:
        settings.screen.print(
            f"Page {number} of {pages}, {of_all} sheets in all. The next: --page {number + 1}"
        )
    if number > pages:
        settings.screen.print(f"It has {counted(pages, 'page')}.")
    elif not rows:
        settings.screen.print("It is empty. 'inkaccord run ORDER' plans the first sheets.")


def _row(line: "SheetSummary") -> dict[str, Any]:
    return {
        "id": line.id,
        "pair": str(line.pair),
        "purpose": str(line.purpose),
        "swatches": line.swatches,
        "pages": line.pages,
        "order": line.order,
        "added": line.added_at.isoformat(),
        "readings": line.readings,
        "noise": line.noise,
        "last_read": line.last_read.isoformat() if line.last_read else None,
        "age_days": line.age_days(today()),
        "drift": line.drift,
        "picks": line.picks,
        "served": line.served,
        "state": line.state,
        "lies": line.lies or None,
        "on_paper": line.on_paper.model_dump(mode="json", exclude={"lent"})
        | {"lent": [it.model_dump(mode="json") for it in line.on_paper.lent]},
        "moves": [it.model_dump(mode="json") for it in line.moves],
    }


def _show_paper(settings: Settings, line: "SheetSummary") -> None:
    """Say where a printed sheet is to be found, and how long it keeps."""
    on_paper = line.on_paper
    if on_paper.told:
        settings.screen.print(f"It lies: {plain(on_paper.told)}", soft_wrap=True)
    if on_paper.replace_after is None:
        return
    seen = f"Last seen {day(on_paper.last_seen)}. " if on_paper.last_seen else ""
    keep = "It lies in the light: " if on_paper.in_light else "Keep it in the dark, flat and dry; "
    old = " It is older than that." if on_paper.replace_after < today() else ""
    settings.screen.print(
        f"{seen}{keep}replace it after {day(on_paper.replace_after)} if things are held against it "
        f"(common practice).{old}",
        soft_wrap=True,
    )


@command.command("show")
@click.argument("sheet", metavar="SHEET")
@JSON
@pass_settings
def show(settings: Settings, sheet: str, as_json: bool) -> None:
    """Show one sheet: its swatches, their builds, and what was read and picked."""
    from inkaccord.sheets.reading.pick_text import in_words

    with open_shelf(settings, sheet) as store:
        kept = store.kept_sheet(sheet)
        line = store.summary(sheet)
        row = _row(line)
        records = store.readings_of_sheet(sheet)
        read = {
            reading.swatch: reading.lab
            for record in records
            for reading in record.readings.readings
        }
        picks = [it.pick for it in store.picks_of_sheet(sheet)]
    if as_json:
        told = {"id", "build", "colour", "control"}
        swatches = [
            {**swatch.model_dump(mode="json", include=told), "lab": read.get(swatch.id)}
            for swatch in kept.sheet.swatches
        ]
        readings = [
            {
                "digest": record.digest,
                "read_on": record.day.isoformat(),
                "swatches": len(record.readings.readings),
                "source": record.source,
            }
            for record in records
        ]
        looks = [it.model_dump(mode="json") for it in picks]
        print_json({**row, "swatch_list": swatches, "reading_list": readings, "pick_list": looks})
        return
    settings.screen.print(
        f"[bold]{plain(row['id'])}[/]  {plain(row['pair'])}  {row['purpose']}  {row['state']}, "
        f"{row['swatches']} swatches on {counted(row['pages'], 'page')}, "
        f"for {plain(row['order']) or '–'}"
    )
    _show_paper(settings, line)
    listed = table("swatch", "build", "for", "L*", "a*", "b*", right=("L*", "a*", "b*"))
    for swatch in kept.sheet.swatches:
        lab = [f"{x:.1f}" for x in read[swatch.id]] if swatch.id in read else ["–"] * 3
        use = swatch.colour or ("control" if swatch.control else "")
        listed.add_row(plain(swatch.id), str(swatch.build), plain(use), *lab)
    settings.screen.print(listed)
    for record in records:
        settings.screen.print(
            f"read {record.day}, {counted(len(record.readings.readings), 'swatch')}"
            + (f", from {plain(record.source)}" if record.source else "")
            + f" (digest {record.digest[:8]})"
        )
    for move in row["moves"]:
        place = f": {plain(move['place'])}" if move["place"] else ""
        settings.screen.print(f"{move['kind']} {move['at'][:10]}{place}")
    for pick in picks:
        settings.screen.print(
            f"{pick.colour}: picked {in_words(pick)}"
            + (f", of {pick.among[0]} to {pick.among[-1]}" if pick.among else "")
            + _found_build(kept.sheet, pick)
            + (f", by {plain(pick.by)}" if pick.by else "")
            + (f", under {plain(pick.light)}" if pick.light else "")
        )


def _found_build(sheet: "SampleSheet", pick: "Pick") -> str:
    """Say which build a scanner's glass told of, where it is not an eye that picked."""
    if pick.build is None or pick.error is None:
        return ""
    from inkaccord.colour.builds import Build

    build = Build(drive=sheet.drive, values=pick.build)
    return f" for {build}, to {pick.error:.1f} ΔE00 (r.m.s.)"


@command.command("draw")
@click.argument("sheet_id", metavar="SHEET")
@INTO
@JSON
@pass_settings
def draw(settings: Settings, sheet_id: str, out: Path, as_json: bool) -> None:
    """Draw a sheet once more: to print it again, or because its file was lost.

    Its swatches are those that it had, each in its place, so what was read and picked of it stays
    right. The shelf is left as it is.
    """
    from inkaccord.planning.on_request import draw_again
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.sheets.saving import save_files

    with open_shelf(settings, sheet_id) as store:
        loaded = order_for(settings, store.sheet(sheet_id).order, store.place)
        source = AskedShelf(store, loaded.order if loaded is not None else None)
        sheet, made = draw_again(source, settings.drawing.draw_sheet, sheet_id)
    files = [str(path) for path in save_files(made, out)]
    if as_json:
        findings = as_data(settings.drawing.findings)
        print_json({"exit_code": 0, "sheet": sheet.id, "files": files, "findings": findings})
        return
    show_findings(settings.screen, settings.drawing.findings)
    for line in (
        f"Sheet {sheet.id} once more, for {sheet.pair}.",
        *(f"  {path}" for path in files),
        "Print it at 100 %, without colour conversion.",
    ):
        settings.screen.print(line, soft_wrap=True, markup=False)


@command.command("retire")
@click.argument("sheet", metavar="SHEET")
@click.option("--why", default="", help="Kept beside it.")
@click.option(
    "--readings",
    metavar="DIGEST",
    help="Only one reading of it, by the beginning of its digest ('shelf show' has it).",
)
@JSON
@pass_settings
def retire(settings: Settings, sheet: str, why: str, readings: str | None, as_json: bool) -> None:
    """Take a sheet out of use, with its readings and picks. It stays on the shelf."""
    change_sheet(
        settings,
        sheet,
        lambda store: (
            store.retire_readings(sheet, readings, why) if readings else store.retire(sheet, why)
        ),
        became=f"without its reading {readings}" if readings else "retired",
        field="retired_now",
        as_json=as_json,
    )


@command.command("use-again")
@click.argument("sheet", metavar="SHEET")
@click.option("--readings", metavar="DIGEST", help="Only one reading of it.")
@JSON
@pass_settings
def use_again(settings: Settings, sheet: str, readings: str | None, as_json: bool) -> None:
    """Take back into use what was retired: a sheet, with its readings and picks."""
    change_sheet(
        settings,
        sheet,
        lambda store: (
            store.use_readings_again(sheet, readings) if readings else store.use_again(sheet)
        ),
        became=f"in use with its reading {readings}" if readings else "in use",
        field="used_again_now",
        as_json=as_json,
    )


@command.command("export")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@JSON
@pass_settings
def export(settings: Settings, folder: Path, as_json: bool) -> None:
    """Write the whole shelf as a folder of text files, to look at, to merge, to keep."""
    with open_shelf(settings) as store:
        written = store.copies.export(folder)
    files = [str(path) for path in written]
    tell(settings, f"{counted(len(files), 'file')} in {folder}.", as_json=as_json, files=files)


@command.command("import")
@click.argument("export", metavar="DIR|ZIP", type=click.Path(path_type=Path, exists=True))
@click.option("--look", "only_look", is_flag=True, help="Only say what is new; take nothing in.")
@JSON
@pass_settings
def import_(settings: Settings, export: Path, only_look: bool, as_json: bool) -> None:
    """Take in what 'export' wrote. What is here already is left alone."""
    with open_shelf(settings) as store:
        new = store.copies.news_of(export) if only_look else store.copies.take_in(export)
    counts = {
        "sheets": len(new.sheets),
        "readings": len(new.readings),
        "picks": len(new.picks),
    }
    tell(settings, f"New: {new.words()}.", as_json=as_json, new=counts)


@command.command("back-up")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@JSON
@pass_settings
def back_up(settings: Settings, file: Path, as_json: bool) -> None:
    """Copy the shelf to a file, while others go on using it."""
    with open_shelf(settings) as store:
        store.copies.back_up(file)
    tell(settings, f"Backed up to {file}.", as_json=as_json, file=str(file))


@command.command("restore")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, exists=True))
@JSON
@pass_settings
def restore(settings: Settings, file: Path, as_json: bool) -> None:
    """Put a backup in the place of the shelf. What was there is kept beside it, every time.

    Where another run is writing, it waits for that, and gives up after half a minute.
    """

    def waiting() -> None:
        settings.say("Another run is writing to the shelf. Waiting for it to end.")

    with open_shelf(settings) as store:
        kept = store.copies.restore(file, waiting=waiting)
    words = f"Restored from {file}." + (f" What was there is kept as {kept}." if kept else "")
    before = str(kept) if kept else None
    tell(settings, words, as_json=as_json, file=str(file), kept=before)


@command.command("verify")
@JSON
@pass_settings
def verify(settings: Settings, as_json: bool) -> int:
    """Look for damage."""
    with open_shelf(settings) as store:
        findings = store.verify()
    code = ExitCode.FILES if findings else ExitCode.DONE
    if as_json:
        print_json({"exit_code": int(code), "findings": as_data(findings)})
    else:
        show_findings(settings.screen, findings)
        if not findings:
            settings.screen.print("The shelf is sound.")
    return int(code)
