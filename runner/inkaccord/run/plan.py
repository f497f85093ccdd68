"""What planning gives: sheets to print, and what only a person can say."""

import datetime
from enum import StrEnum
from typing import Any

from pydantic import Field

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.savings import Cost


class StepKind(StrEnum):
    """What a person is asked for."""

    PRINT = "print"
    """A sheet is to be printed, and recorded."""
    RECORD = "record"
    """A sheet that is printed already is to be read, or picked from."""
    QUESTION = "question"
    """No paper can tell: the order is to say what is wanted."""
    APPROVE = "approve"
    """The client is to look at what is shown, and to sign it."""
    SEND = "send"
    """A vendor has files that are not what goes now: it is to be told, and sent those of now."""


class Answer(Frozen):
    """A line to write in the order file."""

    field: tuple[str, ...]
    """Where it belongs: ``("pieces", "tag", "accept", "butter")``."""
    value: Any
    """What stands there then: plain data."""
    line: str
    """The same as it is written. It works at the left edge, anywhere in the file."""
    replaces: int | None = None
    """The line of the order file that it takes the place of, if the field is there already."""

    @property
    def gives_reason(self) -> bool:
        """Whether it says why, which a person may say better."""
        return isinstance(self.value, dict) and "why" in self.value


class Choice(Frozen):
    """One way to answer a question."""

    words: str
    answers: tuple[Answer, ...] = ()
    """Lines to write, all of them; none where it is not the order file that must change."""
    command: str | None = None
    sheets: tuple[str, ...] = ()
    """Printed sheets that it asks to be read."""


class NextStep(Frozen):
    """What a person has to do, or to decide, before the order can go on."""

    kind: StepKind = StepKind.PRINT
    text: str
    command: str | None = None
    look: str | None = None
    """The command that asks what the eye sees, of a sheet that offers something to it."""
    sheet: str | None = None
    pair: Pair | None = None
    colours: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    """Of a question: one of them answers it."""
    vendor: str | None = None
    """Who is to be told, and sent files."""


class Away(Frozen):
    """A sheet that was sent to be printed, and is not back."""

    to: str
    """As somebody said; empty where nobody did."""
    since: datetime.date


class PlannedSheet(Frozen):
    """A sample sheet to print, or printed and waiting to be recorded."""

    sheet: SampleSheet
    why: str
    printed: bool = False
    """Whether it is on paper already, as far as anyone said."""
    away: Away | None = None
    """To whom it was sent to be printed, while it is not back."""


class SamplePlan(Frozen):
    """What has to be printed or decided, and nothing that is known."""

    sheets: tuple[PlannedSheet, ...] = ()
    withdrawn: dict[str, str] = Field(default_factory=dict)
    """Sheets that nobody needs any more, and why, by id."""
    steps: tuple[NextStep, ...] = ()
    saved: Cost = Cost()
    """What need not be printed, because the shelf has it."""
    findings: tuple[Diagnostic, ...] = ()
