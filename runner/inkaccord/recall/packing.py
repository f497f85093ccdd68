"""Values as text and back: nothing but numbers, words, arrays and our own frozen values.

What is read back may come from a damaged or a hostile file. It can name no class but our own
dataclasses, models and enums, runs no code of its own, and anything odd is a ValueError.

Text is written and read value by value, so that nothing as large as the whole stands beside it, and
a value that is met again, as the boxes of a file's pages, is kept once on both sides.
"""

import base64
import dataclasses
import datetime
import io
import json
import sys
from collections.abc import Iterable
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel

_TAG = "$"
_SAME = "same"
_KINDS = "biuf"
"""Kinds of number that an array may hold."""
_PLAIN = frozenset({str, int, float, bool, type(None)})
_json = json.JSONEncoder(separators=(",", ":")).encode


def pack(value: object) -> bytes:
    """Return a value as JSON text. Raises TypeError for what is no plain or frozen value."""
    packer = _Packer()
    packer.write(value)
    return packer.out.getvalue()


def unpack(data: bytes) -> Any:
    """Return the value that :func:`pack` was given. Raises ValueError for anything else."""
    try:
        return _value(json.loads(data, object_hook=_Unpacker().made))
    except (
        ValueError, TypeError, LookupError, AttributeError, RecursionError, ArithmeticError
    ) as wrong:  # fmt: skip
        raise ValueError(f"not a packed value: {wrong}") from wrong


