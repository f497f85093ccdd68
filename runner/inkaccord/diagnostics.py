"""What is wrong, where, and how to mend it, as a value.

Findings are collected, not thrown one by one: the screen and ``--json`` show the same objects.
An exception (:mod:`inkaccord.errors`) only carries them when the work cannot go on.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from itertools import zip_longest

from inkaccord.models import Frozen
from inkaccord.words import thousands


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    """The work cannot go on, or must not leave the house."""
    WARNING = "warning"
    """Probably not what was meant; the work goes on."""
    NOTE = "note"
    """Worth knowing."""


class Place(Frozen):
    """Where a finding sits: in a text file, in an order, or on a page."""

    file: str | None = None
    line: int | None = None
    column: int | None = None
    field: str | None = None
    page: int | None = None
    box_mm: tuple[float, float, float, float] | None = None
    """Left, bottom, right, top, from the page's lower left corner."""

    def __str__(self) -> str:
        numbers = [str(n) for n in (self.line, self.column) if n is not None]
        head = ":".join(part for part in (self.file, *numbers) if part)
        parts = [head] if head else []
        if self.page is not None:
            parts.append(f"page {self.page}")
        if self.box_mm is not None:
            parts.append("box {:.1f} {:.1f} {:.1f} {:.1f} mm".format(*self.box_mm))
        if self.field:
            parts.append(self.field)
        return ": ".join(parts)


class Diagnostic(Frozen):
    """One finding.

    ``code`` is stable and kebab-case (``unknown-colour``): orders waive findings by it and
    tests look for it. ``message`` says what is wrong and what was expected. ``in_program`` says
    what to change in the program that made an artwork, in words for whoever has only that program;
    ``hint`` says how else to mend it, in the order's words, with what is to be pasted into the
    order on lines of its own. ``source`` names the plugin or part
    that found it.
    """

    code: str
    severity: Severity
    message: str
    place: Place = Place()
    in_program: str | None = None
    hint: str | None = None
    source: str | None = None

    @property
    def mends(self) -> tuple[str, ...]:
        """How to mend it: in the program that made the artwork first, then otherwise.

        The lines of a hint stand apart, so that one can be pasted into the order as it is.
        """
        return tuple(
            line for said in (self.in_program, self.hint) if said for line in said.splitlines()
        )

    @property
    def is_to_mend(self) -> bool:
        """Whether it is more than a note."""
        return self.severity is not Severity.NOTE

    def __str__(self) -> str:
        place = str(self.place)
        text = f"{place}: {self.message}" if place else self.message
        return f"{text} ({'; '.join(self.mends)})" if self.mends else text


def error(
    code: str,
    message: str,
    *,
    place: Place | None = None,
    in_program: str | None = None,
    hint: str | None = None,
) -> Diagnostic:
    """Return a finding that stops the work."""
    return _found(Severity.ERROR, code, message, place, in_program, hint)


def warning(
    code: str,
    message: str,
    *,
    place: Place | None = None,
    in_program: str | None = None,
    hint: str | None = None,
) -> Diagnostic:
    """Return a finding that lets the work go on."""
    return _found(Severity.WARNING, code, message, place, in_program, hint)


def note(
    code: str,
    message: str,
    *,
    place: Place | None = None,
    in_program: str | None = None,
    hint: str | None = None,
) -> Diagnostic:
    """Return something worth knowing."""
    return _found(Severity.NOTE, code, message, place, in_program, hint)


def first_few(findings: Sequence[Diagnostic], most: int, what: str) -> list[Diagnostic]:
    """Return so many findings of one kind as a person reads, and how many more there are."""
    first, more = list(findings[:most]), len(findings) - most
    if more > 0:
        last = first[-1]
        message = f"{last.message}; {thousands(more)} more such {what} follow"
        first[-1] = last.model_copy(update={"message": message})
    return first


def with_mends(findings: Iterable[Diagnostic]) -> Iterator[tuple[Diagnostic, tuple[str, ...]]]:
    """Yield findings, each with how to mend it: of several in a row that have it alike, the last.

    A colour that has no bleed on four sides is mended once.
    """
    every = list(findings)
    for finding, following in zip_longest(every, every[1:]):
        is_said_below = following is not None and following.mends == finding.mends
        yield finding, () if is_said_below else finding.mends


def _found(
    severity: Severity,
    code: str,
    message: str,
    place: Place | None,
    in_program: str | None,
    hint: str | None,
) -> Diagnostic:
    return Diagnostic(
        code=code,
        severity=severity,
        message=message,
        place=place or Place(),
        in_program=in_program,
        hint=hint,
    )
