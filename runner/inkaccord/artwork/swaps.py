"""What is to become of which colour: swaps, their tints, and how they are made."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable
from enum import StrEnum
from typing import Self

from pydantic import Field, model_validator

from inkaccord.artwork.mixing import (
    WHITE,
    scaled,
)
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.errors import OrderError
from inkaccord.models import Frozen


class SpotMode(StrEnum):
    """What becomes of a spot colour that is swapped."""

    KEEP = "keep"
    """It stays a spot, with the new build as its alternate colour and tint transform."""
    PROCESS = "process"
    """It becomes process colour."""


class TintMode(StrEnum):
    """What becomes of the tints of a swapped colour."""

    FOLLOW = "follow"
    """The swap's tint table says the build; without a table it is scaled."""
    SCALED = "scaled"
    """The new build, every component scaled."""
    OFF = "off"
    """Only the colour itself is swapped; its tints stay (tints of a spot are always its own)."""


class OverprintMode(StrEnum):
    """What is done where a new build would change what an overprint lets show through."""

    REPORT = "report"
    OFF = "off"
    """Overprint is switched off for those objects."""


class TintTable(Frozen):
    """The build for each tint of a colour, between the steps linear; 0 % is bare paper."""

    steps: tuple[tuple[float, Build], ...] = Field(min_length=1)
    """Original tint in percent, and the build that reproduces it; rising."""

    @model_validator(mode="after")
    def _rising(self) -> Self:
        tints = [tint for tint, _ in self.steps]
        if sorted(set(tints)) != tints or not all(0 <= tint <= 100 for tint in tints):
            raise ValueError("the tints of a table must rise, within 0 to 100")
        if len({build.drive for _, build in self.steps}) != 1:
            raise ValueError("all builds of a tint table must be driven alike")
        if tints[-1] != 100:
            raise ValueError("a tint table must end at 100")
        return self

    def at(self, tint: float) -> Build:
        """Return the build for a tint in percent."""
        steps = self.steps
        if steps[0][0] > 0:
            drive = steps[0][1].drive
            paper = WHITE[PaintKind(drive.value)].values
            steps = ((0.0, Build(drive=drive, values=paper)), *steps)
        tints = [step[0] for step in steps]
        high = min(bisect_right(tints, tint), len(steps) - 1)
        (t0, b0), (t1, b1) = steps[high - 1], steps[high]
        share = min(max((tint - t0) / (t1 - t0), 0.0), 1.0)
        values = tuple(a + (b - a) * share for a, b in zip(b0.values, b1.values, strict=True))
        return Build(drive=b0.drive, values=values)


class Swap(Frozen):
    """One colour of the artwork and what it becomes.

    ``old`` as a spot without a tint means the spot with all its tints; with a tint it means
    that tint only.
    """

    old: Paint
    new: Paint
    tints: TintTable | None = None
    tolerance: float = Field(
        0.5, ge=0, le=12.75, description="How far each number may be off, in percent or 255ths."
    )
    neutral: bool = False
    """Whether it means a black or grey, which alone takes no gradient and no table with it: there
    it stays where another colour stays. Of black in RGB it means all greys, down to white, and
    those of a grey or RGB profile too."""

    name: str | None = None
    """What the order calls the colour."""

    @model_validator(mode="before")
    @classmethod
    def _builds_are_paints(cls, value: object) -> object:
        if isinstance(value, dict) and isinstance(value.get("new"), Build):
            return {**value, "new": Paint.of_build(value["new"])}
        return value

    @property
    def whole_spot(self) -> bool:
        """Whether this swap means a spot with all its tints."""
        return self.old.kind is PaintKind.SPOT and self.old.values == (100.0,)

    @property
    def all_greys(self) -> bool:
        """Whether this swap means the black of RGB, and with it all greys."""
        return self.neutral and self.old.kind is PaintKind.RGB and grey_share(self.old) == 1

    def build_at(self, tint: float, mode: TintMode = TintMode.FOLLOW) -> Paint:
        """Return what a tint (in percent) of the old colour becomes."""
        if self.tints is not None and (self.neutral or mode is not TintMode.SCALED):
            return Paint.of_build(self.tints.at(tint))
        if tint == 100:
            return self.new
        return scaled(self.new, tint / 100)

    def __str__(self) -> str:
        return f"{self.old} = {self.new}"


def parse_swap(text: str) -> Swap:
    """Read ``cmyk 85 20 60 30 = cmyk 78 12 55 41``. Raises OrderError."""
    # 'C=85 M=20 = cmyk …' has other signs of its own: the one with blanks round it parts the two.
    old, equals, new = text.partition(" = " if " = " in text else "=")
    if not equals:
        raise OrderError.of(
            "bad-swap",
            f"'{text}' is not a swap: expected OLD = NEW",
            hint="write it as 'cmyk 85 20 60 30 = cmyk 78 12 55 41' or 'spot Kelp = cmyk …'",
        )
    try:
        return Swap(old=Paint.parse(old.strip()), new=Paint.parse(new.strip()))
    except ValueError as problem:
        errors: list[dict[str, str]] = getattr(problem, "errors", list)()
        words = "; ".join(one["msg"].removeprefix("Value error, ") for one in errors)
        raise OrderError.of("bad-swap", f"'{text}': {words or problem}") from None


NEUTRALS = Swap(
    old=Paint(kind=PaintKind.RGB, values=(0, 0, 0)),
    new=Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 100)),
    neutral=True,
)
"""Black, greys and white that a program wrote in RGB, as black ink alone and paper."""


def black_ink_of(paints: Iterable[Paint]) -> tuple[Swap, ...]:
    """Return black ink alone for the greys among some paints, each as dark as it is.

    Equal parts of RGB are so much black ink (ISO 32000-2, 10.4.2).
    """
    shares = ((paint, grey_share(paint)) for paint in paints)
    return tuple(
        Swap(old=paint, new=scaled(NEUTRALS.new, share), tolerance=0.0)
        for paint, share in shares
        if share is not None and paint.kind is not PaintKind.CMYK
    )


def without_profile(kept: Iterable[Paint], swaps: Collection[Swap]) -> tuple[Swap, ...]:
    """Return what takes the profile from colours that stay, save those that are named already.

    Else black type with a profile would still be mixed of four inks.
    """
    greys = {it.old.kind for it in swaps if it.neutral}
    named = {it.old for it in swaps}
    kinds = {PaintKind.CMYK, PaintKind.RGB, PaintKind.GRAY}
    return tuple(
        Swap(old=paint, new=paint, tolerance=0.0)
        for paint in dict.fromkeys(kept)
        if paint.kind in kinds and paint not in named
        if paint.kind not in greys or grey_share(paint) is None
    )


NEUTRALS_IN_RGB = Swap(
    old=Paint(kind=PaintKind.RGB, values=(0, 0, 0)),
    new=Paint(kind=PaintKind.RGB, values=(0, 0, 0)),
    neutral=True,
)
"""Black, greys and white with a profile, as the plain RGB of equal parts."""
