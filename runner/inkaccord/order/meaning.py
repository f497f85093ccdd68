"""An order's words as its models take them: everybody's ways of writing, where they are clear.

A file is read as text. Which of it is a number, a date or one entry of a list is said by the
field that it stands in, so that a version stays ``1.10``, a name stays ``007`` and ``5 11 2026``
is not taken for something that YAML knows.
"""

import datetime
import re
import typing
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any, Literal

from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.order.annotations import at, members, models_in
from inkaccord.written import date, number, numbers, plain, shown, whole

READERS: dict[Any, Callable[[str], Any]] = {int: whole, float: number, datetime.date: date}
"""How a text becomes a value of a plain type; each raises ValueError in a designer's words."""

_PAINT_STARTS = re.compile(r"[,;]\s*(?=(?:cmyk|rgb|gr[ae]y|spot|lab)\b|#|c\s*[=:]?\s*\d)", re.I)
_LIST = re.compile(r"\s*;\s*|,\s+")
_TIGHT = re.compile(r"(?:^|\s+)-(?=[^\W\d]|#)")
_LAB_LABELS = re.compile(r"\b(?:cie)?lab\b|[lab]\*?\s*[=:]?\s*(?=[-+\u2212.\d])|[()]", re.I)


@dataclass(frozen=True)
class Unclear:
    """A value that its field can't take, and why; no model takes it for anything else."""

    why: str


def read_meaning(value: Any, annotation: Any) -> Any:
    """Return the data of a file as the model, or the part of one, at ``annotation`` takes it.

    What is not clear becomes :class:`Unclear`, for the model to refuse.
    """
    if isinstance(value, dict):
        spelt = _spelt(value, annotation)
        if spelt is not None:
            return spelt
        return {
            key: read_meaning(part, at(annotation, (key,))) if isinstance(key, str) else part
            for key, part in value.items()
        }
    for member in members(annotation):
        origin, arguments = typing.get_origin(member), typing.get_args(member)
        if origin is tuple and arguments[-1] is Ellipsis:
            return _list(value, arguments[0])
        if origin is tuple:
            return _fixed(value, arguments)
    if isinstance(value, list):
        if Build in models_in(annotation) and all(isinstance(it, str) for it in value):
            return " ".join(value)
        return [read_meaning(it, at(annotation, (n,))) for n, it in enumerate(value)]
    return _plain(value, annotation) if isinstance(value, str) else value


def _spelt(value: dict[Any, Any], annotation: Any) -> str | Unclear | None:
    """Return the text of a colour written as a field, ``cmyk: 85 20 60 30``; None for others."""
    if not {Paint, Build} & set(models_in(annotation)):
        return None
    key, inner = next(iter(value.items()), ("", ""))
    if len(value) == 1 and key in set(PaintKind) and isinstance(inner, (str, list)):
        return f"{key} {inner if isinstance(inner, str) else ' '.join(map(str, inner))}"
    return Unclear(
        f"{shown(value)} is not a colour: write it as one text, such as 'cmyk 85 20 60 30', "
        "and a name that holds a colon in quotes",
    )


def _list(value: Any, item: Any) -> Any:
    """Read ``[a, b]``, ``a, b`` or a single ``a`` where a list belongs."""
    paints = models_in(item) == [Paint]
    if isinstance(value, str):
        # Lines of a list whose hyphens lack their space are one text to YAML.
        parts = [it for it in _TIGHT.split(value) if it] if _TIGHT.match(value) else [value]
        value = [it for part in parts for it in (_PAINT_STARTS if paints else _LIST).split(part)]
    if not isinstance(value, list):
        return value
    return [read_meaning(it, item) for it in (_joined(value) if paints else value)]


def _joined(values: list[Any]) -> list[Any]:
    """Join what the commas of ``[cmyk 2,8,45,0, spot Kelp]`` parted: a bare number is no paint."""
    joined: list[Any] = []
    for value in values:
        parted = isinstance(value, str) and re.fullmatch(r"[-\d.%\s]+\)?", value)
        if parted and joined and isinstance(joined[-1], str):
            joined[-1] += f",{value}"
        elif isinstance(value, list) and all(isinstance(part, str) for part in value):
            joined.append(" ".join(value))
        else:
            joined.append(value)
    return joined


def _fixed(value: Any, parts: tuple[Any, ...]) -> Any:
    """Read ``42 58 30``, ``lab 42 58 30`` or ``L 42, a 58, b 30`` where some numbers belong."""
    if isinstance(value, str):
        try:
            found = numbers(_LAB_LABELS.sub(" ", value), len(parts))
        except ValueError:
            return value
        return list(found) if len(found) == len(parts) else value
    if isinstance(value, list):
        return [read_meaning(it, part) for it, part in zip(value, parts, strict=False)] + value[
            len(parts) :
        ]
    return value


def _plain(text: str, annotation: Any) -> Any:
    kinds = list(members(annotation))
    why = ""
    for kind in kinds:
        known = _choices(kind)
        if known:
            return known.get(_spelling(text), text)
        if kind is bool:
            return {"yes": True, "true": True, "no": False, "false": False}.get(
                plain(text).lower(), text
            )
        if kind in READERS:
            try:
                return READERS[kind](text)
            except ValueError as trouble:
                why = str(trouble)
    # The models read some texts on their own, and otherwise: '1.000' as 1.
    return Unclear(why) if why and str not in kinds else text


def _choices(kind: Any) -> dict[str, Any]:
    """Return the values that a field chooses from, by how they are spelt without care."""
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {_spelling(str(it.value)): it.value for it in kind}
    if typing.get_origin(kind) is Literal:
        return {_spelling(str(it)): it for it in typing.get_args(kind)}
    return {}


def _spelling(word: str) -> str:
    return re.sub(r"[\s_-]+", "-", plain(word).lower())
