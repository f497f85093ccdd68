"""What a model's field takes, read from its annotation."""

import types
import typing
from collections.abc import Iterator
from enum import Enum
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo

from inkaccord.order.prices import Amount, Currency
from inkaccord.sizes import SizeField
from inkaccord.units import Length, Percent

READ_AS: dict[Any, tuple[str, str]] = {
    typing.get_args(Length)[1]: ("length", "a length with its unit, such as 5in or 127mm"),
    typing.get_args(Percent)[1]: ("percent", "a percentage, such as 5%"),
    typing.get_args(Amount)[1]: ("amount", "an amount of money, such as 12.50"),
    typing.get_args(Currency)[1]: ("currency", "a currency's code, such as EUR"),
    typing.get_args(SizeField)[1]: ("size", "a size, such as 5in x 7in or a4"),
}
"""What a field with a reader of its own holds, in a word and with examples, by that reader."""


def annotation_of(field: FieldInfo) -> Any:
    """Return a field's annotation with what pydantic took off it."""
    return Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation


def members(annotation: Any) -> Iterator[Any]:
    """Yield what an annotation allows, one of a union after the other, metadata taken off.

    A part that reads text itself (a length, a size) is left out: it knows best.
    """
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is Annotated:
        if not reads_text(annotation):
            yield from members(arguments[0])
    elif origin in {typing.Union, types.UnionType}:
        for part in arguments:
            yield from members(part)
    else:
        yield annotation


def reads_text(annotation: Any) -> BeforeValidator | None:
    """Return an annotation's own reader of text; None where it has none."""
    if typing.get_origin(annotation) is not Annotated:
        return None
    marks = typing.get_args(annotation)[1:]
    return next((mark for mark in marks if isinstance(mark, BeforeValidator)), None)


def readers(annotation: Any) -> Iterator[BeforeValidator]:
    """Yield the readers of text that an annotation or one of its union has."""
    own = reads_text(annotation)
    if own is not None:
        yield own
    elif typing.get_origin(annotation) in {Annotated, typing.Union, types.UnionType}:
        for part in typing.get_args(annotation):
            yield from readers(part)


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that an annotation allows."""
    return [it for it in members(annotation) if isinstance(it, type) and issubclass(it, BaseModel)]


def choices(annotation: Any) -> Iterator[str]:
    """Yield the words that a field takes, where it takes some and no others."""
    for member in members(annotation):
        if isinstance(member, type) and issubclass(member, Enum):
            yield from (str(it.value) for it in member)
        elif typing.get_origin(member) is typing.Literal:
            yield from (str(it) for it in typing.get_args(member))


def step(annotation: Any, part: str | int) -> Any:
    """Return the annotation of a field, a named entry or a list's entry; None for no such."""
    for member in members(annotation):
        origin, arguments = typing.get_origin(member), typing.get_args(member)
        if isinstance(member, type) and issubclass(member, BaseModel):
            if part in member.model_fields:
                return annotation_of(member.model_fields[str(part)])
        elif origin is dict:
            return arguments[1]
        elif origin in {list, tuple} and isinstance(part, int):
            fixed = origin is tuple and arguments[-1] is not Ellipsis
            return arguments[part] if fixed and part < len(arguments) else arguments[0]
    return None


def at(annotation: Any, path: tuple[str | int, ...]) -> Any:
    """Return the annotation at a path inside another; None where the path leads nowhere."""
    for part in path:
        annotation = step(annotation, part)
    return annotation
