"""A price table as a person types it into one field: ``0.72 up to 100; 0.55 up to 250; 0.46``."""

from collections.abc import Mapping

from inkaccord.order.amending import FieldPath, Written, as_written, in_one_line
from inkaccord.order.prices import line_in_words
from inkaccord.web.typed import typed_parts, typed_yaml


def is_price_table(path: FieldPath) -> bool:
    """Tell whether a place of an order holds the lines of a price table, or may hold them alone."""
    if path[0] != "vendors" or path[2:3] != ("prices",):
        return False
    below = path[3:]
    alone = below in {(), ("samples",)} or (len(below) == 2 and below[0].startswith("by_"))
    return alone or below[-1] == "table"


def price_table_in_words(found: Written | None) -> str:
    """Return the lines of a price table as they are typed; as YAML where they hold more."""
    lines = [found] if isinstance(found, str) else found
    if lines is None or isinstance(lines, Mapping):
        return in_one_line(found)
    words = [_in_words(it) for it in lines]
    return in_one_line(found) if None in words else "; ".join(map(str, words))


def _in_words(line: Written) -> str | None:
    if isinstance(line, str):
        return line
    if not isinstance(line, Mapping) or not line.keys() <= {"each", "up_to"}:
        return None
    each, up_to = line.get("each"), line.get("up_to")
    if not isinstance(each, str):
        return None
    return each if up_to is None else f"{each} up to {in_one_line(up_to)}"


def typed_price_table(said: str) -> Written | None:
    """Return the lines that were typed; a price alone, or a text that is none, stays a text.

    A new line parts them as a semicolon does.
    """
    if said.lstrip().startswith(("[", "{")):
        return typed_yaml(said)
    parts = typed_parts(said, ";")
    lines = [line_in_words(it) or {"each": it} for it in parts]
    alone = len(lines) == 1 and "up_to" not in lines[0]
    if alone or any(len(it["each"].split()) > 1 for it in lines):
        return as_written("; ".join(parts))
    return lines or None
