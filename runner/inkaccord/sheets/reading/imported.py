"""A sheet that was not drawn here: its swatches follow from its own readings file."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place, error, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.naming import sheet_name
from inkaccord.sheets.reading.columns import BUILD_COLUMNS, ID_COLUMNS, MOST_FINDINGS, Table
from inkaccord.sheets.reading.measured import joined_tables
from inkaccord.sheets.reading.stated import stated
from inkaccord.sizes import Size


@dataclass(frozen=True)
class Imported:
    """Such a sheet, and what had to be converted."""

    sheet: SampleSheet
    findings: tuple[Diagnostic, ...] = ()


def imported_sheet(
    tables: Table | Sequence[Table],
    pair: Pair,
    *,
    date: datetime.date,
    name: str = "",
) -> Imported:
    """Return the sheet that a readings file with builds describes.

    Builds are CMYK in percent or RGB 0 to 255; a file on another scale (0 to 1, RGB in percent,
    CMYK in 8 bits) shows in its largest value, and is converted. Swatches without an id are
    numbered from 1. The sheet's id follows from the pair and the builds; its date is the file's,
    or else ``date``.

    Raises
    ------
    OrderError
        ``no-data``, ``no-builds`` without CMYK or RGB columns, ``bad-build`` for one out of
        range, ``id-twice``.
    """
    parts = (tables,) if isinstance(tables, Table) else tuple(tables)
    table = joined_tables(parts)
    if not table.rows:
        raise OrderError.of(
            "no-data",
            "the file holds no row of data",
            place=Place(file=table.file or None),
            hint="export the readings again",
        )
    drive, columns = _drive(table)
    values, findings = _on_our_scale(table, drive, table.numbers(columns))
    ids = _ids(table)
    full = FULL_SCALE[drive]
    swatches: list[Swatch] = []
    refused: list[Diagnostic] = []
    for row, (swatch_id, numbers) in enumerate(zip(ids, values.tolist(), strict=True)):
        if not all(-0.01 <= number <= full + 0.01 for number in numbers):
            refused.append(
                error(
                    "bad-build",
                    f"the build {' '.join(f'{n:g}' for n in numbers)} is not within 0 to {full:g}",
                    place=table.place(row, columns[0]),
                )
            )
            continue
        inside = tuple(min(max(number, 0.0), full) for number in numbers)
        swatches.append(Swatch(id=swatch_id, build=Build(drive=drive, values=inside)))
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    content = "\n".join([str(pair), *(f"{s.id} {s.build.values}" for s in swatches)])
    sheet = SampleSheet(
        id=sheet_name(content),
        pair=pair,
        drive=drive,
        purpose=Purpose.IMPORTED,
        swatches=tuple(swatches),
        size=Size.parse("a4"),
        order=name,
        date=stated(parts).read_on or date,
    )
    return Imported(sheet, findings)


def _on_our_scale(
    table: Table, drive: Drive, values: Array
) -> tuple[Array, tuple[Diagnostic, ...]]:
    """Return builds in percent or 0 to 255, and a warning where the file has another scale."""
    top, full = float(values.max(initial=0.0)), FULL_SCALE[drive]
    other: dict[float, str] = {1.0: "0 to 1"}
    if drive is Drive.RGB:
        other[100.0] = "percent"
    else:
        other[255.0] = "0 to 255"
    for scale, said in other.items():
        if abs(top - scale) <= 1e-3 * scale and len(values) > 1:
            text = f"the builds run to {top:g}, so they were taken as {said}"
            found = warning("unit-scaled", text, place=Place(file=table.file or None))
            return values * (full / scale), (found,)
    return values, ()


def _drive(table: Table) -> tuple[Drive, tuple[int, ...]]:
    for drive in Drive:
        if (columns := table.indices(BUILD_COLUMNS[drive])) is not None:
            return drive, columns
    raise OrderError.of(
        "no-builds",
        "the file has no builds, so it says nothing of a pair; expected columns CMYK_C … CMYK_K "
        f"or RGB_R RGB_G RGB_B, it has {', '.join(table.columns[:12])}",
        place=Place(file=table.file or None),
        hint="record it for the sheet that it was read from",
    )


def _ids(table: Table) -> list[str]:
    column = next((i for name in ID_COLUMNS if (i := table.index(name)) is not None), None)
    if column is None:
        return [str(number) for number in range(1, len(table.rows) + 1)]
    ids = [row[column].text.strip() for row in table.rows]
    seen: set[str] = set()
    for row, swatch_id in enumerate(ids):
        if not swatch_id or swatch_id.upper() in seen:
            what = f"the id {swatch_id} comes twice" if swatch_id else "the id is missing"
            raise OrderError.of("id-twice", what, place=table.place(row, column))
        seen.add(swatch_id.upper())
    return ids
