"""Two sheets on one glass: how far apart they print the same build, and what brings them together.

No calibration is needed, as one scanner sees both alike.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import (
    LIKE_INKS,
    Likeness,
    SwatchesSeen,
    assumed_lab,
    press_as_seen,
    print_like,
)
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.colour.uncertainty import BOUND
from inkaccord.diagnostics import Diagnostic
from inkaccord.sheets.model import SampleSheet, Swatch
from inkaccord.sheets.scan.on_glass import swatches_seen
from inkaccord.sheets.scan.pages import LitPage, lit_pages, quality_of, refuse_bad_light
from inkaccord.sheets.scan.picture import ScannedPicture


@dataclass(frozen=True)
class SwatchesCompared:
    """How far two swatches of one scan lie apart: ΔE00 between what the scanner saw."""

    one: Swatch
    other: Swatch
    delta_e_00: float
    seen: tuple[Lab, Lab]
    """CIELAB of either as the scanner saw it, which no calibration made true."""


@dataclass(frozen=True, eq=False)
class BroughtTogether:
    """A colour as one pair prints it, and the build that looks like it on another.

    Attributes
    ----------
    colour, build
        The brand colour, and its build on the first sheet's pair.
    apart
        How far the same build on the second pair lies from it, ΔE00 as the scanner sees them; None
        where one pair is driven in CMYK and the other in RGB.
    other, likeness
        The build on the second pair that looks like it, and how sure that is.
    swatches
        Ids of the three swatches of the second sheet that look most like it.
    """

    colour: str
    build: Build
    apart: float | None
    other: Build
    likeness: Likeness
    swatches: tuple[str, ...]


@dataclass(frozen=True)
class SheetsCompared:
    """Two sheets of one scan: the swatches of equal build, and the colours brought together."""

    swatches: tuple[SwatchesCompared, ...]
    error: float = 0.0
    """Root mean square error of a distance, ΔE00."""
    together: tuple[BroughtTogether, ...] = ()
    findings: tuple[Diagnostic, ...] = ()

    @property
    def bound(self) -> float:
        """The ΔE00 by which a distance may be wrong, in 95 of 100 cases."""
        return BOUND * self.error

    @property
    def median(self) -> float | None:
        """The median of their distances, ΔE00; None where there are none."""
        return median(each.delta_e_00 for each in self.swatches) if self.swatches else None

    @property
    def of_controls(self) -> float | None:
        """The root mean square over the controls, ΔE00; None where there are none."""
        apart = [each.delta_e_00 for each in self.swatches if each.one.control]
        return float(np.sqrt(np.mean(np.square(apart)))) if apart else None


@dataclass(frozen=True, eq=False)
class _Side:
    """One of the two sheets as the scan shows it."""

    pages: tuple[LitPage, ...]
    swatches: tuple[Swatch, ...]
    seen: SwatchesSeen

    @classmethod
    def of(
        cls, pictures: Sequence[ScannedPicture], sheet: SampleSheet, findings: list[Diagnostic]
    ) -> "_Side":
        pages = lit_pages(pictures, sheet)
        refuse_bad_light(pages)
        own = [it for page in pages for it in quality_of(page.squared, page.sampled)]
        seen = swatches_seen(sheet, pages, own)
        for finding in own:
            message = f"sheet {sheet.id}: {finding.message}"
            findings.append(finding.model_copy(update={"message": message}))
        return cls(pages, *seen)

    @property
    def lab(self) -> Array:
        return assumed_lab(self.seen.linear)


def compare(
    pictures: Sequence[ScannedPicture],
    sheets: tuple[SampleSheet, SampleSheet],
    colours: Mapping[str, Build],
    policy: InkPolicy,
) -> SheetsCompared:
    """Compare two sheets that were scanned together.

    Each is evened by its own paper, which does not tell how much brighter the glass is at one of
    them than at the other: what either varies by in itself is taken for that too.

    Parameters
    ----------
    colours
        The builds of brand colours on the first sheet's pair, to be found on the second's.
    policy
        The limits of the second sheet's pair.

    Raises
    ------
    OrderError
        As :func:`~inkaccord.sheets.scan.on_glass.things_on_glass`.
    """
    findings: list[Diagnostic] = []
    first, second = (_Side.of(pictures, sheet, findings) for sheet in sheets)
    lit = _lit_apart((*first.pages, *second.pages))
    error = float(np.hypot(LIKE_INKS, lit))
    row_of = {swatch.build: row for row, swatch in reversed(list(enumerate(second.swatches)))}
    swatches = tuple(
        SwatchesCompared(
            swatch,
            second.swatches[there],
            float(delta_e_2000(lab, second.lab[there])),
            (as_lab(lab), as_lab(second.lab[there])),
        )
        for swatch, lab in zip(first.swatches, first.lab, strict=True)
        if (there := row_of.get(swatch.build)) is not None
    )
    return SheetsCompared(
        swatches, error, tuple(_together(first, second, colours, policy, lit)), tuple(findings)
    )


def _together(
    first: _Side, second: _Side, colours: Mapping[str, Build], policy: InkPolicy, lit: float
) -> list[BroughtTogether]:
    if not colours:
        return []
    here, there = press_as_seen(first.seen), press_as_seen(second.seen)
    found = []
    for colour, build in colours.items():
        values = np.array([build.values])
        look = here.predict_lab(values)[0]
        local = float(here.bound(values)[0]) / BOUND
        error = float(np.sqrt(lit**2 + local**2 + LIKE_INKS**2))
        likeness = print_like(there, second.seen, look, policy, error=error)
        found.append(
            BroughtTogether(
                colour=colour,
                build=build,
                apart=float(delta_e_2000(there.predict_lab(values)[0], look))
                if build.drive is second.seen.drive
                else None,
                other=Build(drive=second.seen.drive, values=tuple(likeness.build.tolist())),
                likeness=likeness,
                swatches=tuple(second.swatches[row].id for row in likeness.nearest),
            )
        )
    return found


def _lit_apart(pages: Sequence[LitPage]) -> float:
    """Return the ΔE00 by which the light at two sheets may differ, root mean square."""
    brighter = max(page.lighting.range for page in pages) ** 0.5
    paper = pages[0].lighting.paper
    return float(delta_e_2000(assumed_lab(paper * brighter), assumed_lab(paper)))
