"""As much of a gradient's colour space as its proof has to know."""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.artwork.proof.shading_values import Numbers, UnreadableShadingError, numbers_of
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.profiles import ColourProfile, calibrated_profile, icc_profile
from inkaccord.pdf.colours.spaces import Colour
from inkaccord.pdf.entries import plain, word

WHITES = {
    PaintKind.CMYK: (0.0,) * 4,
    PaintKind.RGB: (1.0,) * 3,
    PaintKind.GRAY: (1.0,),
}
PLATES = ("Cyan", "Magenta", "Yellow", "Black")
_KINDS = {"/DeviceCMYK": PaintKind.CMYK, "/DeviceRGB": PaintKind.RGB, "/DeviceGray": PaintKind.GRAY}
_PROFILED = {1: PaintKind.GRAY, 3: PaintKind.RGB, 4: PaintKind.CMYK}


class GradientSpace:
    """The colour space of a shading."""

    def __init__(self, definition: Any, *, by_numbers: bool) -> None:
        parts = list(definition) if isinstance(definition, pikepdf.Array) else [definition]
        self.family = word(parts[0])
        self.kind: PaintKind | None = _KINDS.get(self.family)
        self.profiled = False
        self._ranges: list[float] = []
        self.profile: ColourProfile | None = None
        self.names: tuple[str, ...] = ()
        if self.family in ("/Separation", "/DeviceN"):
            several = parts[1] if self.family == "/DeviceN" else parts[1:2]
            self.names = tuple(plain(name) for name in several)
            self.size = len(self.names)
            self.kind = PaintKind.SPOT if self.size == 1 else None
            if self.names == PLATES:
                self.kind = PaintKind.CMYK  # the same numbers, by the names of the plates
        elif self.family == "/ICCBased":
            self.size = int(parts[1]["/N"])
            self.profiled = by_numbers
            self.profile = icc_profile(parts[1], self.size)
            self._ranges = numbers_of(parts[1].get("/Range", []))
        elif self.family in ("/CalRGB", "/CalGray"):
            self.size = 3 if self.family == "/CalRGB" else 1
            self.profiled = by_numbers
            self.profile = calibrated_profile(parts[1], self.size)
        elif self.family == "/Lab":
            self.size, self.kind = 3, PaintKind.LAB
        elif self.kind is not None:
            self.size = len(WHITES[self.kind])
        else:
            raise UnreadableShadingError(f"the colour space {self.family}")
        if self.profiled:
            self.kind = _PROFILED[self.size]

    @property
    def bounds(self) -> list[float]:
        """What every device brings numbers into before it prints them (ISO 32000-2, 8.6)."""
        if self.kind is PaintKind.LAB:
            return [0.0, 100.0, -128.0, 127.0, -128.0, 127.0]
        return self._ranges or [0.0, 1.0] * self.size

    @property
    def key(self) -> object:
        """What two spaces share that are one."""
        return self.family, self.names, self.size

    def paint(self, numbers: Numbers) -> Paint | None:
        """Return numbers as a paint, None where they are no plain colour."""
        unit = [min(max(v, 0.0), 1.0) for v in numbers]
        match self.kind:
            case PaintKind.CMYK:
                return Paint(kind=PaintKind.CMYK, values=tuple(100 * v for v in unit))
            case PaintKind.RGB:
                return Paint(kind=PaintKind.RGB, values=tuple(255 * v for v in unit))
            case PaintKind.GRAY:
                return Paint(kind=PaintKind.GRAY, values=(100 * (1 - unit[0]),))
            case PaintKind.SPOT:
                return Paint.spot(self.names[0], 100 * unit[0])
            case PaintKind.LAB:
                lightness, *chroma = numbers
                inside = (min(max(v, -128.0), 127.0) for v in chroma)
                values = (min(max(lightness, 0.0), 100.0), *inside)
                return Paint(kind=PaintKind.LAB, values=values)
        return None

    def colour(self, numbers: Numbers) -> Colour | None:
        """Return numbers as a colour that the swaps can be asked about, None where it has none."""
        paint = self.paint(numbers)
        if paint is not None:
            return Colour(paint, None, numbers)
        if self.profile is None:
            return None
        device = _PROFILED[self.size].value
        return Colour(None, self.family, numbers, device, through=self.profile)

    def numbers(self, paint: Paint) -> Numbers | None:
        """Return a paint as numbers of this space, None where it is of another kind."""
        match paint.kind:
            case self.kind if paint.kind is PaintKind.CMYK:
                return tuple(v / 100 for v in paint.values)
            case self.kind if paint.kind is PaintKind.RGB:
                return tuple(v / 255 for v in paint.values)
            case self.kind if paint.kind is PaintKind.GRAY:
                return (1 - paint.values[0] / 100,)
        return None


CMYK = GradientSpace(pikepdf.Name.DeviceCMYK, by_numbers=False)
