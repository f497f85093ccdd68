"""Exit codes, and the exceptions that lead to them."""

from collections.abc import Iterable
from enum import IntEnum
from typing import Self

from inkaccord.diagnostics import Diagnostic, Place, error


class ExitCode(IntEnum):
    """What the command's exit status means. Part of the stable interface."""

    DONE = 0
    """Everything is done."""
    WRONG = 2
    """The command line or the order is wrong."""
    WAITING = 3
    """A person is waited for: printed sheets, readings, picks, an answer, word to a vendor."""
    DISAGREE = 4
    """A piece can't go as it is: its artwork can't be used, or a check of it fails."""
    FILES = 5
    """A file could not be read or written, so that nothing could be done; or not delivered."""

    @staticmethod
    def worst(codes: Iterable[int]) -> int:
        """Return the exit code of several orders: that of the one which asks most of a person."""
        return max(codes, key=_EVER_WORSE.index, default=int(ExitCode.DONE))


MEANINGS = {
    "0": "all done",
    "2": "the command or the order is wrong",
    "3": "a person is waited for: printed sheets, readings, picks, an answer, or word to a vendor "
    "who has files that no longer hold",
    "4": "a piece can't go as it is: its artwork can't be used, or a check of it fails; what the "
    "others need is done. A colour that does not agree is a question (3)",
    "5": "a file could not be read or written, and without it nothing could be done; or not all "
    "was delivered",
    "130, 143": "stopped by Ctrl-C; by SIGTERM or a terminal that closed. Nothing is half-written",
    "141": "the reader of the output went away; what a run writes is written all the same",
}
"""What each exit code means, whatever the command."""

OWN_MISTAKE = 1
"""What a program leaves with that a mistake of its own stopped, as Python has it."""

_EVER_WORSE = (
    *(ExitCode.DONE, ExitCode.WAITING, ExitCode.DISAGREE, ExitCode.WRONG, ExitCode.FILES),
    OWN_MISTAKE,
)


class InkaccordError(Exception):
    """The work cannot go on. Carries every finding known at that moment.

    Subclasses fix the exit code; a plugin may raise any of them.
    """

    exit_code: ExitCode = ExitCode.WRONG

    def __init__(self, findings: Diagnostic | Iterable[Diagnostic]) -> None:
        self.findings: tuple[Diagnostic, ...] = (
            (findings,) if isinstance(findings, Diagnostic) else tuple(findings)
        )
        super().__init__("\n".join(str(finding) for finding in self.findings))

    @classmethod
    def of(
        cls,
        code: str,
        message: str,
        *,
        place: Place | None = None,
        in_program: str | None = None,
        hint: str | None = None,
    ) -> Self:
        """Return the exception for a single finding, written in place."""
        return cls(error(code, message, place=place, in_program=in_program, hint=hint))


class OrderError(InkaccordError):
    """The order, a command's argument or given data is wrong."""

    exit_code = ExitCode.WRONG


class PieceError(InkaccordError):
    """Pieces of an order can't go as they are; the others can."""

    exit_code = ExitCode.DISAGREE


class FileError(InkaccordError):
    """A file could not be read or written."""

    exit_code = ExitCode.FILES
