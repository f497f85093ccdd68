"""One colour of an artwork file, named and described for people.

Nothing is converted here: two colours are the same when the file says the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.models import Frozen
from inkaccord.pdf.colours.spaces import DEVICE_GRAY, PROCESS_INKS, Space, SpaceKind, lab_of
from inkaccord.pdf.entries import BAD_OBJECT

_MUCH_BLACK, _DARK_RGB = 85.0, 40.0


class ColourKind(StrEnum):
    """What sort of colour it is, by the colour space in force (ISO 32000-2, 8.6)."""

    CMYK = "cmyk"
    RGB = "rgb"
    GRAY = "gray"
    SPOT = "spot"
    """Separation: one named colorant."""
    DEVICEN = "several inks"
    """DeviceN: named colorants mixed."""
    LAB = "lab"
    CAL = "calibrated"
    """CalRGB or CalGray."""
    ICC_CMYK = "cmyk with profile"
    ICC_RGB = "rgb with profile"
    ICC_GRAY = "gray with profile"
    IMAGE = "image"
    """A picture: many colours at once."""
    GRADIENT = "gradient"
    """A shading."""
    PATTERN = "pattern"
    """A tiling pattern that could not be read; the colours of one that can are named singly."""
    UNKNOWN = "unknown"


class ArtworkColour(Frozen):
    """One colour, named so that a person finds it again.

    ``text`` is what is shown and what tells two colours apart. ``paint`` is there for the plain
    device colours, spots and Lab, which a swap can name. ``inks`` holds the plates and their
    percentages where the file itself fixes them. ``parts`` are the stops of a gradient. ``numbers``
    is what a colour with a profile would be if its numbers stood alone, ``lab`` what the profile
    says that it looks like (CIELAB, D50, relative to its white).
    """

    kind: ColourKind
    text: str
    paint: Paint | None = None
    inks: tuple[tuple[str, float], ...] | None = None
    parts: tuple[ArtworkColour, ...] = ()
    numbers: Paint | None = None
    lab: Lab | None = None

    @property
    def look(self) -> Lab | None:
        """CIELAB of a colour with a profile, or of one that is CIELAB itself."""
        if self.paint is not None and self.paint.kind is PaintKind.LAB:
            return lab_of(self.paint)
        return self.lab

    @property
    def profiled_look(self) -> Paint | None:
        """What a profile says that it looks like, rounded as people write it."""
        if self.lab is None:
            return None
        lightness, *chroma = (round(value, 1) + 0.0 for value in self.lab)
        values = (min(max(lightness, 0.0), 100.0), *(min(max(v, -128.0), 127.0) for v in chroma))
        return Paint(kind=PaintKind.LAB, values=values)

    @property
    def spoken(self) -> str:
        """The colour as a person would write it, where a swap can name it; else its text."""
        return self.paint.spoken if self.paint is not None else self.text

    @property
    def by_numbers(self) -> ArtworkColour:
        """The plain colour with the numbers of one with a profile, in a gradient's stops too."""
        if self.numbers is not None:
            return plain_colour(self.numbers)
        if not self.parts:
            return self
        return self.model_copy(update={"parts": tuple(part.by_numbers for part in self.parts)})

    @property
    def total_ink(self) -> float | None:
        """The sum of the inks in percent, a gradient's greatest; None where a profile decides."""
        if self.inks is not None:
            return sum(amount for _, amount in self.inks)
        totals = [part.total_ink for part in self.parts]
        known = [total for total in totals if total is not None]
        return max(known) if known and len(known) == len(totals) else None

    @property
    def paints_nothing(self) -> bool:
        """Whether it is the colorant None, which leaves no mark (ISO 32000-2, 8.6.6.4)."""
        return self.inks is not None and {name for name, _ in self.inks} == {"None"}

    @property
    def is_white(self) -> bool:
        """Whether it lays down no ink at all (no ink, or device white)."""
        if self.inks is not None:
            return all(amount <= 0 for _, amount in self.inks)
        return self.kind is ColourKind.RGB and self.text == "rgb 255 255 255"

    @property
    def is_black_only(self) -> bool:
        """Whether black is the only ink."""
        if self.inks is None:
            return self.text == "rgb 0 0 0"
        return {name for name, amount in self.inks if amount > 0} == {"Black"}

    @property
    def is_grey(self) -> bool:
        """Whether it is a black, a grey or white of RGB, or of grey or RGB with a profile."""
        paint = self.paint or self.numbers
        return paint is not None and grey_share(paint) is not None

    @property
    def has_much_black(self) -> bool:
        """Whether it is a black: 85 % of black ink or more, or a nearly black RGB."""
        if self.inks is not None:
            return any(name == "Black" and amount >= _MUCH_BLACK for name, amount in self.inks)
        rgb = self.paint is not None and self.kind is ColourKind.RGB
        return rgb and self.paint is not None and max(self.paint.values) <= _DARK_RGB

    def __str__(self) -> str:
        return self.text


_KINDS = {
    SpaceKind.CMYK: ColourKind.CMYK,
    SpaceKind.RGB: ColourKind.RGB,
    SpaceKind.GRAY: ColourKind.GRAY,
    SpaceKind.LAB: ColourKind.LAB,
    SpaceKind.SPOT: ColourKind.SPOT,
    SpaceKind.DEVICEN: ColourKind.DEVICEN,
    SpaceKind.CALIBRATED: ColourKind.CAL,
    SpaceKind.PATTERN: ColourKind.PATTERN,
}
_PAINT_KINDS = {
    PaintKind.CMYK: ColourKind.CMYK,
    PaintKind.RGB: ColourKind.RGB,
    PaintKind.GRAY: ColourKind.GRAY,
    PaintKind.LAB: ColourKind.LAB,
    PaintKind.SPOT: ColourKind.SPOT,
}
_ICC_KINDS = {1: ColourKind.ICC_GRAY, 3: ColourKind.ICC_RGB, 4: ColourKind.ICC_CMYK}


