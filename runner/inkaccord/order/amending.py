"""Changes to an order as text: what a person wrote stays byte for byte, but for the fields changed.

A field's new text is put in the place of the old one, which the YAML parser tells; what writes a
whole document anew would move remarks that stand between two parts, and set lines its own way.
"""

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, TypeAlias, Union

import yaml

from inkaccord.errors import OrderError
from inkaccord.order.annotations import at, models_in
from inkaccord.order.folding import PARTS
from inkaccord.order.model import Order
from inkaccord.order.source import dotted

Written: TypeAlias = Union[str, Sequence["Written"], Mapping[str, "Written"]]  # noqa: UP007 - it holds itself
"""A value as it is written: a text, a list, or names with values."""
FieldPath: TypeAlias = tuple[str, ...]
_TEXTS = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
"""Reads every value as text; the quick one is not everywhere."""
_STEP = 2
_ON_ONE_LINE = 3
"""Fields that stand in braces, where none holds more than a text."""


def amended(text: str, changes: Mapping[FieldPath, Written | None]) -> str:
    """Return an order's text with some fields changed, added, or (None) taken out.

    Lines end with a line feed alone. A field that is added stands where the order's form has it,
    else last. Raises OrderError ``not-amended`` where text can't be changed so, as in a value that
    stands for another (``*name``).
    """
    for path, value in changes.items():
        if written_at(text, path) == value:
            continue
        before = _data(text)
        made = _with(text, path, value)
        if _read(made) != _wanted(before, _standing(before, path), value):
            raise OrderError.of(
                "not-amended",
                f"{dotted(path)} can't be changed here as the order file is written",
                hint="change it in the order file",
            )
        text = made
    return text


def renamed(text: str, path: FieldPath, name: str) -> str:
    """Return an order's text with one of its names written otherwise, and nothing else."""
    for key, _ in _pair_at(_root(text), path):
        return text[: key.start_mark.index] + _scalar(name) + text[key.end_mark.index :]
    return text


def written_at(text: str, path: FieldPath) -> Written | None:
    """Return what stands at a place of an order's text; None for nothing."""
    here: Any = _data(text)
    for part in _standing(here, path):
        here = here.get(part) if isinstance(here, dict) else None
    return here if here != "" else None


def in_one_line(value: Written | None) -> str:
    """Return a value as a person writes it in one line."""
    return "" if value is None else value if isinstance(value, str) else as_yaml(value)


def as_written(typed: str) -> Written | None:
    """Return what was typed into one line: a text, or what stands in braces or brackets."""
    typed = typed.strip()
    if typed[:1] in {"{", "["}:
        try:
            return _data(typed) or None
        except OrderError:
            return typed
    return typed or None


