"""Rectangles; named sizes of papers and envelopes, and sizes written out. All in points.

A size is width × height.

ISO sizes follow ISO 216 and ISO 217: halve the long side and round down to whole millimetres,
from A0 841 × 1189, B0 1000 × 1414, RA0 860 × 1220 and SRA0 900 × 1280 mm; envelopes C from
C0 917 × 1297 (ISO 269, withdrawn, still the trade's). They agree with the media names of the
Internet Printing Protocol (PWG 5101.1). US envelope sizes: common practice of the US envelope
trade; A9 from memory.
"""

import difflib
import re
from collections.abc import Iterable
from functools import cache
from typing import Annotated, Any, NamedTuple, Self

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema, model_validator

from inkaccord.models import Frozen
from inkaccord.units import PT_PER_IN, PT_PER_MM, UNIT_AT_END, inch, mm, parse_length
from inkaccord.written import shown

_SMALLEST_PT = PT_PER_MM
EXPECTED_SIZE = "expected 'width x height' with units, such as 5in x 7in, or a named size"

_ISO_START = {
    "a": (841, 1189),
    "b": (1000, 1414),
    "c": (917, 1297),
    "ra": (860, 1220),
    "sra": (900, 1280),
}
_US_SHEETS_IN = {
    "letter": (8.5, 11.0),
    "half-letter": (5.5, 8.5),
    "legal": (8.5, 14.0),
    "tabloid": (11.0, 17.0),
    "12x18": (12.0, 18.0),
    "13x19": (13.0, 19.0),
}
_US_ENVELOPES_IN = {
    "a1-envelope": (5.125, 3.625),
    "a2-envelope": (5.75, 4.375),
    "a6-envelope": (6.5, 4.75),
    "a7-envelope": (7.25, 5.25),
    "a8-envelope": (8.125, 5.5),
    "a9-envelope": (8.75, 5.75),
    "a10-envelope": (9.5, 6.0),
    "no10-envelope": (9.5, 4.125),
}
_ISO_ENVELOPES_MM = {"dl-envelope": (220.0, 110.0)}
_CROSS = re.compile(r"\s*[x×*]\s*|\s+by\s+", re.I)
_BARE = re.compile(r"^[\d.,/\s½¼¾⅛⅜⅝⅞]+$")


