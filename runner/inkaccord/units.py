"""Lengths with units. Inside the program a length is a float in points (1 pt = 1/72 in)."""

import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainSerializer, WithJsonSchema

PT_PER_IN = 72.0
PT_PER_MM = 72.0 / 25.4

_PER_UNIT = {
    "pt": 1.0,
    "in": PT_PER_IN,
    '"': PT_PER_IN,
    "mm": PT_PER_MM,
    "cm": 10 * PT_PER_MM,
}
_LENGTH = re.compile(
    r"^\s*(?P<whole>-?\d+(?:[.,]\d+)?)??\s*(?P<fraction>\d+\s*/\s*\d+)?\s*(?P<unit>pt|in|\"|mm|cm)\s*$"
)
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
    """Return a length in points from ``5in``, ``1 1/4 in``, ``127mm``, ``12.7cm`` or ``360pt``.

    A bare number is refused except 0: a length without a unit is how pieces get printed wrong.
    Code gives :class:`Points`, by :func:`inches` or :func:`millimetres`.
    Raises ValueError that says what was expected.
    """
    if isinstance(value, Points):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if value == 0:
            return Points(0)
        raise ValueError(f"{value!r} has no unit: {EXPECTED_LENGTH}")
    match = _LENGTH.match(value) if isinstance(value, str) else None
    if not match or (match["whole"] is None and match["fraction"] is None):
        raise ValueError(f"{value!r} is not a length: {EXPECTED_LENGTH}")
    try:
        number = float((match["whole"] or "0").replace(",", "."))
        number += float(Fraction(re.sub(r"\s", "", match["fraction"] or "0")))
    except ZeroDivisionError:
        raise ValueError(f"{value!r} divides by zero: {EXPECTED_LENGTH}") from None
    return Points(number * _PER_UNIT[match["unit"]])


def mm(length_pt: float) -> float:
    """Return points as millimetres."""
    return length_pt / PT_PER_MM


def inch(length_pt: float) -> float:
    """Return points as inches."""
    return length_pt / PT_PER_IN


def write_length(length_pt: float) -> str:
    """Return a length with the unit in which it is round: inches, millimetres, else points."""
    for number, unit in ((inch(length_pt) * 16, "in"), (mm(length_pt) * 10, "mm")):
        if abs(number - round(number)) < 1e-6:
            return f"{round(number) / (16 if unit == 'in' else 10):.10g}{unit}"
    return f"{length_pt:g}pt"


def _length(value: Any) -> Points:
    return parse_length(value)


Length = Annotated[
    float,
    BeforeValidator(_length),
    AfterValidator(Points),
    PlainSerializer(write_length, return_type=str, when_used="json"),
    WithJsonSchema({"type": "string", "examples": ["5in", "1/8in", "127mm", "360pt"]}),
]
"""A field that takes a length with its unit and holds points."""
