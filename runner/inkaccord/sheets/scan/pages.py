"""The pages of a sheet in pictures: found, averaged, and the light that lies on them.

A scanner lights its glass nearly evenly. A photograph is told by its slant and its light; what of
that can't be divided out is refused with what to mend.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.lighting import Lighting, lighting_of
from inkaccord.sheets.scan.picture import ScannedPicture
from inkaccord.sheets.scan.sampling import Sampled, sample_swatches
from inkaccord.sheets.scan.squaring import FoundCode, Squared, find_codes, square
from inkaccord.words import counted, joined, plural

_COARSE_PX_PER_MM = 5.5
"""Below about 140 dpi a scan is said to be coarse."""
_UNEVEN = 0.06
"""Standard deviation over a swatch, as a share of its mean, that is worth a word."""
_DIRTY = 0.25
"""Share of a swatch left out as dirt that is worth a word."""
_CLIPPED = 0.2
"""Share of a swatch's pixels at the end of the scanner's range that is worth a word."""

_LIT_ALIKE, _LIT_APART = 1.25, 2.5
"""How much brighter the brightest of a page is than its darkest: on a scanner at most, and in a
photograph that can be used at most."""
_SLANT = 1.03
"""How much larger one corner of a page looks than another from which on it was photographed."""
_SHADOW = 0.08
"""Share of the bare paper that is darker or brighter than its surroundings, from which on a shadow
lies on the page."""
_LEAST_PX_PER_MM = 3.5
_GLARE = 2.5
"""ΔE00 by which the paper round a swatch is lit otherwise than the field has it, from which on
glare or a shadow lies on the swatch."""
SOILED, MOTTLED = 0.4, 0.12
"""Share of a swatch left out as dirt, and its unevenness, from which on it tells nothing."""


@dataclass(frozen=True, eq=False)
class LitPage:
    """A page in a picture, its light, and its swatches as evenly lit.

    Burnt-out paper does not tell how it is lit: then its swatches are as they were seen.
    """

    squared: Squared
    lighting: Lighting
    sampled: Sampled

    @property
    def photographed(self) -> bool:
        """Whether it was photographed: no scanner lights a page so, or sees it aslant."""
        return self.lighting.range > _LIT_ALIKE or _slant(self.squared) > _SLANT

    def under(self, other: "LitPage") -> Array:
        """Return (n, 3) linear RGB of its swatches as under the light of another page."""
        return self.sampled.linear / self.lighting.paper * other.lighting.paper


def find_pages(pictures: Sequence[ScannedPicture], sheet: SampleSheet) -> tuple[Squared, ...]:
    """Return where the pages of a sheet lie in the pictures of a scan, the first page first.

    Raises OrderError ``code-not-found``, ``wrong-sheet``, ``page-twice``, ``marks-not-found``,
    ``not-drawn-here``.
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


def lit_pages(pictures: Sequence[ScannedPicture], sheet: SampleSheet) -> tuple[LitPage, ...]:
    """Return the pages of a sheet, their uneven light taken out, whatever that is.

    Raises OrderError as :func:`find_pages`.
    """
    pages = []
    for squared in find_pages(pictures, sheet):
        covered = [berth.box_pt for berth in sheet.berths if berth.page == squared.page]
        lighting = lighting_of(sheet, squared, covered)
        sampled = sample_swatches(sheet, squared)
        if not lighting.burnt:
            even = lighting.even(sampled.linear, _middles(sheet, sampled.ids))
            sampled = replace(sampled, linear=even)
        pages.append(LitPage(squared, lighting, sampled))
    return tuple(pages)


def refuse_bad_light(pages: Sequence[LitPage]) -> None:
    """Refuse pages whose light can't be divided out.

    Raises OrderError ``burnt-out``, ``picture-too-small``, ``light-uneven``, ``shadow``;
    ``photographed-apart`` for pages on photographs of their own.
    """
    if (
        any(page.photographed for page in pages)
        and len({id(it.squared.picture) for it in pages}) > 1
    ):
        raise OrderError.of(
            "photographed-apart",
            "each page is on a photograph of its own, and no two photographs show colours alike",
            place=Place(file=pages[0].squared.picture.name),
            hint="lay all pages side by side on one photograph, or scan them one after the other",
        )
    for page in pages:
        for code, wrong, message, hint in _bad_light(page.squared, page.lighting):
            if wrong:
                place = Place(file=page.squared.picture.name)
                raise OrderError.of(code, message, place=place, hint=hint)


