"""A table of readings as text cells that remember where they stood, and what its columns mean.

Every format (CGATS text, CSV, JSON) is read into a :class:`Table`; from there on there is only
one way. The column names are those of ISO 28178 (CGATS.17): SAMPLE_ID, CMYK_C … CMYK_K, RGB_R …,
XYZ_X …, LAB_L …; spectra come under several names, see :func:`wavelength_of`. What else is read is
listed where it stands with where it comes from, and a person may name the columns of a file.
"""

import math
import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from inkaccord.colour.builds import CHANNELS, Drive
from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import OrderError
from inkaccord.words import joined

if TYPE_CHECKING:
    from inkaccord.colour.arrays import Array

MOST_FINDINGS = 20
"""How many mistakes of one kind are listed; the rest will look the same."""
SAMPLE_ID = "SAMPLE_ID"
ID_COLUMNS = (SAMPLE_ID, "SAMPLE_NAME", "SAMPLE_LOC", "SAMPLE_LOCATION", "PATCH", "SWATCH", "ID")
"""The first two are of ISO 28178; the next two were seen in exports, from memory; the rest are
words that people write, ours."""
BUILD_COLUMNS: dict[Drive, tuple[str, ...]] = {
    drive: tuple(f"{drive.upper()}_{channel}" for channel in channels)
    for drive, channels in CHANNELS.items()
}
XYZ_COLUMNS = ("XYZ_X", "XYZ_Y", "XYZ_Z")
LAB_COLUMNS = ("LAB_L", "LAB_A", "LAB_B")
SPECTRAL_NM = "SPECTRAL_NM"
SPECTRAL_VALUES = ("SPECTRAL_PCT", "SPECTRAL_DEC")
"""These and ``SPECTRAL_NM`` are of ISO 28178, as are the names of builds, XYZ and CIELAB above
(from memory of CGATS.17; the text of the standard was not at hand)."""
ColumnsTold = Mapping[str, str]
"""Columns that a person named: the standard's name → what the file calls it."""
NO_COLUMNS: ColumnsTold = {}
HOW_TO_NAME = (
    "call the columns L, a and b in the file ('inkaccord record' also takes its own names: "
    "--columns L=Lstar,a=astar,b=bstar)"
)
"""For whoever's file has columns under other names."""

# The starred names and those without a bar between were seen in exports, from memory; the inks in
# words are what people write by hand, ours.
_ALIASES = {
    "SAMPLEID": SAMPLE_ID,
    "SAMPLENAME": "SAMPLE_NAME",
    "L*": "LAB_L",
    "A*": "LAB_A",
    "B*": "LAB_B",
    "LAB_L*": "LAB_L",
    "LAB_A*": "LAB_A",
    "LAB_B*": "LAB_B",
    **{
        word: f"{drive.upper()}_{channel}"
        for drive, words in (
            (Drive.CMYK, ("CYAN", "MAGENTA", "YELLOW", "BLACK")),
            (Drive.RGB, ("RED", "GREEN", "BLUE")),
        )
        for word, channel in zip(words, CHANNELS[drive], strict=True)
    },
}
_PERCENT = re.compile(r"_*\(?%\)?$")
_SHORT: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("L", "A", "B"), LAB_COLUMNS),
    (("X", "Y", "Z"), XYZ_COLUMNS),
    *((CHANNELS[drive], BUILD_COLUMNS[drive]) for drive in Drive),
)
_TOLD = (*_SHORT, (("L", "a", "b"), LAB_COLUMNS))
_STANDARD = {*LAB_COLUMNS, *XYZ_COLUMNS, *(it for names in BUILD_COLUMNS.values() for it in names)}
_WAVELENGTH = re.compile(
    r"^(?:SPECTRAL_NM|SPECTRAL_PCT|SPECTRAL_DEC|SPECTRAL|SPEC|NM|R)?_?(\d{3,4}(?:[.,]\d+)?)(?:_?NM)?$"
)
_NUMBER = re.compile(r"^[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?$")


class TableCell(NamedTuple):
    """One piece of text and where it stood: line and column from 1, None where unknown."""

    text: str
    line: int | None = None
    column: int | None = None


class Keyword(NamedTuple):
    """A header entry: its name, in capitals, and its value without quotes."""

    name: str
    value: str


@dataclass(frozen=True)
class Table:
    """One table of a readings file.

    ``columns`` are in capitals and in the words of ISO 28178 where they are known; every row
    has one cell for each of them. ``keywords`` keeps repeated entries.
    """

    file: str
    columns: tuple[str, ...]
    rows: tuple[tuple[TableCell, ...], ...]
    keywords: tuple[Keyword, ...] = ()

    def keyword(self, *names: str) -> str | None:
        """Return the value of the first header entry with one of these names."""
        return next((entry.value for entry in self.keywords if entry.name in names), None)

    def index(self, column: str) -> int | None:
        """Return the position of a column, or None."""
        return self.columns.index(column) if column in self.columns else None

    def indices(self, columns: tuple[str, ...]) -> tuple[int, ...] | None:
        """Return the positions of all these columns, or None when one is missing."""
        found = tuple(self.index(column) for column in columns)
        return None if None in found else tuple(i for i in found if i is not None)

    def place(self, row: int, column: int) -> Place:
        """Return where a cell stands."""
        cell, name = self.rows[row][column], self.columns[column]
        field = name if cell.line else f"row {row + 1}: {name}"
        return Place(file=self.file or None, line=cell.line, column=cell.column, field=field)

    def numbers(self, columns: tuple[int, ...]) -> "Array":
        """Return (rows, columns) cells as numbers, with a decimal point or comma.

        Raises OrderError that names file, line and column of every cell that is no number.
        """
        import numpy as np  # noqa: PLC0415 - slow to load, and a shelf loads us

        values = np.empty((len(self.rows), len(columns)))
        findings: list[Diagnostic] = []
        for r, row in enumerate(self.rows):
            for c, column in enumerate(columns):
                value = to_number(row[column].text)
                if value is None:
                    findings.append(self._not_a_number(r, column))
                else:
                    values[r, c] = value
        if findings:
            raise OrderError(findings[:MOST_FINDINGS])
        return values

    def _not_a_number(self, row: int, column: int) -> Diagnostic:
        text = self.rows[row][column].text
        return error(
            "not-a-number",
            f"{text!r} is not a number" if text else "the value is missing",
            place=self.place(row, column),
            hint="export the readings again, with every swatch read",
        )


