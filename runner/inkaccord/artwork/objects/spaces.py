"""Colour spaces and colours as a PDF file defines them (ISO 32000-2, 8.6)."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import pikepdf

from inkaccord.artwork.limits import Limits
from inkaccord.artwork.objects.streams import StreamReader
from inkaccord.artwork.paints import Paint, PaintKind
from inkaccord.errors import FileError

MAX_DEPTH = 12
MAX_COLORANTS = 32


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


_DEVICE_NAMES = {
    "/DeviceCMYK": SpaceKind.CMYK,
    "/CMYK": SpaceKind.CMYK,
    "/CalCMYK": SpaceKind.CMYK,
    "/DeviceRGB": SpaceKind.RGB,
    "/RGB": SpaceKind.RGB,
    "/DeviceGray": SpaceKind.GRAY,
    "/G": SpaceKind.GRAY,
}
DEVICE_COMPONENTS = {SpaceKind.CMYK: 4, SpaceKind.RGB: 3, SpaceKind.GRAY: 1}
DEFAULT_SPACES = {
    SpaceKind.CMYK: "/DefaultCMYK",
    SpaceKind.RGB: "/DefaultRGB",
    SpaceKind.GRAY: "/DefaultGray",
}
_BY_COMPONENTS = {1: "gray", 3: "rgb", 4: "cmyk"}
_FREE_STANDING = frozenset(
    {SpaceKind.LAB, SpaceKind.SPOT, SpaceKind.DEVICEN, SpaceKind.ICC, SpaceKind.CALIBRATED}
)
"""Spaces that are the same in every setting; the others can mean a default space."""
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

    def __str__(self) -> str:
        if self.paint is not None:
            return str(self.paint)
        numbers = " ".join(f"{round(number, 4):g}" for number in self.numbers)
        return f"{self.other} {numbers}".strip()

    def as_device(self) -> Paint | None:
        """Return the paint that the numbers would be without the profile."""
        if self.device is None:
            return self.paint
        return device_paint(SpaceKind(self.device), self.numbers)


@dataclass(slots=True, eq=False)
class Space:
    """A colour space. Compared by identity; :class:`SpaceReader` gives one per definition."""

    kind: SpaceKind
    components: int
    name: str = ""
    """The colorant of a spot; what a person would call any other space."""
    definition: Any = None
    """The object that defines it, None for a device space."""
    base: Space | None = None
    colorants: tuple[str, ...] = ()
    ranges: tuple[tuple[float, float], ...] = ()
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
                return Colour(None, self.name, numbers, _BY_COMPONENTS.get(self.components))
            case SpaceKind.INDEXED if self.base is not None and self.base.components:
                size = self.base.components
                last = len(self.table) // size - 1
                index = int(_clip(round(numbers[0]), 0, max(last, 0)))
                entry_bytes = self.table[index * size : (index + 1) * size]
                if len(entry_bytes) == size:
                    return self.base.colour(self.base.from_bytes(entry_bytes))
        return Colour(None, self.name or self.kind.value, numbers)

    def from_bytes(self, samples: bytes) -> tuple[float, ...]:
        """Return the operands that one 8-bit entry of a colour table means."""
        if self.kind is SpaceKind.LAB or (self.kind is SpaceKind.ICC and self.ranges):
            return tuple(
                low + (high - low) * sample / 255
                for sample, (low, high) in zip(samples, self.ranges, strict=True)
            )
        return tuple(sample / 255 for sample in samples)


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


def write_paint(paint: Paint, *, fill: bool) -> bytes:
    """Return the operator with its operands that sets a CMYK, RGB or gray paint."""
    numbers = " ".join(write_number(number) for number in device_numbers(paint))
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


def word(name: Any) -> str:
    """Return a name object's text; its own spelling where that is no UTF-8."""
    try:
        return str(name)
    except UnicodeDecodeError:
        return str(name.unparse().decode("latin-1"))


def plain(name: Any) -> str:
    """Return a name object without its slash."""
    return word(name).removeprefix("/")


def objgen(thing: Any) -> tuple[int, int]:
    """Return the object number of an indirect object; (0, 0) for a direct one."""
    number: tuple[int, int] = getattr(thing, "objgen", (0, 0))
    return number


