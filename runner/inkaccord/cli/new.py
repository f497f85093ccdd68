"""``inkaccord new``."""

from pathlib import Path

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_place import to_run
from inkaccord.today import today


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
    "artworks",
    multiple=True,
    metavar="PDF",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Begin the order from this artwork; may be given several times.",
)
@takes("shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    folder: Path,
    names: tuple[str, ...],
    artworks: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Write a starter order into a new folder.

    It holds an order with two pieces, each field explained, and artwork to try it on. With --from
    it has a piece for each artwork, with its size and its colours; vendor, printer and stock are
    yours to name.
    """
    if artworks and names:
        raise click.UsageError("--from takes its colours from the artwork: leave --from-book out")
    if artworks:
        from inkaccord.foresight.beginning import begin_order

        written = begin_order(folder, artworks, today())
    else:
        from inkaccord.starter.order import write_starter

        written = write_starter(folder, today(), from_book=_in_the_book(settings, names))
    if as_json:
        print_json({"exit_code": 0, "files": [str(path) for path in written]})
        return
    for path in written:
        settings.screen.print(f"wrote {plain(str(path))}", soft_wrap=True)
    settings.screen.print(f"Next: {plain(to_run(settings, folder))}", soft_wrap=True)


def _in_the_book(settings: Settings, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return names as the book writes them. Raises OrderError for one that it does not have."""
    if not names:
        return ()
    from inkaccord.cli.asking import asked_shelf

    with asked_shelf(settings, ()) as source:
        return tuple(dict.fromkeys(source.entry(name).name for name in names))
