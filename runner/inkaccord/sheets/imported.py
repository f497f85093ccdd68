"""A sheet that was not drawn here: its swatches follow from its own readings file."""

import datetime
from collections.abc import Sequence

from inkaccord.colour.builds import FULL_SCALE, Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.columns import BUILD_COLUMNS, ID_COLUMNS, Table
from inkaccord.sheets.measured import joined_tables
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.naming import sheet_name
from inkaccord.sheets.stated import stated
from inkaccord.sizes import Size


def imported_sheet(
    tables: Table | Sequence[Table],
    pair: Pair,
    *,
    date: datetime.date,
    name: str = "",
) -> SampleSheet:
    """Return the sheet that a readings file with builds describes.

    Builds are CMYK in percent or RGB 0 to 255. Swatches without an id are numbered from 1. The
    sheet's id follows from the pair and the builds; its date is the file's, or else ``date``.

    Raises
    ------
    OrderError
        ``no-builds`` without CMYK or RGB columns, ``bad-build`` for one out of range,
        ``id-twice``.
    """
    parts = (tables,) if isinstance(tables, Table) else tuple(tables)
    table = joined_tables(parts)
    drive, columns = _drive(table)
    values = table.numbers(columns)
    ids = _ids(table)
    full = FULL_SCALE[drive]
    swatches: list[Swatch] = []
    for row, (swatch_id, numbers) in enumerate(zip(ids, values.tolist(), strict=True)):
        if not all(-0.01 <= number <= full + 0.01 for number in numbers):
            raise OrderError.of(
                "bad-build",
                f"the build {' '.join(f'{n:g}' for n in numbers)} is not within 0 to {full:g}",
                place=table.place(row, columns[0]),
            )
        inside = tuple(min(max(number, 0.0), full) for number in numbers)
        swatches.append(Swatch(id=swatch_id, build=Build(drive=drive, values=inside)))
    content = "\n".join([str(pair), *(f"{s.id} {s.build.values}" for s in swatches)])
    return SampleSheet(
        id=sheet_name(content),
        pair=pair,
        drive=drive,
        purpose=Purpose.IMPORTED,
        swatches=tuple(swatches),
        size=Size.parse("a4"),
        order=name,
        date=stated(parts).read_on or date,
    )


def _drive(table: Table) -> tuple[Drive, tuple[int, ...]]:
    for drive in Drive:
        if (columns := table.indices(BUILD_COLUMNS[drive])) is not None:
            return drive, columns
    raise OrderError.of(
        "no-builds",
        "the file has no builds, so it says nothing of a pair; expected columns CMYK_C … CMYK_K "
        "or RGB_R RGB_G RGB_B",
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
