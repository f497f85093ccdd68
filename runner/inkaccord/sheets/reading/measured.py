"""From a table's columns to colours: CIELAB of every row, in the right unit, spectra kept."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.conditions import Conditions
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import is_of_a_print, is_reflectance
from inkaccord.colour.spaces import D50_WHITE, xyz_to_lab
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.columns import (
    HOW_TO_NAME,
    LAB_COLUMNS,
    MOST_FINDINGS,
    SPECTRAL_NM,
    SPECTRAL_VALUES,
    XYZ_COLUMNS,
    Table,
    wavelength_of,
)

_BESIDE = 1.0
"""ΔE00, median, that colours stated beside spectra may lie from those of the spectra."""
_HINT = (
    "export CIELAB (D50, 2°), XYZ with paper white near 80 to 100, or reflectance spectra; or "
    f"{HOW_TO_NAME}"
)


@dataclass(frozen=True, eq=False)
class Measured:
    """Colours of n rows.

    Attributes
    ----------
    lab
        (n, 3) CIELAB, D50 and 2°.
    spectra, wavelengths
        (n, w) reflectance factors 0 to 1 and (w,) nm, where the file gives them.
    findings
        What had to be converted, and what is odd.
    """

    lab: Array
    spectra: Array | None = None
    wavelengths: Array | None = None
    findings: tuple[Diagnostic, ...] = ()


def measure(table: Table, conditions: Conditions) -> Measured:
    """Return the colours of a table: from spectra if it has them, else XYZ, else CIELAB.

    XYZ and reflectance are taken as 0 to 1 or 0 to 100, whichever they are; that is said in a
    finding when it is not what the columns promise.

    Raises
    ------
    OrderError
        No colour columns, cells that are no numbers, values in a unit that can't be told,
        values that no print gives, CIELAB or XYZ for another light than D50 and 2°.
    """
    spectral = _spectral(table)
    if spectral is not None:
        return spectral
    if conditions.illuminant != "D50" or conditions.observer != "2":
        raise OrderError.of(
            "not-d50",
            f"these values are for {conditions.illuminant} and the {conditions.observer}° "
            "observer; colours of prints are compared under D50 and 2° (ISO 13655)",
            place=Place(file=table.file or None),
            hint="export CIELAB under D50 and 2°, or the spectra",
        )
    if (columns := table.indices(XYZ_COLUMNS)) is not None:
        return _from_xyz(table, columns)
    if (columns := table.indices(LAB_COLUMNS)) is not None:
        return _from_lab(table, columns)
    raise OrderError.of(
        "no-colour",
        f"no column gives a colour; the file has {', '.join(table.columns[:12])}",
        place=Place(file=table.file or None),
        hint=_HINT,
    )


def _spectral(table: Table) -> Measured | None:
    """Read spectra from columns that name their wavelength, or from pairs of columns."""
    found = [(nm, at) for at, name in enumerate(table.columns) if (nm := wavelength_of(name))]
    if found:
        found.sort()
        wavelengths = np.array([nm for nm, _ in found])
        values = table.numbers(tuple(at for _, at in found))
        first = table.columns[found[0][1]]
        unit = next((name for name in SPECTRAL_VALUES if first.startswith(name)), None)
    else:
        at_nm = tuple(at for at, name in enumerate(table.columns) if name == SPECTRAL_NM)
        at_value = tuple(at for at, name in enumerate(table.columns) if name in SPECTRAL_VALUES)
        if not at_nm or len(at_nm) != len(at_value):
            return None
        each = table.numbers(at_nm)
        if not np.all(each == each[0]):
            raise OrderError.of(
                "bad-wavelengths",
                "the rows have different wavelengths",
                place=Place(file=table.file or None),
            )
        wavelengths, values, unit = each[0], table.numbers(at_value), table.columns[at_value[0]]
    return _from_spectra(table, wavelengths, values, unit)


def _from_spectra(table: Table, wavelengths: Array, values: Array, unit: str | None) -> Measured:
    findings: list[Diagnostic] = []
    # A fluorescing white reaches 1.3 in the blue; only black stock stays under 2 in percent.
    percent = bool(values.max(initial=0.0) > 2.0)
    if unit is not None and percent != (unit == "SPECTRAL_PCT"):
        findings.append(
            warning(
                "wrong-unit",
                f"the columns are called {unit}, but the values run to {values.max():.4g}; taken "
                f"as {'percent' if percent else 'factors from 0 to 1'}",
                place=Place(file=table.file or None),
            )
        )
    spectra = values / 100.0 if percent else values
    _check_not_empty(table, spectra, 0)
    refused = [
        error(
            "impossible-value",
            f"reflectance {spectra[r].min():.3f} to {spectra[r].max():.3f}; a print gives 0 to 1",
            place=table.place(r, 0),
            hint="calibrate the instrument and read the swatch again",
        )
        for r, spectrum in enumerate(spectra.tolist())
        if not is_reflectance(spectrum)
    ]
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    lab = spectra_to_lab(spectra, wavelengths)
    findings += _cross_check(table, lab)
    return Measured(lab, spectra, wavelengths, tuple(findings))


def _cross_check(table: Table, lab: Array) -> list[Diagnostic]:
    """Compare the colours of the spectra with those that the file states beside them."""
    columns = table.indices(LAB_COLUMNS)
    beside = None if columns is None else table.numbers(columns)
    if beside is None and (columns := table.indices(XYZ_COLUMNS)) is not None:
        beside = xyz_to_lab(table.numbers(columns))
    apart = float(np.median(delta_e_2000(lab, beside))) if beside is not None and len(lab) else 0.0
    if apart <= _BESIDE:
        return []
    return [
        warning(
            "not-as-stated",
            f"the colours of the spectra under D50 and 2° lie {apart:.1f} ΔE00 (median) from "
            "those stated beside them; the spectra were taken",
            place=Place(file=table.file or None),
            hint="the file may state its colours for another light, or on another scale",
        )
    ]


def _from_xyz(table: Table, columns: tuple[int, ...]) -> Measured:
    xyz = table.numbers(columns)
    top = float(xyz.max(initial=0.0))
    findings: tuple[Diagnostic, ...] = ()
    if top > 200:
        raise OrderError.of(
            "wrong-unit",
            f"XYZ runs to {top:.4g}; expected 0 to 100, or 0 to 1",
            place=Place(file=table.file or None),
            hint=_HINT,
        )
    if top <= 1.5:
        xyz = xyz * 100.0
        said = f"XYZ runs to {top:.3f}, so it was taken as 0 to 1 and multiplied by 100"
        findings = (note("unit-scaled", said, place=Place(file=table.file or None)),)
    _check_not_empty(table, xyz, columns[0])
    refused = [
        error(
            "impossible-value",
            "XYZ {:.2f} {:.2f} {:.2f} is no colour of a print".format(*xyz[r]),
            place=table.place(int(r), columns[0]),
            hint="read the swatch again",
        )
        for r in np.flatnonzero((xyz < -0.5).any(axis=1) | (xyz > 1.3 * D50_WHITE).any(axis=1))
    ]
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    return Measured(xyz_to_lab(np.maximum(xyz, 0.0)), findings=findings)


def _from_lab(table: Table, columns: tuple[int, ...]) -> Measured:
    lab = table.numbers(columns)
    lightness = lab[:, 0]
    if len(lab) and (lightness.max() <= 1.5 or lightness.max() > 120):
        raise OrderError.of(
            "wrong-unit",
            f"L* runs from {lightness.min():.4g} to {lightness.max():.4g}; expected 0 to 100",
            place=Place(file=table.file or None),
            hint=_HINT,
        )
    _check_not_empty(table, lab, columns[0])
    refused = [
        error(
            "impossible-value",
            "CIELAB {:.2f} {:.2f} {:.2f} is no colour of a print".format(*colour),
            place=table.place(r, columns[0]),
            hint="read the swatch again",
        )
        for r, colour in enumerate(lab.tolist())
        if not is_of_a_print(colour)
    ]
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    return Measured(lab)


def _check_not_empty(table: Table, values: Array, column: int) -> None:
    """Refuse rows of nothing but zeros: no print is that black, so nothing was read there."""
    empty = np.flatnonzero((values == 0.0).all(axis=1))
    if len(empty):
        raise OrderError(
            error(
                "impossible-value",
                "all values are 0: nothing was read here",
                place=table.place(int(row), column),
                hint="read the swatch again",
            )
            for row in empty[:MOST_FINDINGS]
        )


def joined_tables(tables: Sequence[Table]) -> Table:
    """Return tables as one, row after row: an instrument may write a table, or a file, a page.

    Raises OrderError when their columns differ.
    """
    first = tables[0]
    if any(table.columns != first.columns for table in tables):
        raise OrderError.of(
            "mixed-tables",
            "the tables have different columns",
            place=Place(file=first.file or None),
            hint="export one table with all swatches",
        )
    rows = tuple(row for table in tables for row in table.rows)
    keywords = tuple(entry for table in tables for entry in table.keywords)
    files = list(dict.fromkeys(table.file for table in tables))
    file = files[0] if len(files) == 1 else f"{files[0]} … {files[-1]}"
    return Table(file, first.columns, rows, keywords)