class SpaceReader:
    """Reads colour-space definitions, each indirect one once.

    ``unknown`` collects the definitions that make no sense, in words.
    """

    def __init__(self) -> None:
        self._by_object: dict[tuple[int, int], Space] = {}
        self.unknown: list[str] = []

    def read(self, definition: Any, resources: Any = None, depth: int = 0) -> Space:
        """Return the space that a name or an array defines.

        A name is looked up in ``resources`` (a ``/Resources`` dictionary) unless it names a
        device space. Default colour spaces in ``resources`` turn device spaces into profiled
        ones.
        """
        if depth > MAX_DEPTH:
            return self._bad("a colour space nested too deep")
        if isinstance(definition, (pikepdf.Name, str)):
            return self._named(word(definition), resources, depth)
        key = objgen(definition)
        if key != (0, 0) and key in self._by_object:
            return self._by_object[key]
        try:
            space = self._array(definition, resources, depth)
        except (
            AttributeError, IndexError, KeyError, TypeError, ValueError, FileError,
            pikepdf.PdfError,
        ):  # fmt: skip
            space = self._bad("a colour space that does not follow the standard")
        if key != (0, 0) and space.kind in _FREE_STANDING:
            self._by_object[key] = space
        return space

    def _bad(self, words: str) -> Space:
        self.unknown.append(words)
        return Space(SpaceKind.UNKNOWN, 0, "unknown space", key="unknown")

    def _named(self, name: str, resources: Any, depth: int) -> Space:
        kind = _DEVICE_NAMES.get(name)
        if kind is not None:
            return self.device(kind, resources, depth)
        if name == "/Pattern":
            return PLAIN_PATTERN
        found = _entry(_entry(resources, "/ColorSpace"), name)
        if found is None:
            return self._bad(f"the colour space {name} is not in the resources")
        if isinstance(found, pikepdf.Name) and word(found) == name:
            return self._bad(f"the colour space {name} names itself")
        return self.read(found, resources, depth + 1)

    def device(
        self, kind: SpaceKind, resources: Any, depth: int = 0, otherwise: Space | None = None
    ) -> Space:
        """Return a device space, or the profiled one that stands in for it in ``resources``.

        ``otherwise`` is what it is where ``resources`` say nothing.
        """
        fallback = otherwise or DEVICE[kind]
        default = _entry(_entry(resources, "/ColorSpace"), DEFAULT_SPACES[kind])
        if default is None or depth > MAX_DEPTH or isinstance(default, pikepdf.Name):
            return fallback
        space = self.read(default, None, depth + 1)
        if space.kind is SpaceKind.UNKNOWN or space.components != DEVICE_COMPONENTS[kind]:
            return fallback
        return space

    def _array(self, array: Any, resources: Any, depth: int) -> Space:
        if not isinstance(array, pikepdf.Array):
            return self._bad("a colour space that is neither a name nor an array")
        family = word(array[0])
        if family in _DEVICE_NAMES or len(array) == 1:
            return self._named(family, resources, depth + 1)
        match family:
            case "/ICCBased":
                return _icc(array)
            case "/CalRGB" | "/CalGray":
                return Space(
                    SpaceKind.CALIBRATED,
                    3 if family == "/CalRGB" else 1,
                    "calibrated rgb" if family == "/CalRGB" else "calibrated gray",
                    array,
                    key=f"{family} {objgen(array)} {_digest(array[1])}",
                )
            case "/Lab":
                given = array[1].get("/Range", [-100, 100, -100, 100])
                a0, a1, b0, b1 = (float(v) for v in given)
                return Space(
                    SpaceKind.LAB,
                    3,
                    "lab",
                    array,
                    ranges=(
                        (0.0, 100.0),
                        (max(a0, -128), min(a1, 127)),
                        (max(b0, -128), min(b1, 127)),
                    ),
                    key=f"lab {_digest(array[1])}",
                )
            case "/Separation":
                return Space(
                    SpaceKind.SPOT,
                    1,
                    plain(array[1]),
                    array,
                    base=self.read(array[2], resources, depth + 1),
                    colorants=(plain(array[1]),),
                    key=f"spot {plain(array[1])}",
                )
            case "/DeviceN":
                names = tuple(plain(name) for name in array[1])
                if not 0 < len(names) <= MAX_COLORANTS:
                    raise ValueError(f"{len(names)} colorants")
                return Space(
                    SpaceKind.DEVICEN,
                    len(names),
                    "inks " + "+".join(names),
                    array,
                    base=self.read(array[2], resources, depth + 1),
                    colorants=names,
                    key=f"devicen {names}",
                )
            case "/Indexed" | "/I":
                base = self.read(array[1], resources, depth + 1)
                table = index_table(array)
                return Space(
                    SpaceKind.INDEXED,
                    1,
                    f"indexed {base.name}",
                    array,
                    base=base,
                    table=table,
                    key=f"indexed {base.key} {hashlib.sha256(table).hexdigest()}",
                )
            case "/Pattern":
                base = self.read(array[1], resources, depth + 1)
                return Space(
                    SpaceKind.PATTERN,
                    base.components,
                    "pattern",
                    array,
                    base=base,
                    key=f"pattern {base.key}",
                )
        return self._bad(f"the colour space family {family} is not known")


def index_table(array: Any) -> bytes:
    """Return the colour table of an ``[/Indexed base hival table]`` array."""
    table = array[3]
    if isinstance(table, pikepdf.Stream):
        return StreamReader(Limits(stream_mib=1)).read(table)
    return bytes(table)


def _icc(array: Any) -> Space:
    profile = array[1]
    components = int(profile["/N"])
    if components not in _BY_COMPONENTS:
        raise ValueError(f"/N {components}")
    given = [float(v) for v in profile.get("/Range", [0, 1] * components)]
    ranges = tuple(zip(given[::2], given[1::2], strict=True))
    return Space(
        SpaceKind.ICC,
        components,
        f"profiled {_BY_COMPONENTS[components]}",
        array,
        ranges=ranges,
        key=f"icc {components} {objgen(profile)}",
    )


def _digest(dictionary: Any) -> str:
    return str(pikepdf.Object.unparse(dictionary, resolved=False))


def _entry(dictionary: Any, key: str) -> Any:
    """Return an entry of what should be a dictionary; None when it is missing or is not one."""
    if isinstance(dictionary, (pikepdf.Dictionary, pikepdf.Stream)):
        try:
            return dictionary.get(key)
        except TypeError:  # a key that is no UTF-8, which pikepdf lists but does not look up
            return dict(dictionary.items()).get(key)
    return None


entry = _entry
