"""The parts of a proof, and how they came out."""

from enum import StrEnum

from inkaccord.models import Frozen


class ProofVerdict(StrEnum):
    """How a part of the proof came out."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    FAIL = "fail"
    NOT_RUN = "not run"


class ProofPart(Frozen):
    """One part of a proof."""

    verdict: ProofVerdict
    checked: str
    """What was compared, in words with counts."""
    details: tuple[str, ...] = ()
    """What is wrong, or why it was not run; at most the first twenty."""
