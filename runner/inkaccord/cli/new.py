"""``inkaccord new``."""

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import shelf_place, to_run
from inkaccord.today import today

if TYPE_CHECKING:
    from inkaccord.starter.order import Begun


@click.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--from-book",
    "names",
    multiple=True,
    metavar="NAME",
    help="Start with this colour of the studio's book; may be given several times.",
)
@click.option(
    "--from",
    "given",
    multiple=True,
    metavar="PDF|ORDER",
    type=click.Path(path_type=Path, exists=True),
    help="Begin from this artwork, which may be given several times, or from an earlier order.",
)
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    folder: Path,
    names: tuple[str, ...],
    given: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Write a starter order into a new folder.

    It holds an order with two pieces, each field explained, and artwork to try it on. With --from
    it has a piece for each artwork, with its size and its colours; vendor, printer and stock are
    yours to name. From an earlier order it has all of that one with today's date, and says what
    must be thought about: dates, quantities, pairs that the shelf no longer trusts, artwork that
    was changed.
    """
    if given and names:
        raise click.UsageError("--from brings its own colours: leave --from-book out")
    from inkaccord.files import check_name

    for path in (folder, *given):
        check_name(path)
    from inkaccord.starter.order import Begun, write_starter

    if any(_is_order(it) for it in given):
        begun = _again(settings, folder, given)
    elif given:
        from inkaccord.foresight.beginning import begin_order

        begun = begin_order(folder, given, today())
    else:
        begun = Begun(write_starter(folder, today(), from_book=_in_the_book(settings, names)))
    if as_json:
        files = [str(path) for path in begun.files]
        print_json({"exit_code": 0, "files": files, "to_think": as_data(begun.to_think)})
        return
    for path in begun.files:
        settings.screen.print(f"wrote {plain(str(path))}", soft_wrap=True)
    if begun.to_think:
        settings.screen.print("Think about:")
        show_findings(settings.screen, begun.to_think)
    step = to_run(settings, folder, command="run" if begun.can_run else "check")
    settings.screen.print(f"Next: {plain(step)}", soft_wrap=True)


def _is_order(path: Path) -> bool:
    return path.is_dir() or path.suffix.lower() in {".yaml", ".yml"}


def _again(settings: Settings, folder: Path, given: tuple[Path, ...]) -> "Begun":
    """Begin an order from an earlier one."""
    from inkaccord.out_folder import OutFolder
    from inkaccord.recording.again import LastSeason, begin_again
    from inkaccord.recording.places import out_of
    from inkaccord.shelf.place import place_of
    from inkaccord.unchanged import found_before

    if len(given) > 1:
        raise click.UsageError("begin from one earlier order alone, or from artwork")
    loaded = settings.load(given[0])
    run = OutFolder(out_of(loaded)).previous
    sums = {it.piece: it.sha256 for it in run.artworks} if run is not None else {}
    with closing(found_before(loaded)) as before:
        last = LastSeason(loaded, place_of(shelf_place(settings, loaded)), sums, before)
        return begin_again(folder, last, today(), settings.outside.vendor_kinds())


def _in_the_book(settings: Settings, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return names as the book writes them. Raises OrderError for one that it does not have."""
    if not names:
        return ()
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.recording.book import names_in_book

    with asked_shelf(settings, ()) as source:
        return names_in_book(source.shelf, names)
