"""A sheet as a scan shows it: found, squared, averaged, not yet calibrated."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.beside import Beside, object_beside
from inkaccord.sheets.scan.picture import ScannedPicture
from inkaccord.sheets.scan.sampling import Sampled, sample_swatches
from inkaccord.sheets.scan.squaring import FoundCode, Squared, find_codes, square

_COARSE_PX_PER_MM = 5.5
"""Below about 140 dpi a scan is said to be coarse."""
_UNEVEN = 0.06
"""Standard deviation over a swatch, as a share of its mean, that is worth a word."""
_DIRTY = 0.25
"""Share of a swatch left out as dirt that is worth a word."""
_CLIPPED = 0.2
"""Share of a swatch's pixels at the end of the scanner's range that is worth a word."""


@dataclass(frozen=True, eq=False)
class ScannedSheet:
    """The swatches of one sheet as a scan shows them, before any calibration.

    Attributes
    ----------
    ids
        The swatches found, n of them.
    linear
        (n, 3) mean linear RGB.
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
    pages: tuple[int, ...]
    beside: Beside | None
    findings: tuple[Diagnostic, ...]


def scan_sheet(pictures: Sequence[ScannedPicture], sheet: SampleSheet) -> ScannedSheet:
    """Find a sheet in the pictures of a scan and average its swatches.

    Raises
    ------
    OrderError
        ``code-not-found``, ``wrong-sheet``, ``page-twice``, ``marks-not-found``,
        ``not-drawn-here``.
    """
    samples: list[Sampled] = []
    findings: list[Diagnostic] = []
    beside: Beside | None = None
    squares = find_pages(pictures, sheet)
    for squared in squares:
        samples.append(sample_swatches(sheet, squared))
        findings += quality_of(squared, samples[-1])
        if squared.alone:  # another sheet is no object
            beside = beside or object_beside(sheet, squared)
    pages = tuple(squared.page for squared in squares)
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
        ids=tuple(name for sampled in samples for name in sampled.ids),
        linear=np.vstack([sampled.linear for sampled in samples]),
        pages=pages,
        beside=beside,
        findings=tuple(findings),
    )


def find_pages(pictures: Sequence[ScannedPicture], sheet: SampleSheet) -> tuple[Squared, ...]:
    """Return where the pages of a sheet lie in the pictures of a scan, the first page first.

    Raises OrderError as :func:`scan_sheet`.
    """
    if sheet.live_pt is None:
        raise OrderError.of(
            "not-drawn-here",
            f"sheet {sheet.id} was not drawn here: where its swatches lie in a scan is not known",
            hint="record it from an instrument's file instead",
        )
    codes = [(picture, code) for picture in pictures for code in find_codes(picture)]
    own = [(p, code) for p, code in codes if code.sheet.upper() == sheet.id.upper()]
    if not own:
        raise _not_found(pictures, sheet, [code for _, code in codes])
    found: dict[int, Squared] = {}
    for picture, code in sorted(own, key=lambda pair: pair[1].page):
        if code.page in found:
            raise OrderError.of(
                "page-twice",
                f"page {code.page} of sheet {sheet.id} is in the scan twice",
                place=Place(file=picture.name),
                hint="scan every page once",
            )
        alone = sum(other is picture for other, _ in codes) == 1
        found[code.page] = replace(square(picture, sheet, code), alone=alone)
    return tuple(found.values())


def quality_of(squared: Squared, sampled: Sampled) -> Iterator[Diagnostic]:
    """Say what is doubtful about a page's swatches."""
    place = Place(file=squared.picture.name)
    if squared.px_per_mm < _COARSE_PX_PER_MM:
        dpi = squared.px_per_mm * 25.4
        yield warning(
            "coarse-scan", f"the scan has about {dpi:.0f} dpi", place=place, hint="scan at 300 dpi"
        )

    def over(shares: Array, limit: float) -> str:
        return ", ".join([sampled.ids[int(at)] for at in np.flatnonzero(shares > limit)][:12])

    if names := over(sampled.dropped, _DIRTY):
        yield warning(
            "dirty-swatch",
            f"{names}: much of the swatch was left out as dirt or scratches",
            place=place,
            hint="clean the glass and the sheet, and scan again",
        )
    if names := over(sampled.uneven, _UNEVEN):
        yield warning(
            "uneven-swatch",
            f"{names}: the colour is uneven, so its mean is uncertain",
            place=place,
            hint="look at the print for banding and mottling",
        )
    if names := over(sampled.clipped, _CLIPPED):
        yield warning(
            "clipped-scan",
            f"{names}: the colour lies beyond the scanner's range",
            place=place,
            hint="scan without automatic exposure, contrast or colour restoration",
        )


def _not_found(
    pictures: Sequence[ScannedPicture], sheet: SampleSheet, codes: Sequence[FoundCode]
) -> OrderError:
    place = Place(file=pictures[0].name if pictures else None)
    if codes:
        names = ", ".join(sorted({code.sheet for code in codes}))
        return OrderError.of(
            "wrong-sheet",
            f"the scan shows sheet {names}, not {sheet.id}",
            place=place,
            hint=f"record it with 'inkaccord record {names} …'",
        )
    return OrderError.of(
        "code-not-found",
        f"no sheet's 2D code can be read in the scan, so {sheet.id} is not found",
        place=place,
        hint="scan the whole sheet at 300 dpi, in colour, with its code uncovered and clean",
    )
