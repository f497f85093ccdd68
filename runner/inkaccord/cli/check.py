"""``inkaccord check``."""

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ORDER,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import order_words
from inkaccord.cli.tables import Name, table
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError, OrderError

if TYPE_CHECKING:
    from rich.console import Console

    from inkaccord.order.loading import LoadedOrder
    from inkaccord.order.model import Order
    from inkaccord.workbench import Workbench


@click.command("check")
@ORDER
@click.option(
    "--letters",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    help="Write into DIR, for the maker of each artwork, a page that says how it was understood.",
)
@takes("shelf")
@JSON
@pass_settings
def command(settings: Settings, order: Path, letters: Path | None, as_json: bool) -> None:
    """Check an order file, and say everything that is wrong with it.

    ORDER is the YAML file, or a folder that holds order.yaml. Nothing is written, save the
    artwork letters where --letters asks for them. The artwork must be there, open, and be as
    large as its piece; its colours are looked through as in a run, and whether it can be known in
    which inks its pages print; what the checks of a run will say of its boxes, bleed, type and
    lines is said; pieces must fit their sheets. No readings are needed. A run fails the pieces that
    are named here, and makes the others.
    """
    from inkaccord.foresight.ahead import check_whole, said_of_whole
    from inkaccord.foresight.approved import look_at_approval
    from inkaccord.order.loading import MisnamedError
    from inkaccord.recording.places import out_of, shelf_of
    from inkaccord.shelf.place import place_of
    from inkaccord.unchanged import found_before
    from inkaccord.words import counted, quoted
    from inkaccord.workbench import Workbench

    try:
        loaded = _with_book(settings, settings.load(order))
    except MisnamedError as problem:
        said = said_of_whole(problem.loaded, Workbench(problem.loaded))
        raise OrderError((*problem.findings, *said)) from problem
    # Refused here too: a run would write there.
    out_of(loaded)
    place_of(shelf_of(loaded, settings.shelf, lambda _: None))
    with closing(found_before(loaded)) as memory:
        bench = Workbench(loaded, recall=memory)
        try:
            with settings.working("looking through the artwork"):
                checked = check_whole(loaded, bench)
        except InkaccordError as problem:
            if letters is not None:  # wanted most of all where something is wrong
                _say_written(settings, _write_letters(settings, bench, problem.findings, letters))
            raise
        written = () if letters is None else _write_letters(settings, bench, checked, letters)
    findings = (
        *settings.outside.findings,
        *loaded.findings,
        *checked,
        *look_at_approval(loaded),
    )
    taken = loaded.order
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "order": taken.order,
                "pairs": [str(pair) for pair in taken.pairs()],
                "findings": as_data(findings),
                "files": [str(path) for path in written],
            }
        )
        return
    if not settings.quiet:
        _show_order(settings.screen, taken)
    show_findings(settings.screen, findings, order_words(settings, order))
    _say_written(settings, written)
    settings.screen.print(
        f"{taken.order} is in order: {counted(len(taken.pieces), 'piece')}, "
        f"{counted(len(taken.colours), 'colour')}, {counted(len(taken.pairs()), 'pair')} of device "
        "and stock.\n"
        f"Next: inkaccord run {plain(quoted(str(order)))}",
        soft_wrap=True,
    )


def _with_book(settings: Settings, loaded: "LoadedOrder") -> "LoadedOrder":
    """Return the order with what the book says of its colours now."""
    if not loaded.order.asks_book:
        return loaded  # most orders name none, and need no shelf to be checked
    from inkaccord.cli.shelf_place import shelf_place
    from inkaccord.recording.from_book import look_up
    from inkaccord.shelf.place import place_of

    return look_up(loaded, place_of(shelf_place(settings, loaded)))


def _write_letters(
    settings: Settings, bench: "Workbench", findings: Sequence[Diagnostic], folder: Path
) -> tuple[Path, ...]:
    """Write the letter of every piece; return where they are."""
    from inkaccord.files import inside, write_if_changed
    from inkaccord.report.artwork_letter import artwork_letters

    with settings.working("writing artwork letters"):
        files = artwork_letters(bench.order, bench.order.pieces, bench, findings)
    paths = tuple(inside(folder, file.path.rpartition("/")[2]) for file in files)
    for path, file in zip(paths, files, strict=True):
        write_if_changed(path, file.data)
    return paths


def _say_written(settings: Settings, paths: Sequence[Path]) -> None:
    if paths and not settings.quiet:
        settings.say("Artwork letters, to be sent to who made the artwork:")
        for path in paths:
            settings.say(f"  {path}")


def _show_order(screen: "Console", order: "Order") -> None:
    """Show what the order was taken to mean."""
    pieces = table("piece", "trim", "on", "vendor", "pieces", right=("pieces",))
    for name, job in order.jobs.items():
        pieces.add_row(
            Name(name),
            plain(str(job.piece.trim)),
            Name(str(job.pair)),
            Name(job.vendor_name),
            f"{job.quantity}+{job.overs}" if job.overs else str(job.quantity),
        )
    colours = table("colour", "aim", "in the artwork")
    for name, colour in order.colours.items():
        written = ", ".join(str(paint) for paint in colour.in_artwork)
        colours.add_row(Name(name), plain(colour.aim.words), plain(written))
    for shown in (pieces, colours):
        screen.print(shown)
        screen.print()
