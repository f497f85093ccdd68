"""``inkaccord look``."""

import datetime
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click
from rich.markup import escape

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    DAY,
    JSON,
    Settings,
    parse_day,
    pass_settings,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import order_for, order_to_run, shelf_with
from inkaccord.errors import OrderError
from inkaccord.words import counted, joined

if TYPE_CHECKING:
    from inkaccord.recording.looking import Question
    from inkaccord.sheets.model import Pick, SampleSheet

_HOW = (
    "Answer with a swatch (B7), two (B7, then C7; between B7 and B8), one and a word (B7, a little "
    "darker), or none (none of them: yellower). 'skip' goes on, 'stop' ends; answers are kept."
)


@click.command("look")
@click.argument("sheet", metavar="SHEET")
@click.option(
    "--colour",
    "colours",
    multiple=True,
    metavar="NAME",
    help="Only this colour; may be given several times.  [default: all that the sheet offers to "
    "the eye]",
)
@click.option("--by", metavar="NAME", help="Who looks.  [default: asked]")
@click.option("--light", metavar="WORDS", help="Under which light.  [default: asked]")
@click.option(
    "--sure",
    default=0.5,
    show_default=True,
    type=click.FloatRange(0, 1),
    help="How sure the person is, from 0 to 1.",
)
@click.option("--on", "day", type=DAY, callback=parse_day, help="When.  [default: today]")
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    sheet: str,
    colours: tuple[str, ...],
    by: str | None,
    light: str | None,
    sure: float,
    day: datetime.date,
    as_json: bool,
) -> None:
    """Ask, one after the other, which swatches of a printed sheet come nearest by eye.

    SHEET is the id printed on the sheet. Every answer is recorded as it comes: stop whenever you
    like, and start again to go on. Another person, or another day, is asked anew.
    """
    from inkaccord.recording.looking import questions
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_with(settings, sheet)) as shelf:
        on = shelf.sheet(sheet)
        wanted = _wanted(on, colours)
        order = order_for(settings, on.order, shelf.path)
        by = _ask("Who looks? (a name, or nothing)") if by is None else by
        light = _ask("Under which light? (such as: north window)") if light is None else light
        before = [it.pick for it in shelf.picks_of(on.pair) if it.sheet.id == on.id]
        asked = questions(
            on, wanted, before, by=by, today=day, order=order.order if order else None
        )
        _open(asked, wanted)
        looks: list[Pick] = []
        for look in _answers(settings, on, asked, by=by, light=light, sure=sure, day=day):
            shelf.record_picks([look])
            looks.append(look)
        again = order_to_run(settings, on.order, shelf.path)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": on.id,
                "pair": str(on.pair),
                "looks": [it.model_dump(mode="json", exclude_none=True) for it in looks],
                "left": len(asked) - len(looks),
            }
        )
        return
    settings.screen.print(f"Recorded {counted(len(looks), 'look')} at sheet {on.id} ({on.pair}).")
    settings.screen.print(
        f"Next: {escape(again) if again else 'run the order again.'}", soft_wrap=True
    )


def _wanted(sheet: "SampleSheet", colours: Sequence[str]) -> Sequence[str]:
    """Return the colours to ask for. Raises OrderError for one that the sheet does not show."""
    from inkaccord.order.mistakes import suggest
    from inkaccord.recording.looking import offered

    shown = list(dict.fromkeys(it.colour for it in sheet.swatches if it.colour))
    for name in colours:
        if name not in shown:
            raise OrderError.of(
                "unknown-colour",
                f"sheet {sheet.id} has no swatches for a colour '{name}'",
                hint=suggest(name, shown),
            )
    wanted = colours or offered(sheet)
    if not wanted:
        raise OrderError.of(
            "nothing-to-look-at",
            f"sheet {sheet.id} has no swatches that were made for the eye",
            hint="read it with an instrument, or name the colour with --colour"
            if shown
            else "read it with an instrument, or record a swatch with --pick COLOUR=SWATCH",
        )
    return wanted


def _open(asked: "Sequence[Question]", wanted: Sequence[str]) -> None:
    """Say how to answer, and what was answered before."""
    from inkaccord.recording.looking import LOOKS

    given = LOOKS * len(wanted) - len(asked)
    if not asked:
        _tell(f"All is answered today for {joined(wanted)}. Look again another day, or ask another")
        _tell("person (--by).")
        return
    if given:
        _tell(
            f"{counted(given, 'answer')} of today {'is' if given == 1 else 'are'} kept; going on."
        )
    _tell(_HOW)


def _answers(
    settings: Settings,
    sheet: "SampleSheet",
    asked: "Sequence[Question]",
    *,
    by: str,
    light: str,
    sure: float,
    day: datetime.date,
) -> "Iterator[Pick]":
    """Yield one look after the other, until all is answered or the person stops."""
    from inkaccord.sheets.reading.pick_text import parse_choice

    for number, question in enumerate(asked, start=1):
        while True:
            answer = _ask(f"{number}/{len(asked)}  {question.text}", end="stop")
            if answer.lower() == "stop":
                return
            if answer.lower() in {"skip", ""}:
                break
            try:
                look = parse_choice(
                    answer,
                    sheet,
                    colour=question.colour,
                    by=by,
                    light=light,
                    sure=sure,
                    picked_on=day,
                )
            except OrderError as problem:
                show_findings(settings.aside, problem.findings)
                continue
            yield question.answered(look)
            break


def _ask(text: str, end: str = "") -> str:
    """Return what is typed, or ``end`` where nothing more comes."""
    click.echo(f"{text} ", nl=False, err=True)
    typed = sys.stdin.readline()
    if not typed:
        _tell("")
        return end
    return typed.strip()


def _tell(text: str) -> None:
    click.echo(text, err=True)
