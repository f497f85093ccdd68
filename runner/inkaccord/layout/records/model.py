"""A field that is laid on every copy: what stands in it, where, and how it is set."""

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from inkaccord.models import Frozen
from inkaccord.units import Length, Points, write_length

_COLUMN = re.compile(r"\{([^{}]*)\}")
USUAL_TYPE = Points(10)


class Align(StrEnum):
    """Where lines stand in a field that is wider."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


class Stand(StrEnum):
    """Where lines stand in a field that is higher."""

    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"


_PositiveLength = Annotated[Length, Field(gt=0)]


class RecordField(Frozen):
    """A field that is laid on every copy."""

    left: Annotated[Length, Field(description="from the trim's left edge", ge=0)]
    top: Annotated[Length, Field(description="from the trim's upper edge", ge=0)]
    width: _PositiveLength
    height: _PositiveLength
    text: Annotated[
        str | None,
        Field(
            description="what stands in it, columns in braces: `{name}`; lines that come out empty "
            "are left out; without it and `qr` the column that is called as the field"
        ),
    ] = None
    qr: Annotated[
        str | None,
        Field(description="what a QR code in it says, columns in braces; its clear rim included"),
    ] = None
    side: Annotated[Literal[1, 2], Field(description="1 the front, 2 the back")] = 1
    type: Annotated[_PositiveLength, Field(description="size of the type")] = USUAL_TYPE
    least: Annotated[
        _PositiveLength | None,
        Field(description="size that long lines may be set down to; left out: as `type`"),
    ] = None
    font: Annotated[
        str,
        Field(
            description="`regular`, `bold` or `italic` of ours, or the name of a typeface that is "
            "embedded in the artwork, as far as it holds the letters",
            min_length=1,
        ),
    ] = "regular"
    colour: Annotated[
        str,
        Field(description="a colour of the order by its name, or as artwork writes one"),
    ] = "cmyk 0 0 0 100"
    align: Align = Align.LEFT
    stand: Stand = Stand.TOP

    @model_validator(mode="after")
    def _sensible(self) -> Self:
        if self.text is not None and self.qr is not None:
            raise ValueError("give 'text' or 'qr', not both: a field holds one of them")
        if self.least is not None and self.least > self.type:
            raise ValueError(
                f"'least' is {write_length(self.least)}, more than 'type', "
                f"{write_length(self.type)}: long lines are set smaller, not larger"
            )
        return self

    @property
    def least_pt(self) -> float:
        """The smallest size that it may be set in."""
        return self.type if self.least is None else self.least

    def template(self, name: str) -> str:
        """Return its text before a record is put in; ``name`` is the field's."""
        said = self.text if self.qr is None else self.qr
        return f"{{{name}}}" if said is None else said


def columns_in(template: str) -> list[str]:
    """Return the columns that a text names.

    >>> columns_in("{name}, {town}")
    ['name', 'town']
    """
    return list(dict.fromkeys(name.strip() for name in _COLUMN.findall(template)))


def filled(template: str, cells: Mapping[str, str]) -> str:
    """Return a text with a record's cells in it."""
    return _COLUMN.sub(lambda found: cells[found[1].strip()], template)


def lines_of(text: str) -> list[str]:
    """Return the lines of a text, empty ones and blanks that cells left behind left out."""
    lines = (re.sub(" {2,}", " ", line).strip() for line in text.splitlines())
    return [line for line in lines if line]
