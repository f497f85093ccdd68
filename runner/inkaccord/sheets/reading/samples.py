"""Things that were read, rather than swatches of a sheet: their colours by name, from any table."""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.errors import OrderError
from inkaccord.files import read_bytes
from inkaccord.sheets.reading.columns import ID_COLUMNS, Table
from inkaccord.sheets.reading.measured import joined_tables, measure
from inkaccord.sheets.reading.stated import stated
from inkaccord.sheets.reading.tables import read_tables

_LISTED = 12
_NAMES = ("SAMPLE_NAME", "NAME", *ID_COLUMNS)


@dataclass(frozen=True, eq=False)
class ThingRead:
    """One thing that was read.

    Attributes
    ----------
    lab
        CIELAB, D50 and 2°: the mean of all readings of it.
    spectrum, wavelengths_nm
        Reflectance factors 0 to 1, where the file gives them.
    findings
        What had to be converted.
    """

    lab: Lab
    spectrum: tuple[float, ...] | None = None
    wavelengths_nm: tuple[float, ...] | None = None
    findings: tuple[Diagnostic, ...] = ()


def read_thing(written: str) -> ThingRead:
    """Return the colour of a thing from a file of readings or spectra.

    Parameters
    ----------
    written
        The path of a CGATS text, CSV or JSON file; of several things, with ``/SAMPLE`` behind it.

    Raises
    ------
    FileError
        When the file can't be read.
    OrderError
        As the readers of tables do; ``which-sample`` where the file holds several things and none
        is named, or not this one.
    """
    path, wanted = Path(written), ""
    if not path.is_file() and path.parent.is_file():
        path, wanted = path.parent, path.name
    table = joined_tables(read_tables(read_bytes(path), file=str(path)))
    measured = measure(table, stated([table]).conditions)
    names = list(_names(table))
    rows = [at for at, name in enumerate(names) if not wanted or name.lower() == wanted.lower()]
    known = list(dict.fromkeys(names))
    if not names:
        raise OrderError.of("no-data", "the file holds no reading", place=Place(file=str(path)))
    if not rows or len({names[at] for at in rows}) > 1:
        raise _which(path, wanted, known)
    # Readings of one thing are averaged as light, which is what an instrument does.
    spectrum = None if measured.spectra is None else measured.spectra[rows].mean(axis=0)
    return ThingRead(
        lab=as_lab(measured.lab[rows].mean(axis=0)),
        spectrum=_floats(spectrum),
        wavelengths_nm=_floats(measured.wavelengths),
        findings=measured.findings,
    )


def _names(table: Table) -> Iterator[str]:
    """Yield what each row is called: by name, else by id, else by its number."""
    columns = [at for name in _NAMES if (at := table.index(name)) is not None]
    for number, row in enumerate(table.rows, start=1):
        yield next((row[at].text for at in columns if row[at].text), str(number))


def _which(path: Path, wanted: str, known: list[str]) -> OrderError:
    more = f" and {len(known) - _LISTED} more" if len(known) > _LISTED else ""
    listed = ", ".join(known[:_LISTED]) + more
    near = get_close_matches(wanted, known, n=1) or known[:1]
    what = f"{path} holds no {wanted!r}" if wanted else f"{path} holds {len(known)} things"
    return OrderError.of(
        "which-sample",
        f"{what}; it has {listed}",
        place=Place(file=str(path)),
        hint=f"name one behind the file: '{path}/{near[0]}'",
    )


def _floats(values: Array | None) -> tuple[float, ...] | None:
    return None if values is None else tuple(np.round(values, 6).tolist())
