"""Colour spaces and colours as a PDF file defines them (ISO 32000-2, 8.6)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind

if TYPE_CHECKING:
    from inkaccord.pdf.colours.profiles import ColourProfile


class SpaceKind(StrEnum):
    """The families of colour spaces, told apart as far as recolouring needs it."""

    CMYK = "cmyk"
    RGB = "rgb"
    GRAY = "gray"
    LAB = "lab"
    SPOT = "spot"
    DEVICEN = "devicen"
    ICC = "icc"
    CALIBRATED = "calibrated"
    INDEXED = "indexed"
    PATTERN = "pattern"
    UNKNOWN = "unknown"


DEVICE_COMPONENTS = {SpaceKind.CMYK: 4, SpaceKind.RGB: 3, SpaceKind.GRAY: 1}
DEFAULT_SPACES = {
    SpaceKind.CMYK: "/DefaultCMYK",
    SpaceKind.RGB: "/DefaultRGB",
    SpaceKind.GRAY: "/DefaultGray",
}
FAMILY = {1: "gray", 3: "rgb", 4: "cmyk"}
"""What numbers so many are most like."""
PROCESS_INKS = ("Cyan", "Magenta", "Yellow", "Black")
"""Colorants that a CMYK device has itself: a spot of such a name is that plate (as above)."""
NEVER_CHANGED = frozenset({"All", "None"})
"""Colorants that stand for every plate and for none (ISO 32000-2, 8.6.6.4)."""


@dataclass(frozen=True, slots=True)
class Colour:
    """One colour that a file sets: a paint that a person can name, or a description.

    ``numbers`` are the operands as the file's colour space takes them.
    """

    paint: Paint | None
    other: str | None
    numbers: tuple[float, ...] = ()
    device: str | None = None
    """For a colour that goes through a profile: the family of its numbers (``cmyk``, ``rgb``)."""
    inks: tuple[tuple[str, float], ...] = ()
    """For one mixed of named inks: each with its percent."""
    through: ColourProfile | None = None
    """For a colour that goes through a profile: that profile."""

    @property
    def lab(self) -> Lab | None:
        """What a colour looks like that is CIELAB itself, or has a profile that says so."""
        if self.paint is not None:
            return lab_of(self.paint) if self.paint.kind is PaintKind.LAB else None
        return self.through.lab(self.numbers) if self.through is not None else None

    def __str__(self) -> str:
        if self.paint is not None:
            return str(self.paint)
        numbers = " ".join(f"{round(number, 4):g}" for number in self.numbers)
        return f"{self.other} {numbers}".strip()

    @property
    def spoken(self) -> str:
        """The colour as a person would write it, where a person can name it."""
        return self.paint.spoken if self.paint is not None else str(self)

    def as_device(self) -> Paint | None:
        """Return the paint that the numbers would be without the profile."""
        if self.device is None:
            return self.paint
        return device_paint(SpaceKind(self.device), self.numbers)


@dataclass(slots=True, eq=False)
class Space:
    """A colour space. Compared by identity: the reader gives one per definition."""

    kind: SpaceKind
    components: int
    name: str = ""
    """The colorant of a spot; what a person would call any other space."""
    definition: Any = None
    """The object that defines it, None for a device space."""
    base: Space | None = None
    colorants: tuple[str, ...] = ()
    ranges: tuple[tuple[float, float], ...] = ()
    profile: ColourProfile | None = None
    """What says how the numbers of an ICC-based or calibrated space look."""
    table: bytes = b""
    """The colours of an indexed space."""
    key: str = ""
    """Equal for equal spaces within one file."""
    cache: dict[Any, Any] = field(default_factory=dict)

    def initial(self) -> tuple[float, ...] | None:
        """Return the colour that ``cs`` resets to; None for a pattern (nothing is painted)."""
        match self.kind:
            case SpaceKind.CMYK:
                return (0.0, 0.0, 0.0, 1.0)
            case SpaceKind.SPOT | SpaceKind.DEVICEN:
                return (1.0,) * self.components
            case SpaceKind.PATTERN:
                return None
            case SpaceKind.ICC if self.components == 4:
                return (0.0, 0.0, 0.0, 1.0)
            case SpaceKind.LAB | SpaceKind.ICC:
                return tuple(min(max(0.0, low), high) for low, high in self.ranges)
        return (0.0,) * self.components

    def colour(self, numbers: tuple[float, ...]) -> Colour:
        """Return the colour that these operands mean here."""
        match self.kind:
            case SpaceKind.CMYK | SpaceKind.RGB | SpaceKind.GRAY:
                return Colour(device_paint(self.kind, numbers), None, numbers)
            case SpaceKind.SPOT:
                tint = 100 * _clip(numbers[0], 0, 1)
                return Colour(Paint.spot(self.name, _tidy(tint)), None, numbers)
            case SpaceKind.LAB:
                low_high = ((0.0, 100.0), *self.ranges[1:])
                values = tuple(_tidy(_clip(v, *r)) for v, r in zip(numbers, low_high, strict=True))
                return Colour(Paint(kind=PaintKind.LAB, values=values), None, numbers)
            case SpaceKind.ICC | SpaceKind.CALIBRATED:
                family = FAMILY.get(self.components)
                return Colour(None, self.name, numbers, family, through=self.profile)
            case SpaceKind.INDEXED if self.base is not None and self.base.components:
                size = self.base.components
                last = len(self.table) // size - 1
                index = int(_clip(round(numbers[0]), 0, max(last, 0)))
                entry_bytes = self.table[index * size : (index + 1) * size]
                if len(entry_bytes) == size:
                    return self.base.colour(self.base.from_bytes(entry_bytes))
            case SpaceKind.DEVICEN if len(numbers) == self.components:
                percent = (_tidy(100 * _clip(number, 0, 1)) for number in numbers)
                inks = dict(zip(self.colorants, percent, strict=True))
                spots = [amount for name, amount in inks.items() if name not in PROCESS_INKS]
                # Without any spot it is a plain build, spelt with the names of the plates.
                if inks.keys() >= set(PROCESS_INKS) and max(spots, default=0.0) <= 0:
                    process = tuple(inks[name] / 100 for name in PROCESS_INKS)
                    return Colour(device_paint(SpaceKind.CMYK, process), None, numbers)
                return Colour(None, self.name, numbers, inks=tuple(inks.items()))
        return Colour(None, self.name or self.kind.value, numbers)

    def inside(self, numbers: tuple[float, ...]) -> tuple[float, ...]:
        """Return operands brought into their ranges, as every device does (ISO 32000-2, 8.6)."""
        ranges = self.ranges or ((0.0, 1.0),) * self.components
        return tuple(_clip(value, *one) for value, one in zip(numbers, ranges, strict=True))

    def numbers_of(self, paint: Paint) -> tuple[float, ...] | None:
        """Return the operands that mean a paint here; None where it is of another space."""
        if self.kind.value != paint.kind.value:
            return None
        if self.kind is SpaceKind.SPOT:
            return (paint.values[0] / 100,) if paint.name == self.name else None
        return device_numbers(paint) if self.kind in DEVICE_COMPONENTS else None

    def from_bytes(self, samples: bytes) -> tuple[float, ...]:
        """Return the operands that one 8-bit entry of a colour table means."""
        if self.kind is SpaceKind.LAB or (self.kind is SpaceKind.ICC and self.ranges):
            return tuple(
                low + (high - low) * sample / 255
                for sample, (low, high) in zip(samples, self.ranges, strict=True)
            )
        return tuple(sample / 255 for sample in samples)


def inks_name(names: Sequence[str]) -> str:
    """Return what a person would call the space of several inks."""
    return "inks " + "+".join(names)


def lab_of(paint: Paint) -> Lab:
    """Return the numbers of a paint in CIELAB."""
    lightness, a, b = paint.values
    return lightness, a, b


def in_srgb(lab: Lab) -> Paint | None:
    """Return the RGB that looks alike in sRGB (IEC 61966-2-1); None where no screen shows it."""
    from inkaccord.colour.spaces import lab_to_srgb  # noqa: PLC0415 - brings numpy

    rgb, shown = lab_to_srgb(lab)
    if not bool(shown):
        return None
    return _valid(PaintKind.RGB, tuple(round(255 * float(v), 4) for v in rgb))


def _clip(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _tidy(value: float) -> float:
    return round(value, 6) + 0.0


def device_paint(kind: SpaceKind, numbers: tuple[float, ...]) -> Paint:
    """Return the paint of device numbers 0 to 1, brought into range as renderers do."""
    unit = [min(max(number, 0.0), 1.0) for number in numbers]
    match kind:
        case SpaceKind.CMYK:
            return _valid(PaintKind.CMYK, tuple(round(100 * v, 6) for v in unit))
        case SpaceKind.RGB:
            return _valid(PaintKind.RGB, tuple(round(255 * v, 6) for v in unit))
        case SpaceKind.GRAY:
            return _valid(PaintKind.GRAY, (round(100 * (1 - unit[0]), 6),))
    raise ValueError(f"{kind} is no device space")


def _valid(kind: PaintKind, values: tuple[float, ...]) -> Paint:
    """Return a paint that is known to be valid; checking it takes most of the time else."""
    return Paint.model_construct(kind=kind, values=values, name=None)


def device_numbers(paint: Paint) -> tuple[float, ...]:
    """Return the operands, 0 to 1, that write a CMYK, RGB or gray paint."""
    match paint.kind:
        case PaintKind.CMYK:
            return tuple(value / 100 for value in paint.values)
        case PaintKind.RGB:
            return tuple(value / 255 for value in paint.values)
        case PaintKind.GRAY:
            return (1 - paint.values[0] / 100,)
    raise ValueError(f"{paint} is no device colour")


def write_number(number: float) -> str:
    """Return a number as PDF writes it, without exponent; seven decimals keep 255ths exact."""
    text = f"{number:.7f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


_OPERATOR = {
    PaintKind.CMYK: (b"k", b"K"),
    PaintKind.RGB: (b"rg", b"RG"),
    PaintKind.GRAY: (b"g", b"G"),
}


def write_paint(paint: Paint, *, fill: bool, name: str = "") -> bytes:
    """Return the operator with its operands that sets a CMYK, RGB or gray paint.

    With the ``name`` of a space of the same numbers, those that set it there.
    """
    numbers = " ".join(write_number(number) for number in device_numbers(paint))
    if name:
        return f"{name} {'cs' if fill else 'CS'} {numbers} {'scn' if fill else 'SCN'}".encode()
    return numbers.encode() + b" " + _OPERATOR[paint.kind][0 if fill else 1]


DEVICE_CMYK = Space(SpaceKind.CMYK, 4, "cmyk", key="cmyk")
DEVICE_RGB = Space(SpaceKind.RGB, 3, "rgb", key="rgb")
DEVICE_GRAY = Space(SpaceKind.GRAY, 1, "gray", key="gray")
DEVICE = {
    SpaceKind.CMYK: DEVICE_CMYK,
    SpaceKind.RGB: DEVICE_RGB,
    SpaceKind.GRAY: DEVICE_GRAY,
}
PLAIN_PATTERN = Space(SpaceKind.PATTERN, 0, "pattern", key="pattern")
