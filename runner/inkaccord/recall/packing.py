"""Values as text and back: nothing but numbers, words, arrays and our own frozen values.

What is read back may come from a damaged or a hostile file. It can name no class but our own
dataclasses, models and enums, runs no code of its own, and anything odd is a ValueError.
"""

import base64
import dataclasses
import datetime
import json
import sys
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel

_TAG = "$"
_KINDS = "biuf"
"""Kinds of number that an array may hold."""


def pack(value: object) -> bytes:
    """Return a value as JSON text. Raises TypeError for what is no plain or frozen value."""
    return json.dumps(_plain(value), separators=(",", ":")).encode()


def unpack(data: bytes) -> Any:
    """Return the value that :func:`pack` was given. Raises ValueError for anything else."""
    try:
        return _value(json.loads(data))
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


def _plain(value: object) -> object:
    """Return a value in JSON's own types; a tuple is a list there, the rest carries a tag."""
    if isinstance(value, Enum):
        return {_TAG: name_of(type(value)), "value": value.value}
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    if isinstance(value, tuple) and type(value) is tuple:
        return [_plain(it) for it in value]
    if isinstance(value, list):
        return {_TAG: "list", "items": [_plain(it) for it in value]}
    if isinstance(value, dict):
        return {_TAG: "dict", "items": [[_plain(key), _plain(it)] for key, it in value.items()]}
    if isinstance(value, bytes):
        return {_TAG: "bytes", "data": base64.b64encode(value).decode()}
    if isinstance(value, datetime.date) and type(value) is datetime.date:
        return {_TAG: "date", "day": value.isoformat()}
    if isinstance(value, Decimal):
        return {_TAG: "decimal", "figures": str(value)}
    if isinstance(value, np.ndarray) and value.dtype.kind in _KINDS:
        return _plain_array(value)
    fields = fields_of(value)
    if fields is None:
        raise TypeError(f"a {type(value).__name__} can't be kept from run to run")
    return {
        _TAG: name_of(type(value)),
        "fields": {name: _plain(it) for name, it in fields.items()},
    }


def _plain_array(value: np.ndarray) -> object:
    # In its own order of axes: sums over it then come out the same to the last digit.
    columns = value.flags.f_contiguous and not value.flags.c_contiguous
    return {
        _TAG: "array",
        "dtype": value.dtype.newbyteorder("<").str,
        "shape": list(value.shape),
        "columns": columns,
        "data": base64.b64encode(
            value.astype(value.dtype.newbyteorder("<")).tobytes("F" if columns else "C")
        ).decode(),
    }


def _value(told: Any) -> Any:
    """Return the value behind JSON's own types."""
    if isinstance(told, list):
        return tuple(_value(it) for it in told)
    if not isinstance(told, dict):
        return told
    tag = told[_TAG]
    if tag == "list":
        return [_value(it) for it in told["items"]]
    if tag == "dict":
        return {_value(key): _value(it) for key, it in told["items"]}
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
    return kind(**{name: _value(it) for name, it in told["fields"].items()})


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
