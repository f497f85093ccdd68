"""The parts of a proof, and how they came out."""

from enum import StrEnum

from inkaccord.models import Frozen


class Verdict(StrEnum):
    """How a part of the proof came out."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    FAIL = "fail"
    NOT_RUN = "not run"


class Part(Frozen):
    """One part of a proof."""

    verdict: Verdict
    checked: str
    """What was compared, in words with counts."""
    details: tuple[str, ...] = ()
    """What is wrong, or why it was not run; at most the first twenty."""