def _root(text: str) -> yaml.Node:
    try:
        node = yaml.compose(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError as problem:
        raise _unreadable(problem) from problem
    if not isinstance(node, yaml.MappingNode):
        raise OrderError.of("no-mapping", "an order starts with 'order: NAME'")
    return node


@lru_cache(maxsize=16)  # a form asks for every field of one text; nobody changes what is returned
def _data(text: str) -> Any:
    try:
        return yaml.load(text, Loader=_TEXTS)  # noqa: S506 - it makes texts alone
    except yaml.YAMLError as problem:
        raise _unreadable(problem) from problem


def _unreadable(problem: yaml.YAMLError) -> OrderError:
    return OrderError.of(
        "bad-yaml", f"the order can't be read as text: {problem}", hint="mend its file"
    )


def _read(text: str) -> Any:
    """Return what a text says, or nothing where it says nothing any more."""
    try:
        return _data(text)
    except OrderError:
        return None


def _standing(data: Any, path: FieldPath) -> FieldPath:
    """Return a path as it is written, where a line such as ``pieces.tag.trim:`` leads there."""
    if isinstance(data, dict) and path[0] in PARTS:
        for length in range(len(path), 1, -1):
            if (line := ".".join(path[:length])) in data:
                return (line, *path[length:])
    return path


def _wanted(data: Any, path: FieldPath, value: Written | None) -> Any:
    """Return data with a value put in or taken out, and without what holds nothing then."""
    part, *rest = path
    made = dict(data) if isinstance(data, dict) else {}
    if rest:
        below = _wanted(made.get(part), tuple(rest), value)
        if below or value is not None:
            made[part] = below
        else:
            made.pop(part, None)
    elif value is None:
        made.pop(part, None)
    else:
        made[part] = value
    return made


def _pair_at(root: yaml.Node, path: FieldPath) -> list[tuple[yaml.Node, yaml.Node]]:
    """Return key and value of a place, in a list; empty where nothing stands there."""
    found: list[tuple[yaml.Node, yaml.Node]] = []
    node = root
    for part in path:
        pairs = node.value if isinstance(node, yaml.MappingNode) else ()
        found = [pair for pair in pairs if pair[0].value == part][:1]
        if not found:
            return []
        node = found[0][1]
    return found


def _with(text: str, path: FieldPath, value: Written | None) -> str:
    root = _root(text)
    path = _standing(_data(text), path)
    if pair := _pair_at(root, path):
        return _without(text, root, path) if value is None else _put(text, *pair[0], value)
    if value is None:
        return text
    for length in range(len(path) - 1, -1, -1):
        above = _pair_at(root, path[:length])
        if length and not above:
            continue
        for part in reversed(path[length + 1 :]):
            value = {part: value}
        node = above[0][1] if above else root
        if isinstance(node, yaml.MappingNode) and node.value:
            return _added(text, node, path[: length + 1], value)
        return _put(text, *above[0], {path[length]: value}) if above else text
    return text


def _put(text: str, key: yaml.Node, node: yaml.Node, value: Written) -> str:
    """Put a value in the place of another."""
    start, end = node.start_mark.index, _end(text, node)
    if (isinstance(node, yaml.CollectionNode) and not node.flow_style) or start == end:
        start = text.index(":", key.end_mark.index) + 1
        return f"{text[:start]} {as_yaml(value)}{text[max(start, end) :]}"
    return text[:start] + as_yaml(value) + text[end:]


def _added(text: str, node: yaml.MappingNode, path: FieldPath, value: Written) -> str:
    """Put a field into a mapping that has some already."""
    pairs = node.value
    before = _before(path, [key.value for key, _ in pairs])
    if node.flow_style:
        at = _end(text, pairs[-1 if before is None else before][1])
        return f"{text[:at]}, {_scalar(path[-1])}: {as_yaml(value)}{text[at:]}"
    column = pairs[0][0].start_mark.column
    if before == -1:
        at = pairs[0][0].start_mark.index
        return f"{text[:at]}{_block(path[-1], value, column)}\n{' ' * column}{text[at:]}"
    last = pairs[-1 if before is None else before][1]
    at = _end_of_line(text, _end(text, last))
    return f"{text[:at]}\n{' ' * column}{_block(path[-1], value, column)}{text[at:]}"


def _before(path: FieldPath, there: Sequence[str]) -> int | None:
    """Return which field a new one goes behind: -1 for none, None for the last."""
    models = models_in(at(Order, path[:-1])) if len(path) > 1 else [Order]
    fields = list(models[0].model_fields) if models else []
    if path[-1] not in fields:
        return None
    earlier = set(fields[: fields.index(path[-1])])
    return max((number for number, name in enumerate(there) if name in earlier), default=-1)


def _without(text: str, root: yaml.Node, path: FieldPath) -> str:
    """Take a field out; what holds nothing then goes with it."""
    ((key, node),) = _pair_at(root, path)
    above = _pair_at(root, path[:-1])
    parent = above[0][1] if above else root
    if len(parent.value) == 1 and above:
        return _without(text, root, path[:-1])
    if isinstance(parent, yaml.MappingNode) and parent.flow_style:
        number = [one.value for one, _ in parent.value].index(path[-1])
        if number + 1 < len(parent.value):
            return (
                text[: key.start_mark.index] + text[parent.value[number + 1][0].start_mark.index :]
            )
        if number:
            return text[: _end(text, parent.value[number - 1][1])] + text[_end(text, node) :]
    start = text.rfind("\n", 0, key.start_mark.index) + 1
    return text[:start] + text[_end_of_line(text, _end(text, node)) + 1 :]


def _end(text: str, node: yaml.Node) -> int:
    """Return where a value ends, what follows its last text left out."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style:
        last = node.value[-1]
        return _end(text, last[1] if isinstance(last, tuple) else last)
    end = node.end_mark.index
    return max(node.start_mark.index, len(text[:end].rstrip()))


def _end_of_line(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end


def _block(name: str, value: Written, column: int) -> str:
    """Return a field in lines of its own; small ones in one."""
    if not isinstance(value, Mapping) or _is_small(value):
        return f"{_scalar(name)}: {as_yaml(value)}"
    inner = column + _STEP
    lines = (f"\n{' ' * inner}{_block(key, it, inner)}" for key, it in value.items())
    return f"{_scalar(name)}:{''.join(lines)}"


def _is_small(value: Mapping[str, Written]) -> bool:
    return len(value) <= _ON_ONE_LINE and not any(isinstance(it, Mapping) for it in value.values())


def as_yaml(value: Written) -> str:
    """Return a value as YAML has it in one line."""
    if isinstance(value, str):
        return _scalar(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(key)}: {as_yaml(it)}" for key, it in value.items()) + "}"
    return "[" + ", ".join(map(as_yaml, value)) + "]"


def _scalar(text: str) -> str:
    """Return a text as YAML has it in one line: plain where that is what is read again."""
    if text and text not in {"~", "null", "Null", "NULL"} and "\n" not in text:
        read = _read(f"[{text}]")
        if read == [text] and _read(f"k: {text}") == {"k": text}:
            return text
    return json.dumps(text, ensure_ascii=False)
