"""Readings as tables: ISO 28178 (CGATS.17) text, CSV and JSON.

Shows what a readings format needs: a name, a look at a file's beginning, and a reader that gives
readings or raises what is wrong.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from inkaccord import plugin  # what is slow to import comes when it is asked for
from inkaccord.plugin import (
    ReadingsFormat,
    ReadingsTaken,
    SampleSheet,
    SheetReadings,
    hookimpl,
    read_bytes,
)

_CGATS = re.compile(rb"^\s*(CGATS|ISO28178|BEGIN_DATA|NUMBER_OF_|KEYWORD|ORIGINATOR)", re.M)


def _text(head: bytes) -> bytes | None:
    """Return a file's beginning in one byte a character, or None when it is no text."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        whole = head[: len(head) // 2 * 2]
        return whole.decode("utf-16", errors="replace").encode("latin-1", errors="replace")
    return None if b"\0" in head else head.removeprefix(b"\xef\xbb\xbf")


def is_cgats(_path: Path, head: bytes) -> bool:
    """Tell CGATS text by an entry that it begins with."""
    text = _text(head)
    return text is not None and _CGATS.search(text.replace(b"\r", b"\n")) is not None


def is_json(_path: Path, head: bytes) -> bool:
    """Tell JSON by its first bracket."""
    return (_text(head) or b"").lstrip()[:1] in {b"{", b"["}


def is_csv(path: Path, head: bytes) -> bool:
    """Tell CSV by the file's ending, as any text may be CSV."""
    return path.suffix.lower() in {".csv", ".tsv", ".tab"} and _text(head) is not None


@dataclass
class TableFormat:
    """One dress of the same table."""

    name: str
    looks_so: Callable[[Path, bytes], bool]
    columns: Mapping[str, str] = field(default_factory=dict)

    def recognises(self, path: Path, head: bytes) -> bool:
        """Tell from the name and the beginning whether a file is of this form."""
        return self.looks_so(path, head)

    def with_columns(self, columns: Mapping[str, str]) -> ReadingsFormat:
        """Return the same for files that call columns otherwise."""
        return replace(self, columns=columns)

    def read(
        self, path: Path, sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read the file as readings of a sheet. Raises InkaccordError."""
        return self.read_pages((path,), sheet, known)

    def read_pages(
        self, paths: Sequence[Path], sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read files, one after the other, as one reading of a sheet. Raises InkaccordError."""
        files = ((path, read_bytes(path)) for path in paths)
        tables = [
            table
            for path, data in files
            for table in plugin.read_tables(data, file=str(path), columns=self.columns)
        ]
        matched = plugin.match_readings(sheet, tables, known=known)
        return ReadingsTaken(matched.readings, matched.findings)


@hookimpl
def inkaccord_readings_formats() -> Sequence[ReadingsFormat]:
    """Offer the formats ``cgats``, ``json`` and ``csv``."""
    return (
        TableFormat("cgats", is_cgats),
        TableFormat("json", is_json),
        TableFormat("csv", is_csv),
    )
