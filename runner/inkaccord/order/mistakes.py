"""Pydantic's complaints as findings that say where, what was expected, and how to mend it."""

import difflib
import types
import typing
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.order.source import Path_, Source


def findings_of(
    problems: Iterable[ErrorDetails], source: Source, model: type[BaseModel], base: Path_ = ()
) -> list[Diagnostic]:
    """Turn validation errors of ``model``, which stands at ``base`` of the file, into findings."""
    problems = list(problems)
    parents = {problem["loc"][:n] for problem in problems for n in range(len(problem["loc"]))}
    return [
        _finding(problem, source, model, base)
        for problem in problems
        # A list that is too short only because its items are wrong is no mistake of its own.
        if problem["type"] != "too_short" or problem["loc"] not in parents
    ]


def suggest(word: str, known: Iterable[str]) -> str | None:
    """Return a hint with the nearest known words, else the list of what exists."""
    words = sorted(known)
    near = difflib.get_close_matches(word, words, n=2, cutoff=0.6)
    if near:
        return f"did you mean {' or '.join(repr(name) for name in near)}?"
    return f"known here: {', '.join(words)}" if words else None


def _finding(
    problem: ErrorDetails, source: Source, model: type[BaseModel], base: Path_
) -> Diagnostic:
    loc = problem["loc"]
    path = _known_path(source, base, loc, missing=problem["type"] == "missing")
    place = source.place(path)
    kind, last = problem["type"], str(loc[-1]) if loc else ""
    context = problem.get("ctx", {})
    if kind == "missing":
        field = _fields_at(model, loc[:-1]).get(last)
        wanted = f": expected {field.description}" if field and field.description else ""
        return error("missing-field", f"is missing{wanted}", place=place, hint=f"add '{last}:'")
    if kind == "extra_forbidden":
        return error(
            "unknown-field",
            f"there is no field '{last}' here",
            place=place,
            hint=suggest(last, _fields_at(model, loc[:-1])),
        )
    if kind in {"enum", "literal_error"}:
        expected = str(context.get("expected", ""))
        words = [word.strip(" '") for word in expected.replace(" or ", ",").split(",")]
        return error(
            "bad-value",
            f"{problem['input']!r} is not possible: expected {expected}",
            place=place,
            hint=suggest(str(problem["input"]), words) if len(words) > 1 else None,
        )
    cause = context.get("error")
    message = str(cause) if isinstance(cause, Exception) else problem["msg"]
    if not isinstance(cause, Exception):
        message = f"{_short(problem['input'])} is not possible: {message[:1].lower()}{message[1:]}"
    return error("bad-value", message, place=place)


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "…"


def _known_path(source: Source, base: Path_, loc: Path_, *, missing: bool) -> Path_:
    """Drop from ``loc`` what is pydantic's own (union members, '[key]'), keep what the file has."""
    path = base
    for number, part in enumerate(loc):
        if (*path, part) in source.places or (missing and number == len(loc) - 1):
            path = (*path, part)
    return path


def _fields_at(model: type[BaseModel], loc: Path_) -> dict[str, Any]:
    """Return the fields of the model that stands at ``loc`` inside ``model``."""
    here: Any = model
    for part in loc:
        here = _step(here, part)
        if here is None:
            return {}
    found = _models_in(here)
    return dict(found[0].model_fields) if found else {}


def _step(annotation: Any, part: str | int) -> Any:
    for model in _models_in(annotation):
        if isinstance(part, str) and part in model.model_fields:
            return model.model_fields[part].annotation
    for member in _members(annotation):
        origin, arguments = typing.get_origin(member), typing.get_args(member)
        if origin is dict:
            return arguments[1]
        if origin in {list, tuple} and isinstance(part, int):
            return arguments[0]
    return None


def _members(annotation: Any) -> list[Any]:
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _members(typing.get_args(annotation)[0])
    if origin in {typing.Union, types.UnionType}:
        return [leaf for part in typing.get_args(annotation) for leaf in _members(part)]
    return [annotation]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    return [
        member
        for member in _members(annotation)
        if isinstance(member, type) and issubclass(member, BaseModel)
    ]