def fields_of(value: object) -> dict[str, Any] | None:
    """Return the fields of a value: a model, a dataclass, a named tuple; None for anything else."""
    if isinstance(value, BaseModel):
        return {name: getattr(value, name) for name in type(value).model_fields}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {it.name: getattr(value, it.name) for it in dataclasses.fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return dict(value._asdict())
    return None


def name_of(kind: type) -> str:
    """Return where a class is found."""
    return f"{kind.__module__}:{kind.__qualname__}"


class _Packer:
    """Writes values as text; a tuple is a list there, the rest carries a tag."""

    def __init__(self) -> None:
        self.out = io.BytesIO()
        self._numbers: dict[int, int] = {}
        """Of what was written, in the order of its ends; by identity, since the whole holds it."""

    def write(self, value: object) -> None:
        """Write a value."""
        if type(value) in _PLAIN:
            self._say(_json(value))
        elif type(value) is tuple:
            if all(type(it) in _PLAIN for it in value):
                self._say(_json(value))
            else:
                self._row(value)
        elif isinstance(value, Enum):
            self._say(_tagged(name_of(type(value)), value=_json(value.value)))
        elif isinstance(value, (int, float, str)):
            self._say(_json(value))
        elif isinstance(value, list):
            self._row(value, "list")
        elif isinstance(value, dict):
            self._row(value.items(), "dict")
        elif isinstance(value, bytes):
            self._begin("bytes", "data")
            self._say('"')
            self.out.write(base64.b64encode(value))
            self._say('"}')
        elif isinstance(value, datetime.date) and type(value) is datetime.date:
            self._say(_tagged("date", day=_json(value.isoformat())))
        elif isinstance(value, Decimal):
            self._say(_tagged("decimal", figures=_json(str(value))))
        elif isinstance(value, np.ndarray) and value.dtype.kind in _KINDS:
            self._say(_array_text(value))
        else:
            self._own(value)

    def _say(self, text: str) -> None:
        self.out.write(text.encode())

    def _begin(self, tag: str, part: str) -> None:
        self._say(f"{{{_json(_TAG)}:{_json(tag)},{_json(part)}:")

    def _row(self, values: Iterable[object], tag: str | None = None) -> None:
        if tag is not None:
            self._begin(tag, "items")
        before = "["
        for one in values:
            self._say(before)
            self.write(one)
            before = ","
        self._say("[]" if before == "[" else "]")
        if tag is not None:
            self._say("}")

    def _own(self, value: object) -> None:
        if (number := self._numbers.get(id(value))) is not None:
            self._say(_tagged(_SAME, number=str(number)))
            return
        fields = fields_of(value)
        if fields is None:
            raise TypeError(f"a {type(value).__name__} can't be kept from run to run")
        self._begin(name_of(type(value)), "fields")
        before = "{"
        for name, inner in fields.items():
            self._say(f"{before}{_json(name)}:")
            self.write(inner)
            before = ","
        self._say("{}}" if before == "{" else "}}")
        self._numbers[id(value)] = len(self._numbers)


def _tagged(tag: str, **parts: str) -> str:
    inner = "".join(f",{_json(name)}:{text}" for name, text in parts.items())
    return f"{{{_json(_TAG)}:{_json(tag)}{inner}}}"


def _array_text(value: np.ndarray) -> str:
    # In its own order of axes: sums over it then come out the same to the last digit.
    columns = value.flags.f_contiguous and not value.flags.c_contiguous
    plain = value.astype(value.dtype.newbyteorder("<"))
    return _tagged(
        "array",
        dtype=_json(plain.dtype.str),
        shape=_json(value.shape),
        columns=_json(columns),
        data=_json(base64.b64encode(plain.tobytes("F" if columns else "C")).decode()),
    )


@dataclasses.dataclass(frozen=True, slots=True)
class _Held:
    """A list or a dictionary that was one: those of JSON itself mean tuples, and fields."""

    value: Any


def _value(told: Any) -> Any:
    """Return the value behind JSON's own types, of which the inner ones are made already."""
    if type(told) is list:
        return tuple(map(_value, told))
    if type(told) is _Held:
        return told.value
    if type(told) is dict:
        raise ValueError("entries without a tag")
    return told


class _Unpacker:
    """Makes values of JSON's objects, as each of them ends."""

    def __init__(self) -> None:
        self._made: list[Any] = []

    def made(self, told: dict[str, Any]) -> Any:
        """Return the value that an object stands for; its fields as they are."""
        tag = told.get(_TAG)
        if tag is None:
            return told
        if tag == _SAME:
            return self._made[told["number"]]
        if tag == "list":
            return _Held(list(_value(told["items"])))
        if tag == "dict":
            return _Held(dict(_value(told["items"])))
        if tag == "bytes":
            return base64.b64decode(told["data"], validate=True)
        if tag == "date":
            return datetime.date.fromisoformat(told["day"])
        if tag == "decimal":
            return Decimal(told["figures"])
        if tag == "array":
            return _array(told)
        kind = _class(tag)
        if issubclass(kind, Enum):
            return kind(told["value"])
        self._made.append(kind(**{name: _value(it) for name, it in told["fields"].items()}))
        return self._made[-1]


def _array(told: dict[str, Any]) -> np.ndarray:
    dtype = np.dtype(told["dtype"])
    if dtype.kind not in _KINDS:
        raise ValueError(f"an array of {dtype}")
    flat = np.frombuffer(base64.b64decode(told["data"], validate=True), dtype)
    order: Literal["F", "C"] = "F" if told["columns"] else "C"
    made: np.ndarray = flat.reshape(told["shape"], order=order).astype(dtype.newbyteorder("="))
    return made


@cache
def _class(name: str) -> type:
    """Return a class of ours by name, loaded already: one of whose values no field is set again."""
    module, _, inner = name.partition(":")
    if not module.startswith("inkaccord.") or module not in sys.modules:
        raise ValueError(f"no class {name}")
    kind: Any = sys.modules[module]
    for part in inner.split("."):
        kind = getattr(kind, part)
    if not isinstance(kind, type):
        raise ValueError(f"{name} is no class")
    frozen = dataclasses.is_dataclass(kind) and kind.__dataclass_params__.frozen  # type: ignore[attr-defined]
    named = issubclass(kind, tuple) and hasattr(kind, "_fields")
    if not (frozen or named or issubclass(kind, (BaseModel, Enum))):
        raise ValueError(f"{name} is no value")
    return kind
