"""Lines such as ``pieces.tag.accept.butter: …`` at the left edge, put where they belong.

A question prints the line that answers it, and the line works wherever it is pasted: at the end of
the file is as good as inside the piece.
"""

import copy
from dataclasses import replace
from typing import Any

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.order.mistakes import suggest
from inkaccord.order.source import Path_, Source, dotted

PARTS = ("pieces", "colours", "stocks", "vendors", "tolerances")
"""The parts of an order that a dotted line may lead into."""

MORE = "in_artwork"
"""The field that such a line adds to where it stands already: one more way to write a colour."""


def folded(source: Source) -> tuple[Source, list[Diagnostic]]:
    """Return the source with every dotted line in its place, and what is wrong with such lines."""
    if not isinstance(source.data, dict):
        return source, []
    lines = [key for key in source.data if key.partition(".")[0] in PARTS and "." in key]
    if not lines:
        return source, []
    data, places = copy.deepcopy(source.data), dict(source.places)
    findings: list[Diagnostic] = []
    for line in lines:
        path, value = _path(line, data), data.pop(line)
        for place, at in source.places.items():
            if place[0:1] == (line,):
                places.setdefault((*path, *place[1:]), at)
        wrong = _put(data, path, value, replace(source, data=data, places=places), (line,))
        findings += [] if wrong is None else [wrong]
    return replace(source, data=data, places=places), findings


def _path(line: str, data: dict[str, Any]) -> tuple[str, ...]:
    """Return the parts of a line; a name that holds a dot is known by standing in the order."""
    path: list[str] = []
    here: Any = data
    while line:
        known = here if isinstance(here, dict) else {}
        standing = [key for key in known if path and f"{line}.".startswith(f"{key}.")]
        part = max(standing, key=len, default=line.partition(".")[0])
        path.append(part)
        here, line = known.get(part), line[len(part) + 1 :]
    return tuple(path)


def _put(
    data: dict[str, Any], path: tuple[str, ...], value: Any, source: Source, line: Path_
) -> Diagnostic | None:
    """Put a value where a path leads, or return why it can't stand there."""
    part, *rest = path
    named = data.get(part)
    if len(rest) > 1 and part != "tolerances" and isinstance(named, dict) and rest[0] not in named:
        return error(
            f"unknown-{part[:-1]}",
            f"there is no {part[:-1]} '{rest[0]}'",
            place=source.place(line),
            hint=suggest(rest[0], named),
        )
    here = data
    for at, step in enumerate(path[:-1]):
        here = here.setdefault(step, {})
        if not isinstance(here, dict):
            return _stands_already(path[: at + 1], source, line)
    earlier = here.get(path[-1])
    if isinstance(earlier, dict) and isinstance(value, dict) and not earlier.keys() & value.keys():
        earlier.update(value)
    elif path[-1] == MORE and earlier is not None:
        here[MORE] = [*_listed(earlier), *_listed(value)]
    elif path[-1] in here:
        return _stands_already(path, source, line)
    else:
        here[path[-1]] = value
    return None


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _stands_already(path: Path_, source: Source, line: Path_) -> Diagnostic:
    where = source.place(path).line
    return error(
        "duplicate-key",
        f"'{dotted(path)}' is given twice; it stands already in line {where}",
        place=source.place(line),
        hint="change it there, and leave this line out",
    )
