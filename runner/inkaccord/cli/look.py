"""``inkaccord look``."""

import datetime
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    DAY,
    JSON,
    Settings,
    parse_day,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import order_for, order_to_run, same_place, shelf_with
from inkaccord.errors import OrderError
from inkaccord.words import counted, joined, quoted, visible

if TYPE_CHECKING:
    from inkaccord.colour.predictor import Predictor
    from inkaccord.recording.looking import Looking, Question
    from inkaccord.sheets.model import Pick
    from inkaccord.shelf.store import Shelf


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
@click.option("--again", is_flag=True, help="Ask once more what this person answered that day.")
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
    again: bool,
    as_json: bool,
) -> None:
    """Ask, one after the other, which swatches of a printed sheet come nearest by eye.

    SHEET is the id printed on the sheet. Every answer is recorded as it comes: stop whenever you
    like, and start again to go on. Another person, or another day, is asked anew.
    """
    from inkaccord.recording.looking import Looking, wanted_colours
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_with(settings, sheet)) as shelf:
        on = shelf.sheet(sheet)
        loaded = order_for(settings, on.order, shelf.place)
        order = loaded.order if loaded is not None else None
        wanted = wanted_colours(on, colours, order)
        before = [it.pick for it in shelf.picks_of(on.pair) if it.sheet.id == on.id]
        who, lamp = _who_and_light(before, by, light, day)
        looking = Looking(
            on, by=who, light=lamp, day=day, sure=sure, order=order, scanned=tuple(before)
        )
        talk = _Talk(settings, shelf, looking, own=list(looking.own(before)))
        talk.go_through(wanted, after=looking.times_looked(before, wanted) if again else 0)
        step = order_to_run(settings, on.order, shelf.place) or "run the order again."
    looks = list(talk.answers.values())
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": on.id,
                "pair": str(on.pair),
                "looks": [it.model_dump(mode="json", exclude_none=True) for it in looks],
                "left": talk.left,
            }
        )
        return
    settings.screen.print(
        f"Recorded {counted(len(looks), 'look')} at sheet {plain(f'{on.id} ({on.pair})')}."
    )
    if talk.left and not looks:
        step = quoted("inkaccord", "look", on.id) + same_place(settings)
    settings.screen.print(f"Next: {plain(step)}", soft_wrap=True)


@dataclass
class _Talk:
    """Questions put to a person, whose answers are recorded as they come.

    ``own`` is what this person answered today, in earlier talks too.
    """

    settings: Settings
    shelf: "Shelf"
    looking: "Looking"
    own: "list[Pick]"
    answers: "dict[Question, Pick]" = field(default_factory=dict)
    _asked: "list[Question]" = field(default_factory=list)
    _second: "set[Question]" = field(default_factory=set)

    @property
    def left(self) -> int:
        """How many questions are not answered."""
        return sum(question not in self.answers for question in self._asked)

    def go_through(self, colours: Sequence[str], after: int) -> None:
        """Ask all that is not answered yet, until the person stops."""
        every = self.looking.questions(colours, after)
        self._asked = [it for it in every if not any(map(it.is_answered_by, self.own))]
        self._open(colours, given=len(every) - len(self._asked))
        at, told = 0, ("", 0)
        while at < len(self._asked):
            question = self._asked[at]
            scene = question.before, question.turn
            if scene != told:
                _tell(question.before)
            told = scene
            answer = _ask(f"{at + 1}/{len(self._asked)}  {question.text}", end="stop")
            if answer.lower() == "stop":
                break
            if answer.lower() == "back":
                if at == 0:
                    _tell("This is the first question.")
                at = max(at - 1, 0)
            elif answer.lower() in {"skip", ""} or self._takes(question, answer):
                at += 1

    def _open(self, colours: Sequence[str], *, given: int) -> None:
        """Say how to answer, and what was answered before."""
        from inkaccord.recording.looking import HOW_TO_ANSWER

        if not self._asked:
            _tell(f"All is answered today for {joined(colours)}.")
            _tell("Look again another day, or let another person look (--by). To go on: --again.")
            return
        if given:
            _tell(f"Going on after {counted(given, 'answer')} of today.")
        for line in HOW_TO_ANSWER:
            _tell(line)

    def _takes(self, question: "Question", answer: str) -> bool:
        """Record an answer. Return False for one that is not understood, and say why."""
        try:
            look = self.looking.read(question, answer)
        except OrderError as problem:
            show_findings(self.settings.aside, problem.findings)
            return False
        earlier = self.answers.get(question)
        self.shelf.record_picks([look], instead_of=earlier)
        self.answers[question] = look
        self.own = [it for it in self.own if it != earlier] + [look]
        if remark := self.looking.remark(question, look):
            _tell(remark)
        self._asks_again_of_two(question)
        return True

    def _asks_again_of_two(self, question: "Question") -> None:
        """Put a question next where this look lies far from another one of this person."""
        at = self._asked.index(question) + 1
        if self._second.intersection(self._asked[at : at + 1]):
            del self._asked[at]
        if question.among is not None:
            return
        second = self.looking.second_look(question.colour, self.own, lambda: self._model)
        if second is not None and not any(map(second.is_answered_by, self.own)):
            self._asked.insert(at, second)
            self._second.add(second)

    @cached_property
    def _model(self) -> "Predictor":
        from inkaccord.knowledge.apart import look_of

        sheet = self.looking.sheet
        return look_of(sheet, self.shelf.readings_of(sheet.pair))


def _who_and_light(
    before: "Sequence[Pick]", by: str | None, light: str | None, day: datetime.date
) -> tuple[str, str]:
    """Return who looks and under which light, asked where no option says; as last today."""
    from inkaccord.recording.looking import LIGHT, WHO

    today = [it for it in before if it.picked_on == day]
    if by is None:
        by = _ask(WHO, usual=today[-1].by if today else "")
    if light is None:
        own = [it.light for it in today if it.by == by and it.build is None]
        light = _ask(LIGHT, usual=own[-1] if own else "")
    return by, light


def _ask(text: str, end: str = "", usual: str = "") -> str:
    """Return what is typed; ``end`` where nothing more comes, ``usual`` for an empty line."""
    click.echo(visible(f"{text} [{usual}] " if usual else f"{text} "), nl=False, err=True)
    typed = sys.stdin.readline()
    if not typed:
        _tell("")
        return end or usual
    return typed.strip() or usual


def _tell(text: str) -> None:
    click.echo(visible(text), err=True)
