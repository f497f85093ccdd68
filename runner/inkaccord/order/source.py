"""YAML read with the place of every value, and with the traps of YAML taken out.

Every value is text, which the field that it stands in reads (:mod:`inkaccord.order.meaning`): so
``on`` and ``no`` stay words, ``1.10`` keeps its nought, ``060`` is sixty. A key given twice is
refused, where a plain loader would silently keep the last.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError, OrderError
from inkaccord.files import check_name, read_bytes, sha256_of
from inkaccord.order.form import explain, hash_colour, quote_hash
from inkaccord.words import visible
from inkaccord.written import shown

Path_ = tuple[str | int, ...]
MAX_BYTES = 4_000_000
MAX_NODES = 100_000
MAX_DEPTH = 40
MAX_TEXT = 10_000
"""Characters of one value."""
MAX_BLANKS = 200
"""Blanks in a row, which patterns that allow for blanks would try one by one."""
_BLANKS = re.compile(rf"\s{{{MAX_BLANKS + 1}}}")


class _Loader(yaml.SafeLoader):
    """SafeLoader that reads words: nothing but an empty value has a type of its own.

    An order is small: one that is not is refused while it is read.
    """

    def __init__(self, text: str, file: str) -> None:
        super().__init__(text)
        self._file = file
        self._nodes = self._depth = 0

    def compose_node(self, parent: yaml.Node | None, index: Any) -> yaml.Node | None:
        self._nodes += 1
        self._depth += 1
        event: yaml.Event = self.peek_event()  # type: ignore[no-untyped-call]
        if self._nodes > MAX_NODES:
            raise self._too_much(event, f"an order holds at most {MAX_NODES:,} values")
        if self._depth > MAX_DEPTH:
            raise self._too_much(event, f"values stand in each other at most {MAX_DEPTH} deep")
        if isinstance(event, yaml.ScalarEvent):
            self._check_text(event)
        node: yaml.Node | None = super().compose_node(parent, index)
        self._depth -= 1
        return node

    def _check_text(self, event: yaml.ScalarEvent) -> None:
        if len(event.value) > MAX_TEXT:
            raise self._too_much(event, f"a value has at most {MAX_TEXT:,} characters")
        if _BLANKS.search(event.value):
            raise self._too_much(event, f"a value has at most {MAX_BLANKS} blanks in a row")

    def _too_much(self, event: yaml.Event, most: str) -> OrderError:
        mark = event.start_mark
        assert mark is not None  # noqa: S101 -- the parser gives every event one
        return OrderError.of(
            "too-much",
            f"here is more than an order can hold: {most}",
            place=Place(file=self._file, line=mark.line + 1, column=mark.column + 1),
            hint="take out what doesn't belong here",
        )


_Loader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if tag == "tag:yaml.org,2002:null"]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


@dataclass(frozen=True)
class Source:
    """A YAML file as plain data, and where each part of it stands."""

    file: str
    data: Any
    places: dict[Path_, tuple[int, int]]
    sha256: str
    """Of the file's bytes, as they were read."""

    def place(self, path: Path_, field: str | None = None) -> Place:
        """Return where ``path`` stands, or its nearest parent that the file has."""
        known = path
        while known and known not in self.places:
            known = known[:-1]
        line, column = self.places.get(known, (1, 1))
        name = field if field is not None else dotted(path)
        return Place(file=self.file, line=line, column=column, field=name or None)


def dotted(path: Path_) -> str:
    """Return ``pieces.invitation.colours[2]`` for a path."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def read_source(path: Path, typed: bytes | None = None) -> Source:
    """Read a YAML file, or what is typed and would stand in it.

    Raises FileError when it can't be read or is too large, and OrderError with every mistake of
    form: bad encoding, bad YAML, keys given twice, keys that are no words; more than is sensible.
    """
    file = str(path)
    check_name(path)
    return _source_of(read_bytes(path, MAX_BYTES) if typed is None else typed, file)


@lru_cache(maxsize=16)
def _source_of(raw: bytes, file: str) -> Source:
    """Return what bytes mean, which a batch and a page ask again and again; nobody changes it."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise FileError.of(
            "not-utf-8",
            "the file is not UTF-8 text",
            place=Place(file=file, line=line),
            hint="save it as UTF-8",
        ) from problem
    try:
        loader = _Loader(text, file)
    except yaml.reader.ReaderError as problem:
        raise OrderError.of(
            "bad-yaml",
            "a character stands here that no text has, as a broken copy leaves behind",
            place=Place(file=file, line=text.count("\n", 0, problem.position) + 1),
            hint="write the line anew",
        ) from problem
    try:
        root = loader.get_single_node()
        if root is None:
            raise OrderError.of("empty", "the file is empty", place=Place(file=file, line=1))
        builder = _Builder(file, loader, text.splitlines())
        data = builder.build(root, ())
    except yaml.MarkedYAMLError as problem:
        raise OrderError([explain(problem, text, file)]) from problem
    finally:
        loader.dispose()
    if builder.findings:
        raise OrderError(builder.findings)
    return Source(file=file, data=data, places=builder.places, sha256=sha256_of(raw))


