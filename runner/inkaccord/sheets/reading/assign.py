"""Which row of a readings file is which swatch: by id, by build, or by the order of the rows."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.columns import BUILD_COLUMNS, ID_COLUMNS, MOST_FINDINGS, Table
from inkaccord.words import quoted

_ROUNDING: dict[Drive, float] = {Drive.CMYK: 0.6, Drive.RGB: 1.6}
"""How far a build in a file may lie from the sheet's: files round to whole percent."""


@dataclass(frozen=True)
class Assigned:
    """The rows of every swatch, in the sheet's order; several where one was read repeatedly."""

    rows: tuple[tuple[int, ...], ...]
    findings: tuple[Diagnostic, ...] = ()


def assign_rows(sheet: SampleSheet, table: Table) -> Assigned:
    """Find the rows of every swatch of a sheet.

    Raises
    ------
    OrderError
        ``wrong-sheet``, ``missing-swatches``, ``swapped-rows`` (ids and builds tell of an
        exchange) or ``wrong-build``, each naming the swatches.
    """
    builds = _builds(sheet, table)
    column = _id_column(sheet, table)
    if column is not None:
        assigned = _by_id(sheet, table, column)
    elif builds is not None and not _in_order(sheet, builds):
        assigned = _by_build(sheet, table, builds)
    else:
        assigned = _by_order(sheet, table)
    if builds is not None:
        _check_builds(sheet, table, assigned, builds)
    return assigned


def _id_column(sheet: SampleSheet, table: Table) -> int | None:
    """Return the column that holds the sheet's own ids, or None when no column does."""
    ids = {swatch.id.upper() for swatch in sheet.swatches}
    hits = {
        at: sum(row[at].text.strip().upper() in ids for row in table.rows)
        for at, name in enumerate(table.columns)
        if name in ID_COLUMNS
    }
    best = max(hits, key=lambda at: hits[at], default=None)
    return best if best is not None and hits[best] * 2 > min(len(table.rows), len(ids)) else None


def _by_id(sheet: SampleSheet, table: Table, column: int) -> Assigned:
    found: defaultdict[str, list[int]] = defaultdict(list)
    for number, row in enumerate(table.rows):
        found[row[column].text.strip().upper()].append(number)
    missing = [swatch.id for swatch in sheet.swatches if swatch.id.upper() not in found]
    spare = sorted(set(found) - {swatch.id.upper() for swatch in sheet.swatches})
    if missing:
        also = f"; not on the sheet: {_some(spare)}" if spare else ""
        raise OrderError.of(
            "missing-swatches",
            f"sheet {sheet.id} has {len(sheet.swatches)} swatches; the file lacks "
            f"{len(missing)} of them: {_some(missing)}{also}",
            place=Place(file=table.file or None),
            hint=_lacking(sheet, set(missing)),
        )
    findings = (
        warning(
            "extra-rows",
            f"rows that are not on sheet {sheet.id} were left out: {_some(spare)}",
            place=Place(file=table.file or None),
        ),
    )
    rows = tuple(tuple(found[swatch.id.upper()]) for swatch in sheet.swatches)
    return Assigned(rows, findings if spare else ())


def _lacking(sheet: SampleSheet, missing: set[str]) -> str:
    """Say what to do about missing swatches; whole pages were most likely forgotten."""
    pages = {
        page
        for page in range(1, sheet.pages + 1)
        if all(swatch.id in missing for swatch in sheet.swatches if swatch.page == page)
    }
    if not pages or sheet.pages == 1:
        return "read every swatch of the sheet, then record it"
    which = ", ".join(map(str, sorted(pages)))
    return (
        f"of {'page' if len(pages) == 1 else 'pages'} {which} there is nothing: give all files of "
        f"the sheet together, 'inkaccord record {quoted(sheet.id)} FILE FILE …'"
    )


def _builds(sheet: SampleSheet, table: Table) -> Array | None:
    """Return (rows, channels) builds as the file gives them, on the sheet's scale, or None."""
    columns = table.indices(BUILD_COLUMNS[sheet.drive])
    if columns is None:
        return None
    builds = table.numbers(columns)
    full = FULL_SCALE[sheet.drive]
    top, ours = float(builds.max(initial=0.0)), max(max(s.build.values) for s in sheet.swatches)
    for scale in (1.0, 100.0, 255.0):
        # the same largest value on another scale: 0 to 1, percent or 8 bits
        if abs(top / scale - ours / full) * full <= _ROUNDING[sheet.drive] and ours > 0:
            return builds * (full / scale)
    return builds


def _in_order(sheet: SampleSheet, builds: Array) -> bool:
    """Tell whether the builds are those of the sheet, row by row."""
    own = np.array([swatch.build.values for swatch in sheet.swatches])
    return own.shape == builds.shape and bool(
        (np.abs(own - builds) <= _ROUNDING[sheet.drive]).all()
    )


