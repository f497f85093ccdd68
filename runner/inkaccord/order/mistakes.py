"""What a model refuses, as findings in a designer's words: where, what was expected, how to mend.

No sentence of the validating library gets through: it speaks of its own types.
"""

import datetime
import difflib
import typing
from collections.abc import Iterable, Iterator
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails, core_schema

from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.order.annotations import READ_AS, at, choices, members, models_in, readers
from inkaccord.order.meaning import Unclear
from inkaccord.order.source import Path_, Source
from inkaccord.words import joined
from inkaccord.written import shown

_OWN = frozenset(typing.get_args(core_schema.ErrorType)) - {"value_error", "assertion_error"}
"""The kinds of error whose sentences are the validating library's own."""

_LIMITS = {
    "greater_than": "has to be more than {gt:g}",
    "greater_than_equal": "has to be at least {ge:g}",
    "less_than": "has to be less than {lt:g}",
    "less_than_equal": "can be at most {le:g}",
    "multiple_of": "has to be a multiple of {multiple_of:g}",
    "finite_number": "has to be a number that has an end",
}
_PLAIN = {
    int: "a whole number, such as 60",
    float: "a number, such as 2.5",
    bool: "true or false",
    str: "words",
    Paint: "a colour as the artwork writes it, such as cmyk 85 20 60 30 or spot Name",
    Build: "a build, such as cmyk 85 20 60 30",
    Pair: "a pair, device@stock",
    datetime.date: "a date, such as 2026-11-27",
}


def findings_of(
    problems: Iterable[ErrorDetails], source: Source, model: type[BaseModel], base: Path_ = ()
) -> list[Diagnostic]:
    """Turn validation errors of ``model``, which stands at ``base`` of the file, into findings."""
    problems = list(problems)
    parents = {problem["loc"][:n] for problem in problems for n in range(len(problem["loc"]))}
    found = [
        _finding(problem, source, model, base)
        for problem in problems
        # A list that is too short only because its items are wrong is no mistake of its own.
        if problem["type"] != "too_short" or problem["loc"] not in parents
    ]
    # A field that takes one of several things is refused once for each of them.
    return list(dict.fromkeys(found))


def suggest(word: str, known: Iterable[str]) -> str | None:
    """Return a hint with the nearest known words, else the list of what exists."""
    words = sorted(known)
    return _meant(word, words) or (f"known here: {', '.join(words)}" if words else None)


def _meant(word: str, known: Iterable[str]) -> str | None:
    near = nearest(word, known)
    return f"did you mean {' or '.join(repr(name) for name in near)}?" if near else None


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return at most two known words that a word is nearly spelt as; case doesn't part them."""
    by_case = {name.casefold(): name for name in sorted(known)}
    near = difflib.get_close_matches(word.casefold(), by_case, n=2, cutoff=0.6)
    return [by_case[name] for name in near]


def _finding(
    problem: ErrorDetails, source: Source, model: type[BaseModel], base: Path_
) -> Diagnostic:
    kind, loc = problem["type"], problem["loc"]
    last = str(loc[-1]) if loc else ""
    path, inside = _known_path(source, base, loc, model, kind)
    place = source.place(path)
    if kind == "missing":
        field = _fields(at(model, inside[:-1])).get(last)
        wanted = f": expected {field.description}" if field and field.description else ""
        return error("missing-field", f"is missing{wanted}", place=place, hint=f"add '{last}:'")
    if kind == "extra_forbidden":
        return _unknown(last, place, _fields(at(model, inside[:-1])))
    annotation, value = at(model, inside), problem["input"]
    if kind in {"enum", "literal_error"} and isinstance(value, str):
        words = list(choices(annotation))
        return error(
            "bad-value",
            f"{shown(value)} is not possible: expected {joined(words, 'or')}",
            place=place,
            hint=_meant(value, words),
        )
    message, hint = _refused(problem, annotation, last)
    return error("bad-value", message, place=place, hint=hint)