def to_number(text: str) -> float | None:
    """Return text as a finite number, ``12.5`` or ``12,5``, or None."""
    if not _NUMBER.match(text):
        return None
    value = float(text.replace(",", "."))
    return value if math.isfinite(value) else None


def parse_columns(texts: Sequence[str]) -> dict[str, str]:
    """Read what a person says of a file's columns, ``L=Lstar,a=astar``: :data:`ColumnsTold`.

    Before each ``=`` stands a name of the standard, or in short ``L a b``, ``X Y Z``, ``C M Y K``,
    ``R G B``, ``id``, or a wavelength in nm. Raises OrderError ``bad-columns``.
    """
    told: dict[str, str] = {}
    for part in (part for text in texts for part in text.split(",") if part.strip()):
        name, sign, own = (it.strip() for it in part.partition("="))
        if not (name and sign and own):
            raise OrderError.of(
                "bad-columns",
                f"'{part.strip()}' names no column",
                hint="write --columns L=Lstar,a=astar,b=bstar: a column that is read, '=', and "
                "what the file calls it",
            )
        told[name] = own
    return {_standard(name, told.keys()): own for name, own in told.items()}


def _standard(name: str, beside: Set[str]) -> str:
    """Return a column in the words of the standard; a short name by those that stand with it."""
    groups = [(short, full) for short, full in _TOLD if name in short]
    whole = [(short, full) for short, full in groups if set(short) <= beside]
    meant = sorted({full[short.index(name)] for short, full in whole or groups})
    if len(meant) == 1:
        return meant[0]
    upper = _upper(name)
    if upper in _STANDARD or upper in ID_COLUMNS:
        return SAMPLE_ID if upper in ID_COLUMNS else upper
    if (nm := wavelength_of(upper)) is not None:
        return f"{SPECTRAL_NM}{nm:g}"
    raise OrderError.of(
        "bad-columns",
        f"'{name}' can mean {joined(meant)}" if meant else f"there is no column '{name}' to read",
        hint="name columns as L=…, a=…, b=…, X=…, Y=…, Z=…, id=…, or by the standard's names, "
        "LAB_L=…, CMYK_C=…, RGB_R=…, SPECTRAL_NM380=…",
    )


def column_names(names: tuple[str, ...], told: ColumnsTold = NO_COLUMNS) -> tuple[str, ...]:
    """Return column names in capitals and, where known, in the words of ISO 28178.

    What a person ``told`` of them comes first.
    """
    upper = [_upper(name) for name in names]
    own = {_upper(written): standard for standard, written in told.items()}
    known = [own.get(name, _ALIASES.get(name, name)) for name in upper]
    if told:  # a column that another one was named for is not meant
        known = [
            f"{name}_AS_WRITTEN" if name in told and written not in own else name
            for name, written in zip(known, upper, strict=True)
        ]
    for short, full in _SHORT:
        if set(full) & set(known):
            continue
        # R G B and L A B share a letter: those that stand together belong together.
        runs = [at for at in range(len(known)) if tuple(known[at : at + len(short)]) == short]
        if len(runs) == 1:
            known[runs[0] : runs[0] + len(short)] = full
        elif all(known.count(name) == 1 for name in short):
            known = [full[short.index(name)] if name in short else name for name in known]
    return tuple(known)


def check_told(columns: Sequence[str], told: ColumnsTold, file: str) -> None:
    """Raise OrderError ``no-such-column`` for a column that a person named and a file lacks."""
    if missing := [own for standard, own in told.items() if standard not in columns]:
        raise OrderError.of(
            "no-such-column",
            f"the file has no column {joined([repr(it) for it in missing])}; it has "
            f"{joined(list(columns[:12]))}",
            place=Place(file=file or None),
            hint="name its columns as its first row has them",
        )


def _upper(name: str) -> str:
    return _PERCENT.sub("", name.strip().upper().replace(" ", "_"))


def wavelength_of(column: str) -> float | None:
    """Return the wavelength in nm that a column's name gives, between 300 and 1100, or None.

    Instruments write ``SPECTRAL_NM380``, ``SPECTRAL_380``, ``SPEC_380``, ``NM_380``, ``R_380``,
    ``380NM`` or plain ``380``: seen in exports, from memory.
    """
    match = _WAVELENGTH.match(column)
    if not match:
        return None
    value = float(match[1].replace(",", "."))
    return value if 300 <= value <= 1100 else None


def digits(value: float) -> str:
    """Return the shortest decimal number that reads back as the same value."""
    return repr(float(value)).removesuffix(".0")