def colour_in(space: Space, numbers: Sequence[float]) -> ArtworkColour:
    """Return the colour that operands mean in a space.

    As renderers do, takes the last numbers where there are too many; missing ones are 0.
    """
    wanted = space.components
    values = [number if math.isfinite(number) else 0.0 for number in numbers][-wanted:]
    values += [0.0] * (wanted - len(values))
    key = ("colour", *values)
    found: ArtworkColour | None = space.cache.get(key)
    if found is None:
        found = space.cache[key] = _describe(space, tuple(values))
    return found


def initial_colour(space: Space) -> ArtworkColour:
    """Return the colour that ``cs`` sets (ISO 32000-2, table 73)."""
    return colour_in(space, space.initial() or ())


def _describe(space: Space, numbers: tuple[float, ...]) -> ArtworkColour:
    while space.kind is SpaceKind.INDEXED:
        base = space.base
        if base is None or not base.components:
            break
        width = base.components
        last = max(0, len(space.table) // width - 1)
        index = min(max(0, round(numbers[0])), last)
        entry = space.table[index * width : (index + 1) * width].ljust(width, b"\0")
        space, numbers = base, base.from_bytes(entry)
    paint = space.colour(numbers).paint
    if paint is not None:
        return plain_colour(paint)
    percent = [round(100 * min(max(number, 0.0), 1.0), 4) + 0.0 for number in numbers]
    if space.kind is SpaceKind.DEVICEN:
        inks = tuple(zip(space.colorants, percent, strict=True))
        named = " + ".join(f"{name} {amount:g}%" for name, amount in inks if amount > 0)
        return ArtworkColour(kind=ColourKind.DEVICEN, text=named or "no ink", inks=inks)
    if space.kind is SpaceKind.ICC:
        colour = space.colour(numbers)
        device = colour.as_device()
        numbers_text = str(device) if device else " ".join(f"{n:g}" for n in percent)
        name = profile_name(space)
        through = f"through “{name}”" if name else "through a profile"
        kind = _ICC_KINDS.get(space.components, ColourKind.UNKNOWN)
        return ArtworkColour(
            kind=kind, text=f"{numbers_text} {through}", numbers=device, lab=colour.lab
        )
    kind = _KINDS.get(space.kind, ColourKind.UNKNOWN)
    return ArtworkColour(
        kind=kind,
        text=f"{space.name} {' '.join(f'{n:g}' for n in percent)}".strip(),
        numbers=space.colour(numbers).as_device(),
        lab=space.colour(numbers).lab,
    )


def plain_colour(paint: Paint) -> ArtworkColour:
    """Return a paint as a colour of artwork."""
    kind = _PAINT_KINDS[paint.kind]
    return ArtworkColour(kind=kind, text=str(paint), paint=paint, inks=_inks_of(paint))


def _inks_of(paint: Paint) -> tuple[tuple[str, float], ...] | None:
    if paint.kind is PaintKind.CMYK:
        return tuple(zip(PROCESS_INKS, paint.values, strict=True))
    if paint.kind is PaintKind.GRAY:
        return (("Black", paint.values[0]),)
    if paint.kind is PaintKind.SPOT:
        return ((paint.name or "", paint.values[0]),)
    return None


def profile_name(space: Space) -> str:
    """Return the description of an ICC-based space's profile, or nothing."""
    if "profile" not in space.cache:
        try:
            data = space.definition[1].read_bytes()
        except BAD_OBJECT:
            data = b""
        space.cache["profile"] = profile_description(data)
    return str(space.cache["profile"])


def space_name(space: Space) -> str:
    """Return a space in a few words: ``cmyk``, ``rgb with profile``, ``table of cmyk``."""
    if space.kind is SpaceKind.INDEXED and space.base is not None:
        return f"table of {space_name(space.base)}"
    if space.kind is SpaceKind.ICC:
        return str(_ICC_KINDS.get(space.components, ColourKind.UNKNOWN))
    if space.colorants:
        return " + ".join(space.colorants)
    return str(_KINDS.get(space.kind, ColourKind.UNKNOWN))


BLACK = colour_in(DEVICE_GRAY, (0.0,))


def profile_description(data: bytes) -> str:
    """Return the text of an ICC profile's ``desc`` tag (ISO 15076-1), or nothing."""
    try:
        count = int.from_bytes(data[128:132])
        for number in range(min(count, 100)):
            entry = data[132 + 12 * number : 144 + 12 * number]
            if entry[:4] != b"desc":
                continue
            tag = data[int.from_bytes(entry[4:8]) :][: int.from_bytes(entry[8:12])]
            if tag[:4] == b"desc":  # version 2: ASCII with its length
                return tag[12 : 11 + int.from_bytes(tag[8:12])].decode("latin-1").strip("\0 ")
            if tag[:4] == b"mluc":  # version 4: the first of several languages
                size, at = int.from_bytes(tag[20:24]), int.from_bytes(tag[24:28])
                return tag[at : at + size].decode("utf-16-be", "replace").strip("\0 ")
    except (IndexError, ValueError):
        pass
    return ""