def _unknown(word: str, place: Any, fields: dict[str, Any]) -> Diagnostic:
    name, colon, rest = word.partition(":")
    hint = suggest(word, fields)
    if colon and name in fields:
        hint = f"put a space after the colon: '{name}: {rest.strip()}'"
    if " " in word or word[:1].isdigit():  # no field is called so
        hint = "inside braces a comma begins the next field: put a value that holds one in quotes"
    elif "." in name:
        hint = "a line that says its place with dots stands at the left edge of the file"
    return error("unknown-field", f"there is no field '{word}' here", place=place, hint=hint)


def _refused(problem: ErrorDetails, annotation: Any, name: str) -> tuple[str, str | None]:
    """Return what is wrong with a value, and a mend where there is one to name."""
    kind, value, context = problem["type"], problem["input"], problem.get("ctx", {})
    wanted, cause = expected(annotation), context.get("error")
    if value is None:
        return (
            f"nothing stands after it: expected {wanted}",
            f"write it behind '{name}:', or take that line out",
        )
    if isinstance(value, Unclear):
        return value.why, None
    if isinstance(cause, Exception):
        return str(cause), None
    if kind not in _OWN:
        return problem["msg"], None  # a plugin's own words
    if kind in _LIMITS:
        return f"{shown(value)} is not possible: it {_LIMITS[kind].format(**context)}", None
    if kind in {"too_short", "string_too_short"}:
        least = context.get("min_length", 1)
        if kind == "too_short" and value:
            return f"{shown(value)} holds {len(value)}, and {least} belong here: {wanted}", None
        return f"is empty: expected {wanted}", None
    if kind in {"too_long", "string_too_long"}:
        of_numbers = all(isinstance(it, (int, float, str)) for it in value)
        hint = "a comma begins the next one: write a decimal with a point" if of_numbers else None
        return f"{shown(value)} holds {len(value)}: expected {wanted}", hint
    return f"{shown(value)} is not possible: expected {wanted}", None


def expected(annotation: Any) -> str:
    """Say what a field takes."""
    ways = [READ_AS[it][1] for it in readers(annotation) if it in READ_AS]
    ways += [words for member in members(annotation) for words in _expected(member)]
    return joined(list(dict.fromkeys(ways)), "or") or "another value"


def _expected(member: Any) -> Iterator[str]:
    origin, arguments = typing.get_origin(member), typing.get_args(member)
    if member is type(None):
        return
    if member in _PLAIN:
        yield _PLAIN[member]
    elif origin is dict:
        yield "names, one a line, each with what belongs to it after a colon"
    elif origin is tuple and arguments[-1] is not Ellipsis:
        example = " ".join(("42", "58", "30", "10")[: len(arguments)])
        yield f"{len(arguments)} numbers, such as {example}"
    elif origin in {tuple, list}:
        yield f"a list, [one, another], each {expected(arguments[0])}"
    elif isinstance(member, type) and issubclass(member, BaseModel):
        fields = list(member.model_fields)
        yield f"its own fields under it: {', '.join(fields[:6])}{' …' if fields[6:] else ''}"
    else:
        yield from (f"'{word}'" for word in choices(member))


def _known_path(
    source: Source, base: Path_, loc: Path_, model: type[BaseModel], kind: str
) -> tuple[Path_, Path_]:
    """Return where ``loc`` is in the file, and in the model.

    Both without what is pydantic's own: the members of a union, '[key]'.
    """
    path: Path_ = base
    inside: Path_ = ()
    for number, part in enumerate(loc):
        last = number == len(loc) - 1
        if (*path, part) in source.places or (last and kind == "missing"):
            path = (*path, part)
        of_field = last and kind in {"missing", "extra_forbidden"}
        if of_field or at(model, (*inside, part)) is not None:
            inside = (*inside, part)
    return path, inside


def _fields(annotation: Any) -> dict[str, Any]:
    found = models_in(annotation)
    return dict(found[0].model_fields) if found else {}
