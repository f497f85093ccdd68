"""All checks in a row."""

from collections.abc import Generator, Sequence
from dataclasses import replace
from pathlib import Path

from inkaccord.artwork.advice import advised
from inkaccord.artwork.made_with import program_kind
from inkaccord.artwork.preflight import (
    bleed,
    construction,
    finishes,
    inks,
    kinds,
    lines,
    marks,
    pages,
    pdfx,
    pictures,
    post,
    typesetting,
)
from inkaccord.artwork.preflight.case import Check, Drawn, OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.levels import levelled
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, Place, Severity
from inkaccord.files import as_given
from inkaccord.pdf.opening import opening_findings
from inkaccord.pdf.page_source import open_pages

CHECKS: tuple[Check, ...] = (
    pages.check_page_count,
    pages.check_boxes,
    pages.check_trim_box,
    pages.check_trim_size,
    bleed.check_bleed,
    pages.check_safe_area,
    marks.check_marks,
    typesetting.check_fonts,
    typesetting.check_small_type,
    typesetting.check_rich_black_type,
    typesetting.check_reversed_type,
    typesetting.check_black_type,
    lines.check_lines,
    lines.check_reversed_lines,
    pictures.check_resolution,
    pictures.check_jpeg,
    kinds.check_colour_kinds,
    inks.check_total_ink,
    inks.check_white_overprint,
    inks.check_registration,
    inks.check_spots_mixed,
    finishes.check_white_under,
    construction.check_transparency,
    construction.check_layers,
    construction.check_version,
    construction.check_protection,
    post.check_address,
    post.check_mail_size,
    pdfx.check_pdfx,
)
"""The built-in checks, in the order of their findings."""

_ORDER = {severity: at for at, severity in enumerate(Severity)}


def preflight(
    source: Path | str | bytes,
    rules: ArtworkRules,
    context: PreflightContext | None = None,
    name: str | None = None,
    *,
    checks: Sequence[Check] = CHECKS,
) -> tuple[Diagnostic, ...]:
    """Check an artwork against a vendor's rules.

    Parameters
    ----------
    source
        The PDF.
    rules
        What the vendor asks of this piece.
    context
        What is known beside the artwork, such as readings for the address.
    name
        What to call the file in findings; its path by default.
    checks
        Which checks; ``(*CHECKS, mine)`` adds one.

    Returns
    -------
    tuple of Diagnostic
        Errors first, each with page, box in mm, and what to do.

    Raises
    ------
    FileError
        When the file cannot be opened at all.
    """
    steps = checking(as_given(source), rules, context, name, checks=checks)
    next(steps)
    return ended(steps, None)


Checking = Generator[OpenArtwork, Drawn | None, tuple[Diagnostic, ...]]
"""Shows the open artwork, and is given the pages that were drawn for it, if any were."""


def ended(steps: Checking, drawn: Drawn | None) -> tuple[Diagnostic, ...]:
    """Return what is found of an artwork that has been shown."""
    try:
        steps.send(drawn)
    except StopIteration as done:
        found: tuple[Diagnostic, ...] = done.value
        return found
    raise AssertionError("an artwork is shown once")


def checking(
    source: Path | bytes,
    rules: ArtworkRules,
    context: PreflightContext | None,
    name: str | None,
    *,
    checks: Sequence[Check] = CHECKS,
) -> Checking:
    """Return a check step by step: :func:`preflight` says what it takes and raises."""
    label = name or (str(source) if isinstance(source, Path) else None)
    with open_pages(source, name=name) as file:
        artwork = OpenArtwork.read(file, source, name=label)
        found = [*opening_findings(file.pdf, label), *artwork.read_findings]
        found += finishes.check_finishes(artwork, rules)
        artwork = artwork.without({rule.plate for rule in rules.finishes if not rule.prints})
        artwork = replace(artwork, drawn=(yield artwork))
        for check in checks:
            found += check(artwork, rules, context or PreflightContext())
        found = levelled(advised(found, program_kind(file.pdf)), dict(rules.levels))
    placed = [_placed(finding, label) for finding in found]
    return tuple(sorted(placed, key=lambda one: (_ORDER[one.severity], one.place.page or 0)))


def _placed(finding: Diagnostic, file: str | None) -> Diagnostic:
    place = finding.place
    if file is None or place.file is not None:
        return finding
    return finding.model_copy(
        update={"place": Place(file=file, page=place.page, box_mm=place.box_mm, field=place.field)}
    )
