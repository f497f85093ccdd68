"""What was odd in a document, in words for people."""

from collections import Counter
from collections.abc import Mapping

from inkaccord.diagnostics import Diagnostic, Place, Severity
from inkaccord.pdf.limits import FileLimits

_WORDS: Mapping[str, tuple[Severity, str, str | None]] = {
    "bad-operands": (
        Severity.WARNING,
        "{detail}; it stays as it is",
        None,
    ),
    "misspelt-colour": (
        Severity.ERROR,
        "{detail}; devices differ in what they make of it",
        None,
    ),
    "chosen-again": (Severity.ERROR, "{detail}", None),
    "double-entry": (Severity.ERROR, "{detail}", None),
    "bad-inline-image": (Severity.WARNING, "{detail}", None),
    "bad-colour-space": (Severity.WARNING, "{detail}", None),
    "bad-shading": (
        Severity.WARNING,
        "a gradient cannot be read ({detail}) and stays as it is",
        None,
    ),
    "missing-resource": (Severity.WARNING, "{detail}", None),
    "content-loop": (Severity.WARNING, "{detail}; it is left out there", None),
    "unreadable-stream": (
        Severity.ERROR,
        "{detail}, so its colours are not known",
        None,
    ),
    "unbalanced-states": (
        Severity.WARNING,
        "{detail}; the colours are followed as renderers do",
        "compare the result with the original by eye",
    ),
    "default-space": (
        Severity.ERROR,
        "{detail}, but the page sends all plain colour of that kind through a profile (a default "
        "colour space), the new build too; it stays as it is",
        None,
    ),
    "default-space-gone": (
        Severity.WARNING,
        "{detail}",
        "look at the copy once, at its pictures too",
    ),
    "mixed-kinds": (
        Severity.ERROR,
        "{detail}",
        None,
    ),
    "inks-not-rewritten": (
        Severity.ERROR,
        "{detail}",
        None,
    ),
    "drawn-two-ways": (
        Severity.ERROR,
        "{detail} that say different things of its colours (what a name stands for, or a default "
        "colour space), so that it can't be recoloured for all of them",
        None,
    ),
    "named-space": (Severity.ERROR, "{detail}; it stays as it is", None),
    "inks-stay": (Severity.ERROR, "{detail}", None),
    "spot-image": (Severity.ERROR, "{detail}", None),
    "plate-left": (Severity.ERROR, "{detail}, and the vendor takes it as process colour", None),
    "overprint-changes": (
        Severity.WARNING,
        "{detail} under overprint: another ink shows through than before",
        None,
    ),
    "overprint-switched-off": (
        Severity.NOTE,
        "{detail}; overprint was switched off for these objects",
        "look whether the knock-out leaves a gap",
    ),
    "signed-file": (Severity.ERROR, "{detail}", None),
    "left-alone": (
        Severity.WARNING,
        "{detail}",
        None,
    ),
    "near-miss": (
        Severity.WARNING,
        "{detail}; it stays as it is",
        None,
    ),
    "stepped-gradient": (
        Severity.NOTE,
        "{detail}; all of it is moved",
        "look at the gradient once; no step needs to be named",
    ),
    "profiled-colour": (
        Severity.WARNING,
        "{detail}",
        None,
    ),
    "brand-in-picture": (
        Severity.ERROR,
        "{detail}",
        None,
    ),
    "rewritten-colour": (
        Severity.ERROR,
        "{detail}",
        None,
    ),
    "glyph-state": (Severity.ERROR, "{detail}, which devices read differently", None),
}


def diagnostics(odd: Counter[tuple[str, str, int | None]]) -> list[Diagnostic]:
    """Return findings, one for each code and detail, with the first page and the count.

    Where a detail has several lines, those after the first are its hint.
    """
    merged: dict[tuple[str, str], list[tuple[int | None, int]]] = {}
    for (code, detail, page), count in odd.items():
        merged.setdefault((code, detail), []).append((page, count))
    found: list[Diagnostic] = []
    per_code: Counter[str] = Counter()
    for (code, detail), places in merged.items():
        per_code[code] += 1
        if per_code[code] > FileLimits.findings:
            continue
        severity, message, hint = _WORDS[code]
        words, _, lines = detail.partition("\n")
        pages = sorted({page for page, _ in places if page is not None})
        text = message.format(detail=words)
        if len(pages) > 1:
            text += f" (also on {_pages(pages[1:])})"
        found.append(
            Diagnostic(
                code=code,
                severity=severity,
                message=text,
                place=Place(page=pages[0] if pages else None),
                hint=lines or hint,
            )
        )
    for code, count in per_code.items():
        if count > FileLimits.findings:
            severity = _WORDS[code][0]
            found.append(
                Diagnostic(
                    code=code,
                    severity=severity,
                    message=f"{count - FileLimits.findings} more findings of this kind",
                )
            )
    return found


def _pages(pages: list[int]) -> str:
    shown = ", ".join(str(page) for page in pages[:8])
    more = f" and {len(pages) - 8} more" if len(pages) > 8 else ""
    return f"page{'s' if len(pages) > 1 else ''} {shown}{more}"