class Box(NamedTuple):
    """A rectangle: left, bottom, right, top, in points from the origin of what it lies on."""

    left: float
    bottom: float
    right: float
    top: float

    @classmethod
    def of(cls, corners: tuple[float, float, float, float]) -> "Box":
        """Return the box of two opposite corners, x and y of each, given in any order."""
        x0, y0, x1, y1 = corners
        return cls(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top."""
        return self.top - self.bottom

    @property
    def area(self) -> float:
        """Width times height, in square points."""
        return self.width * self.height

    @property
    def is_empty(self) -> bool:
        """Whether the box has no area."""
        return self.width <= 0 or self.height <= 0

    @property
    def in_mm(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top in millimetres, to 0.01 mm."""
        return (
            round(mm(self.left), 2),
            round(mm(self.bottom), 2),
            round(mm(self.right), 2),
            round(mm(self.top), 2),
        )

    def grown(self, by_pt: float) -> "Box":
        """Return the box with every edge moved outward; inward, to its middle at most."""
        across, up = max(by_pt, -self.width / 2), max(by_pt, -self.height / 2)
        return Box(self.left - across, self.bottom - up, self.right + across, self.top + up)

    def moved(self, dx_pt: float, dy_pt: float) -> "Box":
        """Return the box moved."""
        return Box(self.left + dx_pt, self.bottom + dy_pt, self.right + dx_pt, self.top + dy_pt)

    def meets(self, other: "Box", tolerance_pt: float = 0.0) -> bool:
        """Tell whether the insides of both overlap by more than a tolerance."""
        return (
            self.left < other.right - tolerance_pt
            and other.left < self.right - tolerance_pt
            and self.bottom < other.top - tolerance_pt
            and other.bottom < self.top - tolerance_pt
        )

    def holds(self, other: "Box", tolerance_pt: float = 0.01) -> bool:
        """Tell whether the other box lies within this one."""
        return (
            other.left >= self.left - tolerance_pt
            and other.bottom >= self.bottom - tolerance_pt
            and other.right <= self.right + tolerance_pt
            and other.top <= self.top + tolerance_pt
        )

    def common(self, other: "Box") -> "Box":
        """Return the part inside the other; an empty box at its edge when they do not meet."""
        left = min(max(self.left, other.left), other.right)
        bottom = min(max(self.bottom, other.bottom), other.top)
        return Box(
            left,
            bottom,
            max(left, min(self.right, other.right)),
            max(bottom, min(self.top, other.top)),
        )

    def around(self, other: "Box") -> "Box":
        """Return the smallest box that holds both."""
        return Box(
            min(self.left, other.left),
            min(self.bottom, other.bottom),
            max(self.right, other.right),
            max(self.top, other.top),
        )


class Sides(Frozen):
    """One length for each side of a page or a sheet, in points."""

    left: float = 0.0
    bottom: float = 0.0
    right: float = 0.0
    top: float = 0.0

    @classmethod
    def even(cls, length_pt: float) -> Self:
        """Return the same length on all four sides."""
        return cls(left=length_pt, bottom=length_pt, right=length_pt, top=length_pt)

    @property
    def least_pt(self) -> float:
        """The smallest of the four."""
        return min(self.left, self.bottom, self.right, self.top)

    def named(self) -> tuple[tuple[str, float], ...]:
        """Return the sides with their names."""
        return (
            ("left", self.left),
            ("bottom", self.bottom),
            ("right", self.right),
            ("top", self.top),
        )

    def within(self, size: "Size") -> Box:
        """Return what is left of a sheet inside margins."""
        return Box(self.left, self.bottom, size.width_pt - self.right, size.height_pt - self.top)


def _none_negative(sides: Sides) -> Sides:
    if sides.least_pt < 0:
        raise ValueError("a margin is not less than nothing")
    return sides


Margins = Annotated[Sides, AfterValidator(_none_negative)]
"""A field that holds margins: none is negative."""


class Size(Frozen):
    """A width and a height in points."""

    width_pt: float
    height_pt: float

    @model_validator(mode="after")
    def _positive(self) -> Self:
        if self.width_pt <= 0 or self.height_pt <= 0:
            raise ValueError("both sides must be larger than nothing")
        return self

    @classmethod
    def parse(cls, text: object) -> Self:
        """Read ``5in x 7in``, ``90 by 55 mm`` or a named size such as ``a4`` or ``a7-envelope``.

        Raises ValueError that says what was expected and suggests near names.
        """
        if not isinstance(text, str):
            raise ValueError(f"{shown(text)} is not a size: {EXPECTED_SIZE}")
        text = text.strip().strip("“”'")
        named, key = named_sizes(), _key(text)
        # What only an envelope is called so: c6 and dl (ISO 269), but not a6, which is a sheet too.
        key = key if key in named or f"{key}-envelope" not in named else f"{key}-envelope"
        if key in named:
            return cls(width_pt=named[key].width_pt, height_pt=named[key].height_pt)
        sides = _CROSS.split(text.strip())
        if len(sides) != 2:
            near = _near_names(key) if re.search("[a-z]", key) else []
            more = f"; did you mean {' or '.join(near)}?" if near else ""
            raise ValueError(f"{shown(text)} is not a size: {EXPECTED_SIZE}{more}")
        unit = UNIT_AT_END.search(sides[1])
        if unit and _BARE.match(sides[0]):
            sides[0] += unit["unit"]
        width, height = parse_length(sides[0]), parse_length(sides[1])
        if width <= 0 or height <= 0:
            raise ValueError(f"{shown(text)}: both sides have to be larger than nothing")
        if min(width, height) < _SMALLEST_PT:
            raise ValueError(f"{shown(text)}: both sides have to be 1 mm at least")
        return cls(width_pt=width, height_pt=height)

    @property
    def is_metric(self) -> bool:
        """Whether it is shown in millimetres, and lengths beside it should be."""
        return not str(self).endswith("in")

    @property
    def turned(self) -> "Size":
        """The size a quarter turn round."""
        return Size(width_pt=self.height_pt, height_pt=self.width_pt)

    def same_as(self, other: "Size", tolerance_pt: float = 0.01) -> bool:
        """Tell whether both sides agree within a tolerance, without turning."""
        return (
            abs(self.width_pt - other.width_pt) <= tolerance_pt
            and abs(self.height_pt - other.height_pt) <= tolerance_pt
        )

    def fits_in(self, other: "Size") -> bool:
        """Tell whether this size lies within the other, without turning."""
        return self.width_pt <= other.width_pt + 0.01 and self.height_pt <= other.height_pt + 0.01

    @property
    def in_mm(self) -> tuple[float, float]:
        """Width and height in millimetres."""
        return mm(self.width_pt), mm(self.height_pt)

    def __str__(self) -> str:
        """Return the size in inches if those are round, else in millimetres."""
        sides_in = inch(self.width_pt), inch(self.height_pt)
        if all(abs(side * 16 - round(side * 16)) < 1e-3 for side in sides_in):
            return "{:g} × {:g} in".format(*(round(side, 4) for side in sides_in))
        return "{:g} × {:g} mm".format(*(round(side, 2) for side in self.in_mm))


def mostly_metric(sizes: Iterable[Size]) -> bool:
    """Whether at least half of some sizes are shown in millimetres, as of none at all."""
    metric = [it.is_metric for it in sizes]
    return sum(metric) * 2 >= len(metric)


@cache
def named_sizes() -> dict[str, Size]:
    """Return every named size. Sheets stand upright, envelopes lie with the long side level.

    Beware: ``a2`` is the ISO sheet of 420 × 594 mm, ``a2-envelope`` the US envelope.
    """
    sizes: dict[str, Size] = {}
    for series, (width, height) in _ISO_START.items():
        short, long = width, height
        for number in range(11):
            size = Size(width_pt=short * PT_PER_MM, height_pt=long * PT_PER_MM)
            if series == "c":
                sizes[f"c{number}-envelope"] = size.turned
            else:
                sizes[f"{series}{number}"] = size
            short, long = long // 2, short
    for name, (width_mm, height_mm) in _ISO_ENVELOPES_MM.items():
        sizes[name] = Size(width_pt=width_mm * PT_PER_MM, height_pt=height_mm * PT_PER_MM)
    for name, (width_in, height_in) in {**_US_SHEETS_IN, **_US_ENVELOPES_IN}.items():
        sizes[name] = Size(width_pt=width_in * PT_PER_IN, height_pt=height_in * PT_PER_IN)
    return sizes


def envelope_of(size: Size, tolerance_pt: float) -> str | None:
    """Return the name of the usual envelope that is of a size, without turning; None of others."""
    return next(
        (
            name
            for name, usual in named_sizes().items()
            if name.endswith("-envelope") and usual.same_as(size, tolerance_pt)
        ),
        None,
    )


def _key(text: str) -> str:
    """Return what a written name of a size is looked up by: ``No. 10 envelope``, ``12 x 18``."""
    key = re.sub(r"^din\s+", "", text.lower())
    key = re.sub(r"(?:#|\bno\.?)\s*(?=\d)", "no", key)
    key = re.sub(r"(?<=\d)\s*[x×]\s*(?=\d+$)", "x", key)
    return "-".join(re.findall("[a-z0-9.]+", key))


def _near_names(key: str) -> list[str]:
    """Return names of sizes that a key is a slip for, an envelope's also by its short name."""
    named = named_sizes()
    short = {name.removesuffix("-envelope"): name for name in named if name.endswith("-envelope")}
    whole = {**short, **{name: name for name in named}}
    near = difflib.get_close_matches(key, whole, n=3)
    return list(dict.fromkeys(whole[name] for name in near))


def _size_or_text(value: Any) -> Any:
    if isinstance(value, dict) and value.keys() == {"width", "height"}:
        value = f"{value['width']} x {value['height']}"
    elif isinstance(value, list) and len(value) == 2:
        value = f"{value[0]} x {value[1]}"
    known = isinstance(value, Size) or (isinstance(value, dict) and "width_pt" in value)
    return value if known else Size.parse(value)


SizeField = Annotated[
    Size,
    BeforeValidator(_size_or_text),
    WithJsonSchema(
        {
            "type": ["string", "array", "object"],
            "examples": ["5in x 7in", "a4", "a7-envelope"],
        }
    ),
]
"""A field that takes a size as text and holds a :class:`Size`."""