def spoiled(sheet: SampleSheet, page: LitPage, findings: list[Diagnostic]) -> NDArray[np.bool_]:
    """Tell which swatches of a photographed page tell nothing; ``findings`` says so.

    They lie beyond the picture's range, are soiled, or the paper round them is not lit as the page
    is: there glare or a shadow lies on them.
    """
    sampled = page.sampled
    lit_otherwise = page.lighting.missed_near(_middles(sheet, sampled.ids)) > _GLARE
    found = (
        (sampled.clipped > _CLIPPED)
        | (sampled.dropped > SOILED)
        | (sampled.uneven > MOTTLED)
        | lit_otherwise
    )
    if found.any():
        names = [sampled.ids[int(at)] for at in np.flatnonzero(found)]
        findings.append(
            warning(
                "swatches-left-out",
                f"{counted(len(names), 'swatch')} tell nothing in the photograph, by glare, a "
                f"shadow, dirt, or the end of its range: {', '.join(names[:12])}",
                place=Place(file=page.squared.picture.name),
                hint="to have them too, photograph the sheet again: by a window, lamps off, "
                "nothing shining on it, less exposure",
            )
        )
    return np.asarray(found)


def photographed_note(pages: Sequence[LitPage]) -> Diagnostic:
    """Say that pages were photographed."""
    return note(
        "photographed",
        "this is a photograph, or a scan with the lid open: it tells less than a scan",
        place=Place(file=pages[0].squared.picture.name),
    )


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
        names = sorted({code.sheet for code in codes})
        return OrderError.of(
            "wrong-sheet",
            f"the scan shows {plural(len(names), 'sheet')} {joined(names)}, not {sheet.id}",
            place=place,
            hint=f"record it with 'inkaccord record {names[0]} …'"
            if len(names) == 1
            else f"lay {sheet.id} on the glass, or say which of those it is about",
        )
    return OrderError.of(
        "code-not-found",
        f"no sheet's 2D code can be read in the scan, so {sheet.id} is not found",
        place=place,
        hint="scan the whole sheet at 300 dpi, in colour, with its code uncovered and clean; or "
        "photograph it so that it fills the picture",
    )


def _middles(sheet: SampleSheet, names: Sequence[str]) -> Array:
    """Return (n, 2) points: where swatches have their middles."""
    found = []
    for name in names:
        swatch = sheet.swatch(name)
        assert swatch is not None and swatch.box_pt is not None  # noqa: S101, PT018 -- it was sampled
        left, bottom, right, top = swatch.box_pt
        found.append(((left + right) / 2, (bottom + top) / 2))
    return np.array(found).reshape(-1, 2)


def _bad_light(squared: Squared, lighting: Lighting) -> Iterator[tuple[str, bool, str, str]]:
    """Yield what may be wrong with a picture: code, whether it is, what to say, how to mend it."""
    yield (
        "burnt-out",
        lighting.burnt,
        "the bare paper is as bright as the picture can be, so that nothing tells how bright it is",
        "scan darker, without automatic exposure; a photograph with less light or less exposure",
    )
    yield (
        "picture-too-small",
        squared.px_per_mm < _LEAST_PX_PER_MM,
        f"the sheet is too small in the picture: about {squared.px_per_mm * 25.4:.0f} dots an inch",
        "scan at 300 dpi; photograph it so that it fills the picture",
    )
    yield (
        "light-uneven",
        lighting.range > _LIT_APART,
        f"one end of the sheet is {lighting.range:.1f} times as bright as the other",
        "photograph it by a window, out of the sun, from straight above, without a flash",
    )
    yield (
        "shadow",
        lighting.shaded > _SHADOW,
        "a shadow or a bright spot lies on the paper, so that its colours can't be compared",
        "keep hand, head and telephone out of the light; press the sheet flat",
    )


def _slant(squared: Squared) -> float:
    """Return how much larger the nearest corner of the picture's page looks than the farthest."""
    row = squared.to_pixels[2]
    live = np.array([(0.0, 0.0), (600.0, 0.0), (0.0, 800.0), (600.0, 800.0)])
    depth = live @ row[:2] + row[2]
    return float(np.abs(depth).max() / np.abs(depth).min())
