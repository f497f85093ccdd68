"""What a person decides where no paper can: colours accepted on a piece, limits of their own."""

from typing import Annotated, Any, NamedTuple, Self

from pydantic import Field, GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from inkaccord.models import Frozen
from inkaccord.written import number, shown

EXPECTED_LIMIT = "expected a number such as 3.0, or 'between_pieces: 3.0' and 'to_aim: 4.0'"
EXPECTED_REASON = "expected a few words, or 'why: …' with 'up_to: 6.5'"


class Accepted(Frozen):
    """A colour that is accepted on a piece as that piece prints it, and why.

    In short, the reason alone. `up_to` names what was known then: beyond it the colour is asked
    about again. Without it the distance of the run that first met the acceptance is kept.
    """

    why: Annotated[str, Field(description="the reason, in words", min_length=1)]
    up_to: Annotated[
        float | None,
        Field(description="ΔE00 up to which it is accepted; farther off it is asked again", gt=0),
    ] = None

    @model_validator(mode="before")
    @classmethod
    def _reason_alone(cls, value: Any) -> Any:
        if isinstance(value, str):
            return {"why": value}
        if not isinstance(value, (dict, Accepted)):
            raise ValueError(f"{shown(value)} is no reason: {EXPECTED_REASON}")
        return value

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return _or(handler.resolve_ref_schema(handler(core)), {"type": "string", "minLength": 1})


class Limits(Frozen):
    """Limits of a colour's or a piece's own, ΔE00. A number stands for both."""

    between_pieces: Annotated[float | None, Field(gt=0)] = None
    to_aim: Annotated[float | None, Field(gt=0)] = None

    @model_validator(mode="before")
    @classmethod
    def _one_for_both(cls, value: Any) -> Any:
        if isinstance(value, str):
            value = number(value)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return {"between_pieces": value, "to_aim": value}
        if not isinstance(value, (dict, Limits)):
            raise ValueError(f"{shown(value)} is no limit: {EXPECTED_LIMIT}")
        return value

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.between_pieces is None and self.to_aim is None:
            raise ValueError(f"no limit is given: {EXPECTED_LIMIT}")
        return self

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        limit: JsonSchemaValue = {"type": ["number", "string"], "exclusiveMinimum": 0}
        return _or(handler.resolve_ref_schema(handler(core)), limit)


class SwatchName(NamedTuple):
    """A swatch by its sheet and its id, as it is written: ``K7Q-XM3 B7``, or ``K7Q-XM3/B7``."""

    sheet: str
    swatch: str

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a swatch's name. Raises ValueError with what was expected."""
        words = text.upper().replace("/", " ").split()
        if len(words) != 2:
            raise ValueError(
                f"{shown(text)} is not a swatch: expected the sheet's id and the swatch's, "
                "'K7Q-XM3 B7'"
            )
        return cls(*words)

    def __str__(self) -> str:
        return f"{self.sheet} {self.swatch}"


def _or(whole: JsonSchemaValue, short: JsonSchemaValue) -> JsonSchemaValue:
    """Return the schema of a mapping that may be written in short."""
    mapping = {name: it for name, it in whole.items() if name not in {"title", "description"}}
    whole.update({"anyOf": [short, mapping]})
    for name in mapping:
        del whole[name]
    return whole
