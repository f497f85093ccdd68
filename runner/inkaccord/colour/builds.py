"""Builds: the numbers that are sent to a device."""

from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import Field, model_serializer, model_validator

from inkaccord.colour.notation import colour_numbers
from inkaccord.models import Frozen
from inkaccord.written import shown


class Drive(StrEnum):
    """How a device is driven."""

    CMYK = "cmyk"
    """Four inks, in percent."""
    RGB = "rgb"
    """Red, green and blue, 0 to 255; the driver mixes the inks."""


CHANNELS: dict[Drive, tuple[str, ...]] = {
    Drive.CMYK: ("C", "M", "Y", "K"),
    Drive.RGB: ("R", "G", "B"),
}
FULL_SCALE: dict[Drive, float] = {Drive.CMYK: 100.0, Drive.RGB: 255.0}

EXPECTED_BUILD = "expected 'cmyk 85 20 60 30' in percent or 'rgb 12 34 56' from 0 to 255"


class Build(Frozen):
    """CMYK in percent, or RGB 0 to 255. Written ``cmyk 85 20 60 30`` or ``rgb 12 34 56``.

    Hashable, so that it can key a table.
    """

    drive: Drive
    values: Annotated[tuple[float, ...], Field(min_length=3, max_length=4)]

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        return cls.parts(value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _in_range(self) -> Self:
        channels, top = CHANNELS[self.drive], FULL_SCALE[self.drive]
        if len(self.values) != len(channels):
            raise ValueError(
                f"a {self.drive} build has {len(channels)} numbers ({' '.join(channels)}), "
                f"not {len(self.values)}"
            )
        for name, number in zip(channels, self.values, strict=True):
            if not 0 <= number <= top:
                raise ValueError(
                    f"{name} is {number:g}; a {self.drive} build runs from 0 to {top:g}"
                )
        return self

    @model_serializer
    def _as_text(self) -> str:
        return str(self)

    @staticmethod
    def parts(text: str) -> dict[str, Any]:
        """Split a build as people write it into its fields. Raises ValueError."""
        found = colour_numbers(text)
        if found is None or found[0] not in set(Drive):
            raise ValueError(f"{shown(text)} is not a build: {EXPECTED_BUILD}")
        return {"drive": found[0], "values": found[1]}

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a build from text. Raises ValueError with what was expected."""
        return cls.model_validate(text)

    @classmethod
    def cmyk(cls, c: float, m: float, y: float, k: float) -> Self:
        """Return a CMYK build, in percent."""
        return cls(drive=Drive.CMYK, values=(c, m, y, k))

    @classmethod
    def rgb(cls, r: float, g: float, b: float) -> Self:
        """Return an RGB build, 0 to 255."""
        return cls(drive=Drive.RGB, values=(r, g, b))

    @classmethod
    def bare(cls, drive: Drive) -> Self:
        """Return the build that prints nothing."""
        nothing = 0.0 if drive is Drive.CMYK else FULL_SCALE[drive]
        return cls(drive=drive, values=(nothing,) * len(CHANNELS[drive]))

    @property
    def total_ink(self) -> float | None:
        """The sum of the inks in percent; None for RGB, where the driver decides."""
        return sum(self.values) if self.drive is Drive.CMYK else None

    def __str__(self) -> str:
        return f"{self.drive} " + " ".join(f"{round(value, 4):g}" for value in self.values)
