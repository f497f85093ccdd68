"""What a sheet costs, and what the shelf saved of it."""

from collections.abc import Iterable
from typing import Self

from inkaccord.colour.builds import FULL_SCALE, Build, Drive
from inkaccord.models import Frozen
from inkaccord.sheets.model import SampleSheet
from inkaccord.units import PT_PER_MM
from inkaccord.words import counted

_PT2_PER_CM2 = (10 * PT_PER_MM) ** 2


def coverage(build: Build) -> float:
    """Return the ink of a build as a share of one solid ink: 1.95 for 85 20 60 30.

    For RGB, where the driver decides, what is taken away from white: 3 − (R + G + B) / 255.
    """
    shares = [value / FULL_SCALE[build.drive] for value in build.values]
    return sum(shares) if build.drive is Drive.CMYK else len(shares) - sum(shares)


class Cost(Frozen):
    """What printing takes, in numbers that can be added and subtracted."""

    swatches: int = 0
    pages: int = 0
    area_cm2: float = 0.0
    """Area of the swatches."""
    ink_cm2: float = 0.0
    """Area times coverage, as if each ink were laid solid; an estimate for RGB devices. White that
    lies under all of a page counts with it; type and marks don't."""

    @property
    def rounded(self) -> "Cost":
        """The same with areas to a tenth, as a record has them."""
        areas = {"area_cm2": round(self.area_cm2, 1), "ink_cm2": round(self.ink_cm2, 1)}
        return self.model_copy(update=areas)

    @property
    def ink_in_words(self) -> str:
        """How much ink it takes: 'as much ink as 12 cm² of one solid ink'."""
        return f"as much ink as {self.ink_cm2:.0f} cm² of one solid ink"

    def __add__(self, other: Self) -> "Cost":
        return Cost(
            swatches=self.swatches + other.swatches,
            pages=self.pages + other.pages,
            area_cm2=self.area_cm2 + other.area_cm2,
            ink_cm2=self.ink_cm2 + other.ink_cm2,
        )

    def __sub__(self, other: Self) -> "Cost":
        return Cost(
            swatches=self.swatches - other.swatches,
            pages=self.pages - other.pages,
            area_cm2=self.area_cm2 - other.area_cm2,
            ink_cm2=self.ink_cm2 - other.ink_cm2,
        )

    def __str__(self) -> str:
        # Swatches may be saved without a page less.
        pages = f" on {counted(self.pages, 'page')}" if self.pages else ""
        return (
            f"{counted(self.swatches, 'swatch')}{pages}, "
            f"{self.area_cm2:.0f} cm² printed, with {self.ink_in_words}"
        )


def cost_of(sheets: Iterable[SampleSheet | None]) -> Cost:
    """Return what printing these sheets takes; None costs nothing."""
    total = Cost()
    for sheet in sheets:
        if sheet is None:
            continue
        areas = [
            (right - left) * (top - bottom) / _PT2_PER_CM2
            for left, bottom, right, top in (
                swatch.box_pt or (0, 0, 0, 0) for swatch in sheet.swatches
            )
        ]
        inks = [
            area * coverage(swatch.build)
            for area, swatch in zip(areas, sheet.swatches, strict=True)
        ]
        if sheet.settings.white_under and sheet.live_pt is not None:
            left, bottom, right, top = sheet.live_pt
            inks.append(sheet.pages * (right - left) * (top - bottom) / _PT2_PER_CM2)
        total += Cost(
            swatches=len(sheet.swatches),
            pages=sheet.pages,
            area_cm2=sum(areas),
            ink_cm2=sum(inks),
        )
    return total


class Savings(Frozen):
    """What was printed, and what would have been with an empty shelf."""

    printed: Cost
    without_shelf: Cost

    @property
    def saved(self) -> Cost:
        """The difference."""
        return self.without_shelf - self.printed


def savings(
    printed: Iterable[SampleSheet | None], without: Iterable[SampleSheet | None]
) -> Savings:
    """Compare the sheets of a plan with those of the same plan made with nothing known."""
    return Savings(printed=cost_of(printed), without_shelf=cost_of(without))
