"""From a readings file's tables to the readings of one sheet, all of it or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.conditions import Conditions
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.diagnostics import Diagnostic, Place, Severity, error
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Reading, SampleSheet, SheetReadings
from inkaccord.sheets.reading.assign import Assigned, assign_rows
from inkaccord.sheets.reading.columns import MOST_FINDINGS, Table
from inkaccord.sheets.reading.measured import Measured, joined_tables, measure
from inkaccord.sheets.reading.plausible import judge
from inkaccord.sheets.reading.stated import Stated, stated
from inkaccord.words import quoted

_REPEATS_WITHIN = 2.0
"""ΔE00 that repeated readings of a swatch may lie from their mean."""


@dataclass(frozen=True)
class Matched:
    """Readings of a sheet, and what is worth saying about them (never an error)."""

    readings: SheetReadings
    findings: tuple[Diagnostic, ...]


def match_readings(
    sheet: SampleSheet,
    tables: Table | Sequence[Table],
    *,
    known: Sequence[SheetReadings] = (),
) -> Matched:
    """Take a file's tables as the readings of a sheet.

    Parameters
    ----------
    sheet
        The sheet that was read.
    tables
        All tables of the file, as :func:`inkaccord.sheets.reading.tables.read_tables` gives them.
    known
        Earlier readings of the same swatches, to compare with.

    Returns
    -------
    Matched
        A reading of every swatch, in the sheet's order; CIELAB under D50 and 2°.

    Raises
    ------
    OrderError
        With every finding, when the file is another sheet's, swatches are missing or
        exchanged, conditions are mixed, or values are in the wrong unit or impossible.
    """
    parts = (tables,) if isinstance(tables, Table) else tuple(tables)
    said = stated(parts)
    table = joined_tables(parts)
    _check_sheet(sheet, said, table)
    assigned = assign_rows(sheet, table)
    measured = measure(table, said.conditions)
    lab, spectra = _per_swatch(sheet, table, assigned, measured)
    findings = [
        *said.findings,
        *assigned.findings,
        *measured.findings,
        *judge(sheet, lab, known=_known_lab(sheet, known)),
    ]
    if any(finding.severity is Severity.ERROR for finding in findings):
        file = Place(file=table.file or None)
        raise OrderError(
            f if f.place.file else f.model_copy(update={"place": file}) for f in findings
        )
    wavelengths = measured.wavelengths
    conditions = Conditions(mode=said.conditions.mode, backing=said.conditions.backing)
    readings = SheetReadings(
        sheet=sheet.id,
        readings=tuple(
            Reading(swatch=swatch.id, lab=tuple(lab[at]), spectrum=_tuple(spectra, at))
            for at, swatch in enumerate(sheet.swatches)
        ),
        conditions=conditions,
        wavelengths_nm=None if wavelengths is None else tuple(wavelengths.tolist()),
        device=said.device,
        read_on=said.read_on,
    )
    return Matched(readings, tuple(findings))


def _tuple(spectra: Array | None, at: int) -> tuple[float, ...] | None:
    return None if spectra is None else tuple(spectra[at].tolist())


def _check_sheet(sheet: SampleSheet, said: Stated, table: Table) -> None:
    if said.sheet and said.sheet.upper() != sheet.id.upper():
        raise OrderError.of(
            "wrong-sheet",
            f"the file says that it is of sheet {said.sheet}, not of {sheet.id}",
            place=Place(file=table.file or None),
            hint=f"record it with 'inkaccord record {quoted(said.sheet)} …'",
        )
    if not table.rows:
        raise OrderError.of(
            "no-data",
            "the file holds no row of data",
            place=Place(file=table.file or None),
            hint="export the readings again",
        )


def _per_swatch(
    sheet: SampleSheet, table: Table, assigned: Assigned, measured: Measured
) -> tuple[Array, Array | None]:
    """Return CIELAB and spectra in the sheet's order, the mean where a swatch was read again."""
    first = [rows[0] for rows in assigned.rows]
    lab = measured.lab[first].copy()
    spectra = None if measured.spectra is None else measured.spectra[first].copy()
    refused: list[Diagnostic] = []
    for at, rows in enumerate(assigned.rows):
        if len(rows) == 1:
            continue
        each = measured.lab[list(rows)]
        lab[at] = each.mean(axis=0)
        if spectra is not None and measured.spectra is not None:
            spectra[at] = measured.spectra[list(rows)].mean(axis=0)
        apart = float(delta_e_2000(lab[at], each).max())
        if apart > _REPEATS_WITHIN:
            refused.append(
                error(
                    "repeat-differs",
                    f"swatch {sheet.swatches[at].id} was read {len(rows)} times, up to "
                    f"{apart:.1f} ΔE00 from the mean",
                    place=table.place(rows[-1], 0),
                    hint="read it again, and export it once",
                )
            )
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    return lab, spectra


def _known_lab(sheet: SampleSheet, known: Sequence[SheetReadings]) -> Array | None:
    """Return (n, 3) the mean of earlier readings, NaN for a swatch without any."""
    labs: dict[str, list[Lab]] = {}
    for earlier in known:
        for reading in earlier.readings:
            labs.setdefault(reading.swatch, []).append(reading.lab)
    if not labs:
        return None
    return np.array(
        [
            np.mean(labs[swatch.id], axis=0) if swatch.id in labs else (np.nan,) * 3
            for swatch in sheet.swatches
        ]
    )
