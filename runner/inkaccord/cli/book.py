"""``inkaccord book``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import parse_size_option
from inkaccord.cli.shared import (
    JSON,
    PAIRS,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
    tell,
)
from inkaccord.cli.tables import Name, table
from inkaccord.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.colour.pairs import Pair
    from inkaccord.knowledge.book import BookLine
    from inkaccord.shelf.kept import KeptColour
    from inkaccord.sizes import Size

_CLIENT = click.option("--client", metavar="NAME", help="Only the colours of this client.")


@click.group("book", invoke_without_command=True)
@takes("order", "shelf")
@JSON
@click.pass_context
@pass_settings
def command(settings: Settings, ctx: click.Context, as_json: bool) -> None:
    """Keep the studio's own colours by name, and their builds on every pair.

    The book lies on the shelf. Without a further word: every colour, its aim and its client.
    """
    if ctx.invoked_subcommand is not None:
        return
    from inkaccord.cli.asking import asked_shelf

    with asked_shelf(settings, ()) as source:
        kept = source.shelf.book.colours()
    if as_json:
        print_json({"exit_code": 0, "colours": [_data(it) for it in kept]})
        return
    if not kept:
        settings.screen.print("The book is empty: 'inkaccord book add NAME COLOUR'.")
        return
    shown = table("colour", "aim", "client", "edition", right=("edition",))
    for edition in kept:
        colour = edition.colour
        shown.add_row(
            Name(colour.name), plain(colour.aim.words), plain(colour.client), str(edition.edition)
        )
    settings.screen.print(shown)


def _data(kept: "KeptColour") -> dict[str, Any]:
    return {
        **kept.colour.model_dump(mode="json", exclude={"spectrum", "wavelengths_nm"}),
        "has_spectrum": kept.colour.spectrum is not None,
        "edition": kept.edition,
        "since": kept.added_at.isoformat(),
    }


@command.command("add")
@click.argument("name", metavar="NAME")
@click.argument("colour", metavar="[COLOUR]", required=False)
@click.option("--by-eye", metavar="WORDS", help="Instead of COLOUR: the thing that picks match.")
@click.option("--client", metavar="NAME", help="Whose colour it is.")
@click.option("--note", metavar="WORDS", help="What else is worth knowing.")
@JSON
@pass_settings
def add(
    settings: Settings,
    name: str,
    colour: str | None,
    by_eye: str | None,
    client: str | None,
    note: str | None,
    as_json: bool,
) -> None:
    """Put a colour into the book, or say otherwise of one that is there.

    COLOUR is written as for 'inkaccord ask': 'lab 41 -20 8', 'cmyk 85 20 60 30 on device@stock',
    'K7Q-XM3/B7', '#2F5D50', a file of readings. What the book said before stays readable, and
    orders that were run with it keep it.
    """
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.order.wanted import Wanted
    from inkaccord.recording.book import say_in_book

    if colour is not None and by_eye is not None:
        raise click.UsageError("COLOUR and --by-eye both say what it looks like: give one")
    wanted = None if colour is None else Wanted.parse(colour)
    with asked_shelf(settings, () if wanted is None else (wanted,)) as source:
        said = say_in_book(source, name, wanted=wanted, by_eye=by_eye, client=client, note=note)
    kept = said.kept
    if as_json:
        findings = as_data(said.findings)
        print_json({"exit_code": 0, "new": said.new, **_data(kept), "findings": findings})
        return
    show_findings(settings.screen, said.findings)
    words = f"{kept.colour.name}, edition {kept.edition}: {kept.colour.aim.words}"
    already = "" if said.new else "The book says so already: "
    tell(settings, f"{already}{words}.", as_json=False)


@command.command("show")
@click.argument("name", metavar="NAME")
@PAIRS
@JSON
@pass_settings
def show(settings: Settings, name: str, pairs: "tuple[Pair, ...]", as_json: bool) -> None:
    """Show a colour of the book: all that was ever said of it, and its build on each pair."""
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.knowledge.book import book_line

    with asked_shelf(settings, ()) as source:
        newest = source.shelf.book.colour(name)
        editions = source.shelf.book.editions(name)
        line = book_line(newest, pairs or source.pairs(), source)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "editions": [_data(it) for it in editions],
                "answers": [
                    {"pair": str(answer.pair), **answer.model_dump(mode="json", exclude={"surer"})}
                    for answer in line.answers
                ],
                "unknown": line.unknown,
            }
        )
        return
    screen = settings.screen
    for kept in reversed(editions):
        gone = "struck" if kept.colour.struck else kept.colour.aim.words
        more = "".join(f"; {words}" for words in (kept.colour.client, kept.colour.note) if words)
        when = kept.added_at.date().isoformat()
        screen.print(
            plain(f"{kept.colour.name}, edition {kept.edition} of {when}: {gone}{more}"),
            soft_wrap=True,
        )
    screen.print()
    _show_builds(settings, line)


def _show_builds(settings: Settings, line: "BookLine") -> None:
    from inkaccord.knowledge.values import Evidence
    from inkaccord.report.book_files import remark_on

    shown = table("pair", "build", "off", "sure to", "known", right=("off", "sure to"),
                  whole=("build",))  # fmt: skip
    for one in line.answers:
        known = one.evidence is not Evidence.ESTIMATED
        off = "–" if one.delta_e_00 is None else f"{one.delta_e_00:.1f}"
        shown.add_row(
            Name(str(one.pair)),
            str(one.build),
            off if known else "not yet",
            f"±{one.uncertainty:.1f}" if known else "not yet",
            one.evidence.value,
        )
    settings.screen.print(shown)
    for one in line.answers:
        if said := remark_on(one):
            settings.screen.print(plain(f"  {one.pair}: {said}"), soft_wrap=True)
    for pair, why in line.unknown.items():
        settings.screen.print(plain(f"  {pair}: {why}"), soft_wrap=True)


@command.command("strike")
@click.argument("name", metavar="NAME")
@JSON
@pass_settings
def strike(settings: Settings, name: str, as_json: bool) -> None:
    """Strike a colour out of the book. What it said stays readable, and orders keep it."""
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.recording.book import strike as strike_out

    with asked_shelf(settings, ()) as source:
        struck = strike_out(source.shelf, name).kept
    words = f"{struck.colour.name} is struck out of the book."
    tell(settings, words, as_json=as_json, name=struck.colour.name, edition=struck.edition)


@command.command("card")
@click.argument("target", metavar="FILE.pdf", type=click.Path(path_type=Path, dir_okay=False))
@_CLIENT
@PAIRS
@click.option("--size", callback=parse_size_option, help="The page.  [default: a4]", metavar="SIZE")
@click.option("--title", metavar="WORDS", help="What stands at its head.")
@JSON
@pass_settings
def card(
    settings: Settings,
    target: Path,
    client: str | None,
    pairs: "tuple[Pair, ...]",
    size: "Size | None",
    title: str | None,
    as_json: bool,
) -> None:
    """Draw the book as a card for the wall: every colour with its build on every pair."""
    from inkaccord.files import write_if_changed
    from inkaccord.report.book_card import book_card, card_title
    from inkaccord.sizes import Size

    lines, _ = _lines(settings, client, pairs)
    head = title or card_title(client)
    write_if_changed(target, book_card(lines, size=size or Size.parse("a4"), title=head))
    words = f"{counted(len(lines), 'colour')} on {target}"
    tell(settings, words, as_json=as_json, colours=len(lines), files=[str(target)])


@command.command("export")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@_CLIENT
@PAIRS
@click.option(
    "--form",
    "forms",
    multiple=True,
    type=click.Choice(["cxf", "cgats", "csv"]),
    help="Only this form; may be given several times.  [default: all three]",
)
@JSON
@pass_settings
def export(
    settings: Settings,
    folder: Path,
    client: str | None,
    pairs: "tuple[Pair, ...]",
    forms: tuple[str, ...],
    as_json: bool,
) -> None:
    """Write the book for other programs: CxF, CGATS text and CSV, one file of each for a pair.

    Each holds the names, the builds on its pair, aims, notes, and what is only estimated.
    """
    from inkaccord.files import inside, write_if_changed
    from inkaccord.knowledge.values import Evidence
    from inkaccord.report.book_files import FORMS, book_files

    lines, asked = _lines(settings, client, pairs)
    made = book_files(lines, asked, forms or FORMS)
    for file in made:
        write_if_changed(inside(folder, file.path), file.data)
    written = [str(folder / file.path) for file in made]
    guesses = sum(one.evidence is Evidence.ESTIMATED for line in lines for one in line.answers)
    if as_json:
        print_json({"exit_code": 0, "colours": len(lines), "estimated": guesses, "files": written})
        return
    said = f"{counted(len(lines), 'colour')} in {counted(len(written), 'file')}:"
    for words in (said, *(f"  {path}" for path in written)):
        settings.screen.print(plain(words), soft_wrap=True)
    if guesses:
        settings.screen.print(
            f"{counted(guesses, 'build')} {'is' if guesses == 1 else 'are'} only estimated, and "
            "marked so: print and read those pairs first.",
            soft_wrap=True,
        )


def _lines(
    settings: Settings, client: str | None, pairs: "tuple[Pair, ...]"
) -> "tuple[list[BookLine], Sequence[Pair]]":
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.recording.book import book_lines

    with asked_shelf(settings, ()) as source, settings.working("finding builds"):
        return book_lines(source, client, pairs)