def _by_build(sheet: SampleSheet, table: Table, builds: Array) -> Assigned:
    """Find rows by their build; equal builds in the order in which they come."""
    taken: set[int] = set()
    rows: list[tuple[int, ...]] = []
    missing: list[str] = []
    for swatch, near in zip(sheet.swatches, _same_build(sheet, builds), strict=True):
        row = next((row for row in near if row not in taken), None)
        if row is None:
            missing.append(swatch.id)
        else:
            taken.add(row)
            rows.append((row,))
    if missing:
        wrong = len(missing) * 2 > len(sheet.swatches)
        raise OrderError.of(
            "wrong-sheet" if wrong else "missing-swatches",
            f"sheet {sheet.id} has {len(sheet.swatches)} swatches; no row has the build of "
            f"{len(missing)} of them: {_some(missing)}",
            place=Place(file=table.file or None),
            hint="the file looks like another sheet's" if wrong else "read every swatch",
        )
    said = (
        note(
            "matched-by-build",
            "the file has no swatch ids, so rows were matched to swatches by their builds",
            place=Place(file=table.file or None),
        ),
    )
    return Assigned(tuple(rows), said)


def _by_order(sheet: SampleSheet, table: Table) -> Assigned:
    if len(table.rows) != len(sheet.swatches):
        more = len(table.rows) > len(sheet.swatches)
        raise OrderError.of(
            "wrong-sheet" if more else "missing-swatches",
            f"sheet {sheet.id} has {len(sheet.swatches)} swatches, the file has "
            f"{len(table.rows)} rows and no swatch ids to tell which are which",
            place=Place(file=table.file or None),
            hint="check that it is this sheet's file, with every swatch read once",
        )
    said = (
        note(
            "matched-by-order",
            "the file has no swatch ids, so rows were taken in the order of the sheet",
            place=Place(file=table.file or None),
        ),
    )
    return Assigned(tuple((row,) for row in range(len(table.rows))), said)


def _check_builds(sheet: SampleSheet, table: Table, assigned: Assigned, builds: Array) -> None:
    """Compare the builds in the file with the sheet's; name an exchange as what it is."""
    tolerance = _ROUNDING[sheet.drive]
    wrong = [
        (number, row)
        for number, rows in enumerate(assigned.rows)
        for row in rows
        if np.abs(builds[row] - sheet.swatches[number].build.values).max() > tolerance
    ]
    if not wrong:
        return
    # The controls are the same on every sheet, so they don't tell one from another.
    own = [
        (number, row)
        for number, rows in enumerate(assigned.rows)
        for row in rows
        if not sheet.swatches[number].control
    ]
    total, apart = len(own), len(set(own) & set(wrong))
    file = Place(file=table.file or None)
    names = [sheet.swatches[number].id for number, _ in wrong]
    if apart * 2 > total > 2 and not _is_exchange(sheet, builds, wrong):
        raise OrderError.of(
            "wrong-sheet",
            f"{apart} of {total} rows beside the controls have another build than sheet {sheet.id}",
            place=file,
            hint="check that it is this sheet's file",
        )
    if _is_exchange(sheet, builds, wrong):
        raise OrderError.of(
            "swapped-rows",
            f"the builds of {_some(names)} are exchanged with one another in the file",
            place=table.place(wrong[0][1], 0),
            hint="put the rows back in the order of the sheet, or read those swatches again",
        )
    raise OrderError(
        [
            error(
                "wrong-build",
                f"swatch {sheet.swatches[number].id} is {sheet.swatches[number].build}, the file "
                f"says {' '.join(f'{value:g}' for value in builds[row])}",
                place=table.place(row, 0),
                hint="check that it is this sheet's file",
            )
            for number, row in wrong[:MOST_FINDINGS]
        ]
    )


def _is_exchange(sheet: SampleSheet, builds: Array, wrong: list[tuple[int, int]]) -> bool:
    """Tell whether the same builds are there, only in other places."""
    if len(wrong) < 2:
        return False
    rows = {row for _, row in wrong}
    near = _same_build(sheet, builds)
    return all(rows.intersection(near[number]) for number, _ in wrong)


def _same_build(sheet: SampleSheet, builds: Array) -> list[list[int]]:
    """Return for every swatch the rows that have its build, the first row first."""
    from scipy.spatial import KDTree  # noqa: PLC0415  (seldom needed)

    own = np.array([swatch.build.values for swatch in sheet.swatches])
    found = KDTree(builds).query_ball_point(
        own, _ROUNDING[sheet.drive], p=np.inf, return_sorted=True
    )
    return [list(rows) for rows in found]


_SAID = 12


def _some(names: list[str]) -> str:
    more = f" and {len(names) - _SAID} more" if len(names) > _SAID else ""
    return ", ".join(names[:_SAID]) + more