class _Builder:
    """Turns YAML nodes into data, noting places and collecting mistakes."""

    def __init__(self, file: str, loader: _Loader, lines: list[str]) -> None:
        self.file = file
        self.loader = loader
        self.lines = lines
        self.places: dict[Path_, tuple[int, int]] = {}
        self.findings: list[Diagnostic] = []
        self._open: list[yaml.Node] = []
        self._count = 0

    def _at(self, node: yaml.Node, path: Path_) -> Place:
        mark = node.start_mark
        return Place(
            file=self.file, line=mark.line + 1, column=mark.column + 1, field=dotted(path) or None
        )

    def build(self, node: yaml.Node, path: Path_) -> Any:
        self._count += 1
        if self._count > MAX_NODES or any(node is parent for parent in self._open):
            raise OrderError.of(
                "endless-alias",
                "aliases repeat each other without end",
                place=self._at(node, path),
                hint="write the values out instead of using & and *",
            )
        self.places.setdefault(path, (node.start_mark.line + 1, node.start_mark.column + 1))
        self._open.append(node)
        try:
            if isinstance(node, yaml.MappingNode):
                return self._mapping(node, path)
            if isinstance(node, yaml.SequenceNode):
                return [self.build(child, (*path, n)) for n, child in enumerate(node.value)]
            return self._scalar(node, path)
        finally:
            self._open.pop()

    def _scalar(self, node: yaml.Node, path: Path_) -> Any:
        code = hash_colour(self.lines, node.start_mark.line) if node.value == "" else None
        if code:
            message, hint = quote_hash(code)
            self.findings.append(error("bad-value", message, place=self._at(node, path), hint=hint))
            return None
        if "\0" in node.value:
            self.findings.append(
                error(
                    "bad-value",
                    f"{shown(visible(node.value))} holds a character that no text has",
                    place=self._at(node, path),
                    hint="write the text anew, without backslashes",
                )
            )
            return None
        try:
            return self.loader.construct_object(node)
        except (ValueError, yaml.constructor.ConstructorError) as problem:
            reason = getattr(problem, "problem", None) or str(problem)
            self.findings.append(
                error(
                    "bad-value",
                    f"cannot be read: {reason}",
                    place=self._at(node, path),
                    hint="an order holds plain words, numbers and dates; put a text that begins "
                    "with ! in quotes",
                )
            )
            return None

    def _mapping(self, node: yaml.MappingNode, path: Path_) -> dict[str, Any]:
        result: dict[str, Any] = {}
        first: dict[str, int] = {}
        for key_node, value_node in node.value:
            key = self._scalar(key_node, path) if isinstance(key_node, yaml.ScalarNode) else None
            if not isinstance(key, str):
                self.findings.append(
                    error(
                        "bad-key",
                        f"the key {shown(key_node.value)} is not a word",
                        place=self._at(key_node, path),
                        hint="put it in quotes if it is meant as a name",
                    )
                )
                continue
            here = (*path, key)
            if key in result:
                self.findings.append(
                    error(
                        "duplicate-key",
                        f"'{key}' is given twice; it stands already in line {first[key]}",
                        place=self._at(key_node, here),
                        hint="keep one of them",
                    )
                )
                continue
            first[key] = key_node.start_mark.line + 1
            self.places[here] = (key_node.start_mark.line + 1, key_node.start_mark.column + 1)
            result[key] = self.build(value_node, here)
        return result
