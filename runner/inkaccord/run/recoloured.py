"""What recolouring gives: every vendor's copy, and its proof."""

from dataclasses import dataclass, field

from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen


class ProofSummary(Frozen):
    """What the proof of a recoloured file said."""

    passed: bool
    lines: tuple[str, ...]


@dataclass(frozen=True)
class RecolouredPiece:
    """A vendor's copy of one artwork."""

    piece: str
    data: bytes
    proof: ProofSummary
    findings: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True)
class Recoloured:
    """Every vendor's copy that could be made."""

    pieces: tuple[RecolouredPiece, ...] = ()
    failed: dict[str, str] = field(default_factory=dict)
    findings: tuple[Diagnostic, ...] = ()
