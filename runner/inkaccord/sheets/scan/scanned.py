"""A sheet as a scan shows it: found, squared, averaged, not yet calibrated."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.beside import Beside, object_beside
from inkaccord.sheets.scan.pages import (
    lit_pages,
    photographed_note,
    quality_of,
    refuse_bad_light,
    spoiled,
)
from inkaccord.sheets.scan.picture import ScannedPicture


@dataclass(frozen=True, eq=False)
class ScannedSheet:
    """The swatches of one sheet as a scan shows them, before any calibration.

    Attributes
    ----------
    ids
        The swatches found, n of them.
    linear
        (n, 3) mean linear RGB, all under one light.
    photographed
        Whether it is no scan but a photograph.
    pages
        The pages that the scan holds.
    beside
        An object that lies beside the sheet, if one does.
    findings
        What to look at: dirt, clipping, coarse resolution, missing pages.
    """

    sheet: SampleSheet
    ids: tuple[str, ...]
    linear: Array
    photographed: bool
    pages: tuple[int, ...]
    beside: Beside | None
    findings: tuple[Diagnostic, ...]


def scan_sheet(pictures: Sequence[ScannedPicture], sheet: SampleSheet) -> ScannedSheet:
    """Find a sheet in the pictures of a scan and average its swatches.

    Of a photograph, swatches that glare or an end of its range has spoiled are left out.

    Raises
    ------
    OrderError
        ``code-not-found``, ``wrong-sheet``, ``page-twice``, ``marks-not-found``,
        ``not-drawn-here``; of a photograph ``burnt-out``, ``light-uneven``, ``shadow``,
        ``picture-too-small``, ``photographed-apart``.
    """
    lit = lit_pages(pictures, sheet)
    photographed = any(page.photographed for page in lit)
    findings = [it for page in lit for it in quality_of(page.squared, page.sampled)]
    beside: Beside | None = None
    kept = [np.full(len(page.sampled.ids), True) for page in lit]
    linear = [page.sampled.linear for page in lit]
    if photographed:
        refuse_bad_light(lit)
        findings.append(photographed_note(lit))
        kept = [~spoiled(sheet, page, findings) for page in lit]
        linear = [page.under(lit[0]) for page in lit]  # a scanner's lamp is the same for all
    else:  # round a photographed sheet lies a table
        for page in lit:
            if page.squared.alone:  # another sheet is no object
                beside = beside or object_beside(sheet, page.squared)
    pages = tuple(page.squared.page for page in lit)
    missing = sorted(set(range(1, sheet.pages + 1)) - set(pages))
    if missing:
        findings.append(
            warning(
                "pages-missing",
                f"page {', '.join(map(str, missing))} of sheet {sheet.id} is not in the scan",
                hint="its swatches are left out",
            )
        )
    return ScannedSheet(
        sheet=sheet,
        ids=tuple(
            name
            for page, keep in zip(lit, kept, strict=True)
            for name, taken in zip(page.sampled.ids, keep, strict=True)
            if taken
        ),
        linear=np.vstack([rows[keep] for rows, keep in zip(linear, kept, strict=True)]),
        photographed=photographed,
        pages=pages,
        beside=beside,
        findings=tuple(findings),
    )
