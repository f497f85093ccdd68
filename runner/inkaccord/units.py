"""Lengths with units. Inside the program a length is a float in points (1 pt = 1/72 in)."""

import math
import re
import unicodedata
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainSerializer, WithJsonSchema

from inkaccord.written import number, percent, shown

PT_PER_IN = 72.0
PT_PER_MM = 72.0 / 25.4
LONGEST_PT = 10_000 * PT_PER_MM
"""Longer than any sheet; a roll of paper is cut into sheets first."""

_PER_UNIT = {
    "pt": 1.0,
    "point": 1.0,
    "in": PT_PER_IN,
    "inch": PT_PER_IN,
    '"': PT_PER_IN,
    "mm": PT_PER_MM,
    "millimeter": PT_PER_MM,
    "cm": 10 * PT_PER_MM,
    "centimeter": 10 * PT_PER_MM,
}
_UNIT = r"(?P<unit>points?|pts?|inch(?:es)?|ins?|\"|mm|cm|(?:milli|centi)met(?:re|er)s?)\.?"
_LENGTH = re.compile(
    rf"(?P<whole>-?\d+(?:[.,]\d+)?|-?[.,]\d+)??(?:\s+|(?<=\d)-)?"
    rf"(?P<fraction>\d+\s*/\s*\d+)?\s*{_UNIT}",
    re.I,
)
UNIT_AT_END = re.compile(rf"{_UNIT}\s*$", re.I)
"""A unit at the end of a text, as people write it."""
EXPECTED_LENGTH = "expected a length with its unit, such as 5in, 1/8in, 127mm or 360pt"


class Points(float):
    """A length that is known to be in points, so that no one has to ask for its unit again."""

    __slots__ = ()


def inches(number: float) -> Points:
    """Return a length given in inches."""
    return Points(number * PT_PER_IN)


def millimetres(number: float) -> Points:
    """Return a length given in millimetres."""
    return Points(number * PT_PER_MM)


def parse_length(value: object) -> Points:
    """Return a length in points from ``5in``, ``1 1/4 in``, ``127mm``, ``12,7 cm`` or ``360pt``.

    A bare number is refused except 0: a length without a unit is how pieces get printed wrong.
    Code gives :class:`Points`, by :func:`inches` or :func:`millimetres`.
    Raises ValueError that says what was expected.
    """
    if isinstance(value, Points):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if value == 0:
            return Points(0)
        raise ValueError(f"{shown(value)} has no unit: {EXPECTED_LENGTH}")
    match = _LENGTH.fullmatch(_spelt_out(value)) if isinstance(value, str) else None
    if not match or (match["whole"] is None and match["fraction"] is None):
        zero = isinstance(value, str) and re.fullmatch(r"[+-]?0+([.,]0+)?", value.strip())
        if zero:
            return Points(0)
        bare = isinstance(value, str) and re.fullmatch(r"[-+\d.,/\s]+", value.strip())
        fault = "has no unit" if bare else "is not a length"
        raise ValueError(f"{shown(value)} {fault}: {EXPECTED_LENGTH}")
    try:
        length = number(match["whole"] or "0")
        length += float(Fraction(re.sub(r"\s", "", match["fraction"] or "0")))
    except ZeroDivisionError:
        raise ValueError(f"{shown(value)} divides by zero: {EXPECTED_LENGTH}") from None
    except OverflowError:  # a numerator of hundreds of digits
        length = math.inf
    length *= _per_unit(match["unit"])
    if abs(length) > LONGEST_PT:
        raise ValueError(f"{shown(value)} is longer than anything here: the longest is 10 m")
    return Points(length)


def _spelt_out(text: str) -> str:
    """Return a length with its fractions and inch signs in plain characters."""
    for sign in "½¼¾⅛⅜⅝⅞":
        text = text.replace(sign, f" {Fraction(unicodedata.numeric(sign))}")
    text = re.sub("[″”“]|''|’’", '"', text.replace("\u2212", "-").replace("⁄", "/"))
    return text.strip()


def _per_unit(word: str) -> float:
    key = word.lower().replace("metre", "meter")
    return _PER_UNIT.get(key) or _PER_UNIT[key.removesuffix("es" if key == "inches" else "s")]


def mm(length_pt: float) -> float:
    """Return points as millimetres."""
    return length_pt / PT_PER_MM


def inch(length_pt: float) -> float:
    """Return points as inches."""
    return length_pt / PT_PER_IN


def rounded(number: float, places: int) -> str:
    """Return a number with so many decimal places, the nearest; what lies in the middle goes up.

    A length that went through points is a hair off: 107.95 mm is 107.9499…, yet rounds to 108.0.

    >>> rounded(mm(4.25 * PT_PER_IN), 1), f"{mm(4.25 * PT_PER_IN):.1f}"
    ('108.0', '107.9')
    """
    exact = Decimal(repr(round(number, 9)))
    return str(exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))


def write_length(length_pt: float) -> str:
    """Return a length with the unit in which it is round: inches, millimetres, else points."""
    for count, unit in ((inch(length_pt) * 16, "in"), (mm(length_pt) * 10, "mm")):
        if abs(count - round(count)) < 1e-6:
            return f"{round(count) / (16 if unit == 'in' else 10):.10g}{unit}"
    return f"{length_pt:g}pt"


def spoken_length(length_pt: float, *, metric: bool = False) -> str:
    """Return a length as a person reads it: in inches where it is sixteenths, else ``3.2 mm``.

    ``metric`` is for who thinks in mm anyway.

    >>> spoken_length(9), spoken_length(8.504), spoken_length(18, metric=True)
    ('0.125 in', '3 mm', '6.4 mm')
    """
    sixteenths = inch(length_pt) * 16
    if not metric and abs(sixteenths - round(sixteenths)) < 0.02:
        return f"{round(sixteenths) / 16:g} in"
    return f"{float(rounded(mm(length_pt), 1)):g} mm"


def _length(value: Any) -> Points:
    return parse_length(value)


def _percent(value: Any) -> Any:
    return percent(value) if isinstance(value, str) else value


_LENGTH_EXAMPLES = ["5in", "1/8in", "127mm", "360pt"]
Length = Annotated[
    float,
    BeforeValidator(_length),
    AfterValidator(Points),
    PlainSerializer(write_length, return_type=str, when_used="json"),
    WithJsonSchema({"anyOf": [{"type": "string", "examples": _LENGTH_EXAMPLES}, {"const": 0}]}),
]
"""A field that takes a length with its unit and holds points."""

Percent = Annotated[
    float,
    BeforeValidator(_percent),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "examples": ["5%"]}]}),
]
"""A field that takes ``5`` or ``5%`` and holds percent."""
