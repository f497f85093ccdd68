"""What a form of readings files offers, whoever wrote it, and what it gives."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, runtime_checkable

from inkaccord.diagnostics import Diagnostic
from inkaccord.sheets.model import SampleSheet, SheetReadings

HEAD = 4096
"""Bytes from the beginning of a file by which its form is recognised."""


@dataclass(frozen=True)
class ReadingsTaken:
    """What a readings format found in a file: the readings, and what is worth saying."""

    readings: SheetReadings
    findings: tuple[Diagnostic, ...] = ()


@runtime_checkable
class ReadingsFormat(Protocol):
    """A form in which readings of a printed sheet come."""

    name: str
    """Short and unique: ``cgats``, ``scan``."""

    def recognises(self, path: Path, head: bytes) -> bool:
        """Tell from the name and the first 4,096 bytes whether a file is of this form."""

    def read(
        self, path: Path, sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read a file as readings of ``sheet``.

        ``known`` is what its swatches read before: on the sheet itself, and where their builds
        stand on other sheets of the pair (the controls do).
        Raises InkaccordError when it isn't this sheet's, or can't be trusted. Writes nothing.
        """


@runtime_checkable
class PagesFormat(Protocol):
    """A readings format that can also read one sheet from several files, such as a file a page."""

    def read_pages(
        self, paths: Sequence[Path], sheet: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read files, all recognised by this format, as one reading of ``sheet``.

        Raises InkaccordError. Writes nothing.
        """


@runtime_checkable
class ColumnsFormat(Protocol):
    """A readings format of tables, whose columns a person may name: ``record --columns``."""

    def with_columns(self, columns: Mapping[str, str]) -> ReadingsFormat:
        """Return the format for files that call columns otherwise: the standard's name → theirs."""


@runtime_checkable
class BesideFormat(Protocol):
    """A readings format that can also read a sheet by another one that lies beside it.

    What the format knows of the other sheet tells it how to see; so nothing of the sheet itself
    need be known, and all of it is news, the controls too. ``inkaccord record --beside`` asks it.
    """

    def read_beside(
        self,
        path: Path,
        sheet: SampleSheet,
        beside: SampleSheet,
        known: tuple[SheetReadings, ...],
    ) -> ReadingsTaken:
        """Read a file as readings of ``sheet``, by what is ``known`` of the print ``beside`` it.

        Raises InkaccordError. Writes nothing.
        """


@dataclass(frozen=True)
class OfferedFormat:
    """A format as it is on offer.

    ``guarded`` makes the context in which it is asked: there a crash becomes an error that names
    the plugin that the format came from.
    """

    form: ReadingsFormat
    guarded: Callable[[], AbstractContextManager[None]] = nullcontext
