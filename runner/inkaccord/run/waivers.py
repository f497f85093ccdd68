"""Findings that an order lets be, with its reason."""

from inkaccord.artwork.proof.refusal import NOT_PROVED
from inkaccord.diagnostics import Diagnostic, Severity


def waived(finding: Diagnostic, piece: str, waive: dict[str, str]) -> Diagnostic:
    """Return a finding as a note where the order waives it, else with the line that would."""
    if finding.code not in waive or finding.code == NOT_PROVED:
        if finding.severity is not Severity.ERROR or finding.code == NOT_PROVED:
            return finding
        line = f'pieces.{piece}.waive.{finding.code}: "why it is all right"'
        accept = f"or, if it is meant so, accept it in the order: {line}"
        hint = f"{finding.hint}\n{accept}" if finding.hint else accept
        return finding.model_copy(update={"hint": hint})
    return finding.model_copy(
        update={
            "severity": Severity.NOTE,
            "in_program": None,
            "hint": f"waived: {waive[finding.code]}",
        }
    )
