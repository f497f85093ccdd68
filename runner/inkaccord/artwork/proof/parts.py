"""The parts of a proof, and how they came out."""

from collections.abc import Sequence
from enum import StrEnum
from typing import Self

from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen


class ProofVerdict(StrEnum):
    """How a part of the proof came out."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    FAIL = "fail"
    NOT_RUN = "not run"


MOST_DETAILS = 20


class ProofPart(Frozen):
    """One part of a proof."""

    verdict: ProofVerdict
    checked: str
    """What was compared, in words with counts."""
    details: tuple[str, ...] = ()
    """What is wrong, or why it was not run; at most the first twenty."""
    why: Diagnostic | None = None
    """What kept it from being run, where it fails for that alone."""

    @classmethod
    def judged(cls, checked: str, wrong: Sequence[str]) -> Self:
        """Return a part that was run: it fails if anything is wrong."""
        verdict = ProofVerdict.FAIL if wrong else ProofVerdict.PASS
        return cls(verdict=verdict, checked=checked, details=tuple(wrong[:MOST_DETAILS]))

    @classmethod
    def not_run(cls, why: str) -> Self:
        """Return a part that was not run, and why."""
        return cls(verdict=ProofVerdict.NOT_RUN, checked="", details=(why,))

    @classmethod
    def not_drawn(cls, why: Diagnostic) -> Self:
        """Return a part that fails, since what was to be compared could not be drawn."""
        return cls(verdict=ProofVerdict.FAIL, checked="", details=(why.message,), why=why)
