"""How much each finding matters to a vendor: what holds a piece, and what is only told."""

from collections.abc import Iterable, Mapping

from inkaccord.diagnostics import Diagnostic, Severity


def levelled(findings: Iterable[Diagnostic], levels: Mapping[str, Severity]) -> list[Diagnostic]:
    """Return findings as they matter to a vendor, by their codes; others stay as they are."""
    return [
        finding.model_copy(update={"severity": levels[finding.code]})
        if finding.code in levels
        else finding
        for finding in findings
    ]
