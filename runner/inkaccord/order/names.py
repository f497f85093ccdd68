"""The names that an order gives: what they may look like, and which of them files can have.

They name folders and files, here and on the systems of those who unpack them.
"""

import contextlib
import re
from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import AfterValidator, ValidationInfo

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.errors import OrderError
from inkaccord.files import folded, is_reserved, safe_name
from inkaccord.order.source import Source
from inkaccord.written import shown

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,62}")
_OUR_OWN = (
    "samples", "artwork-letters", "run.json", "report.html", "agreement.pdf",
    "packing-list.pdf", "packing-list.csv", "packing-list.json",
)  # fmt: skip
"""What a run writes beside the vendors' folders."""


ANY_NAME = "any-name"
"""In a validation's context: names are taken as they are; what is wrong with them was said."""


def _name(text: str, told: ValidationInfo) -> str:
    if told.context is not None and ANY_NAME in told.context:
        return text
    if not _NAME.fullmatch(text):
        raise ValueError(
            f"{shown(text)} is not a name: expected letters a to z, digits, '-', '_' and '.', "
            f"starting with a letter or digit{_such_as(text)}"
        )
    if is_reserved(text):
        raise ValueError(f"{shown(text)} can't name a file on every system: choose another name")
    return text


def _such_as(text: str) -> str:
    """Return a name that comes near to a text, in words; nothing where none does."""
    name = as_name(text)
    return f", such as '{name}'" if name else ""


def as_name(text: str) -> str:
    """Return the name that an order may give to what a person calls so; nothing where none is.

    >>> as_name("Harbour Works"), as_name("desk-laser"), as_name("…")
    ('harbour-works', 'desk-laser', '')
    """
    if _NAME.fullmatch(text):
        return text
    with contextlib.suppress(OrderError):
        name = safe_name(text).lower()[:63]
        return name if _NAME.fullmatch(name) else ""
    return ""


Name = Annotated[str, AfterValidator(_name)]


def check_names(source: Source) -> Iterator[Diagnostic]:
    """Yield every name that would get into the way of other files."""
    for where, names in _named(source.data):
        earlier: dict[str, str] = {}
        for name in names:
            alike = folded(name)
            place = source.place((*where, name))
            if alike in earlier:
                yield error(
                    "names-alike",
                    f"'{name}' and '{earlier[alike]}' differ in capitals only: many systems take "
                    "them for one name",
                    place=place,
                    hint="give one of them another name",
                )
            elif where == ("vendors",) and alike in _OUR_OWN:
                yield error(
                    "name-taken",
                    f"a vendor can't be called '{name}': a run writes something of that name",
                    place=place,
                    hint="give it another name",
                )
            earlier.setdefault(alike, name)


def _named(data: Any) -> Iterator[tuple[tuple[str, ...], list[str]]]:
    """Yield the names that stand beside each other, and where: vendors, their devices and so on."""
    for kind in ("vendors", "pieces", "stocks"):
        written = data.get(kind)
        if isinstance(written, dict):
            yield (kind,), list(map(str, written))
            for name, inner in written.items() if kind == "vendors" else ():
                devices = inner.get("devices") if isinstance(inner, dict) else None
                if isinstance(devices, dict):
                    yield (kind, str(name), "devices"), list(map(str, devices))
