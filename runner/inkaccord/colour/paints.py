"""Paints: a colour as an artwork file writes it down."""

import re
from enum import StrEnum
from typing import Any, Self

from pydantic import model_serializer, model_validator

from inkaccord.colour.builds import Build
from inkaccord.colour.notation import colour_numbers
from inkaccord.models import Frozen
from inkaccord.written import percent, shown


class PaintKind(StrEnum):
    """The colour spaces that a person names colours in."""

    CMYK = "cmyk"
    """Four numbers in percent."""
    RGB = "rgb"
    """Three numbers, 0 to 255."""
    GRAY = "gray"
    """One number, percent of black ink: 0 is white, 100 is black."""
    SPOT = "spot"
    """A named colorant; the number is its tint in percent, 100 when left out."""
    LAB = "lab"
    """CIELAB, D50."""


_ROUNDING = 0.2
"""What is left of a whole percent where a program counted in 255ths."""
_LIMITS: dict[PaintKind, tuple[tuple[float, float], ...]] = {
    PaintKind.CMYK: ((0, 100),) * 4,
    PaintKind.RGB: ((0, 255),) * 3,
    PaintKind.GRAY: ((0, 100),),
    PaintKind.SPOT: ((0, 100),),
    PaintKind.LAB: ((0, 100), (-128, 127), (-128, 127)),
}
_SPOT = re.compile(
    r"^\s*spot\s+(?:\"(?P<quoted>[^\"]+)\"|(?P<plain>.+?))(?:\s+(?P<tint>[0-9.,]+)\s*%)?\s*$", re.I
)
_GREY_SPREAD = 1.02
"""255ths by which the parts of a grey may differ: rounding to 8 bits."""
EXPECTED = (
    "expected 'cmyk 85 20 60 30', 'rgb 12 34 56', 'gray 50', 'lab 40 -20 10', "
    "'#FFE873' or 'spot Name' ('spot Name 40%' for a tint)"
)


class Paint(Frozen):
    """One colour of an artwork: ``cmyk 85 20 60 30``, ``rgb …``, ``gray 50``, ``spot Kelp 40%``."""

    kind: PaintKind
    values: tuple[float, ...]
    name: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        return _parts(value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _in_range(self) -> Self:
        limits = _LIMITS[self.kind]
        if len(self.values) != len(limits):
            raise ValueError(
                f"{self.kind} takes {len(limits)} numbers, not {len(self.values)}: {EXPECTED}"
            )
        for number, (low, high) in zip(self.values, limits, strict=True):
            if not low <= number <= high:
                raise ValueError(f"{number:g} is outside {low:g} to {high:g} for {self.kind}")
        if (self.name is not None) != (self.kind is PaintKind.SPOT):
            raise ValueError(f"a spot has a name, and nothing else has: {EXPECTED}")
        return self

    @model_serializer
    def _as_text(self) -> str:
        return str(self)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a paint from text. Raises ValueError with what was expected."""
        return cls.model_validate(text)

    @classmethod
    def is_numbers(cls, text: str) -> bool:
        """Tell whether a text is a colour in numbers, and no spot's name.

        >>> Paint.is_numbers("cmyk 85 20 60 30"), Paint.is_numbers("a dried leaf")
        (True, False)
        """
        try:
            return cls.parse(text).kind is not PaintKind.SPOT
        except ValueError:
            return False

    @classmethod
    def spot(cls, name: str, tint: float = 100.0) -> Self:
        """Return a spot colour at a tint in percent."""
        return cls(kind=PaintKind.SPOT, values=(tint,), name=name)

    @classmethod
    def of_build(cls, build: Build) -> Self:
        """Return the paint that writes a build down."""
        return cls(kind=PaintKind(build.drive.value), values=build.values)

    @property
    def spoken(self) -> str:
        """The paint as a person would write it, rounding of programs undone; RGB with its hex.

        >>> Paint.parse("rgb 20 91.9999 77").spoken
        'rgb 20 92 77 (#145C4D)'
        >>> Paint.parse("cmyk 0 38.0392 12.5 1.9608").spoken
        'cmyk 0 38 12.5 2'
        >>> Paint(kind="gray", values=(-0.0,)).spoken
        'gray 0'
        """
        plain = self.rounded
        if self.kind is not PaintKind.RGB:
            return str(plain)
        return f"{plain} (#{bytes(round(value) for value in plain.values).hex().upper()})"

    @property
    def rounded(self) -> Self:
        """The paint with the rounding of programs undone, else to a tenth."""
        values = tuple(
            float(round(value)) if abs(value - round(value)) <= _ROUNDING else round(value, 1)
            for value in self.values
        )
        return self.model_copy(update={"values": values})

    def __str__(self) -> str:
        numbers = " ".join(f"{round(value, 4) + 0.0:g}" for value in self.values)  # no -0
        if self.kind is not PaintKind.SPOT:
            return f"{self.kind} {numbers}"
        name = f'"{self.name}"' if re.search(r"\s\d+(\.\d+)?\s*%$", self.name or "") else self.name
        return f"spot {name}" if self.values == (100.0,) else f"spot {name} {numbers}%"


def grey_share(paint: Paint) -> float | None:
    """Return how much black (0 to 1) a black, grey or white has; None for any other colour.

    Equal parts of RGB are a grey, and a grey is so much black ink (ISO 32000-2, 10.4.2). In CMYK
    it is black ink alone.
    """
    if paint.kind is PaintKind.GRAY:
        return paint.values[0] / 100
    if paint.kind is PaintKind.CMYK:
        return None if any(paint.values[:3]) else paint.values[3] / 100
    if paint.kind is not PaintKind.RGB or max(paint.values) - min(paint.values) > _GREY_SPREAD:
        return None
    return 1 - sum(paint.values) / 3 / 255


def _parts(text: str) -> dict[str, Any]:
    text = re.sub("^\\s*[“„](.*)[”“]\\s*$", r"\1", text)
    spot = _SPOT.match(re.sub("[“”„]", '"', text))
    if spot:
        tint = percent(spot["tint"]) if spot["tint"] else 100.0
        return {"kind": "spot", "values": (tint,), "name": spot["quoted"] or spot["plain"]}
    found = colour_numbers(text)
    if found is None:
        raise ValueError(f"{shown(text)} is not a colour of an artwork: {EXPECTED}")
    return {"kind": found[0], "values": found[1]}
