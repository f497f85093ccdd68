"""A target of others, such as a characterisation set: a sheet of its pair, with its readings."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import OrderError
from inkaccord.files import read_bytes
from inkaccord.knowledge.course import compared_of, known_today
from inkaccord.order.model import Order
from inkaccord.recording.intake import (
    FilesRead,
    Intake,
    device_of,
    tolerance_of,
)
from inkaccord.sheets.reading.columns import Table
from inkaccord.sheets.reading.foreign import match_foreign
from inkaccord.sheets.reading.formats import HEAD
from inkaccord.sheets.reading.imported import imported_sheet
from inkaccord.sheets.reading.tables import read_tables
from inkaccord.shelf.store import Shelf
from inkaccord.words import quoted


def take_in_target(
    shelf: Shelf,
    pair: Pair,
    files: Sequence[Path],
    *,
    today: datetime.date,
    read_on: datetime.date | None = None,
    order: Order | None = None,
    name: str | None = None,
    ink_limit: float | None = None,
    columns: Mapping[str, str] | None = None,
    same_place: str = "",
) -> Intake:
    """Keep a target that was not drawn here together with its readings: both, or neither.

    Parameters
    ----------
    shelf, pair
        Where it is kept, and what it was printed on.
    files
        Tables with a build and a colour in each row.
    today, read_on
        The day of now, and that on which it was read, where that is told. What the files say of
        it counts before either.
    order
        The order that describes the pair's device, if one does.
    name
        What the target is called; else as its first file.
    ink_limit
        Total ink in percent that the pair takes; else as the order says.
    columns
        What the files call columns otherwise: the standard's name → theirs.
    same_place
        What a command on the screen adds to be about the same shelf.

    Raises
    ------
    InkaccordError
        Whatever is wrong with the files. Then nothing has been kept.
    """
    device = device_of(pair, order)
    if order is not None and device is not None:
        pair, ink_limit = order.pair(pair), ink_limit or device.ink_limit
        drives = {device.drive}
    else:
        drives = {kept.sheet.drive for kept in shelf.sheets(pair)}
    drive = next(iter(drives)) if len(drives) == 1 else None
    contents = [read_bytes(path) for path in files]
    tables = _tables(files, contents, columns or {})
    day = read_on or today
    target = imported_sheet(tables, pair, date=day, name=name or files[0].stem)
    strange = _strange_pair(shelf.pairs(), pair, files[0], target.sheet.id, same_place)
    tolerance = tolerance_of(device)
    known = known_today(target.sheet, shelf.readings_of(pair), tolerance)
    foreign = match_foreign(target, tables, drive=drive, ink_limit=ink_limit, known=known)
    source = FilesRead.of(files, contents)
    readings = foreign.readings.dated(read_on)
    new = shelf.record_foreign(
        foreign.sheet, readings, source=source.names, source_sha256=source.sha256
    )
    return Intake(
        sheet=foreign.sheet,
        findings=(*foreign.findings, *strange),
        readings=len(readings.readings),
        new_readings=new,
        drift=compared_of(foreign.sheet, shelf.readings_of(pair), tolerance) if new else None,
    )


def _tables(
    paths: Sequence[Path], contents: Sequence[bytes], columns: Mapping[str, str]
) -> list[Table]:
    """Return the tables in files. Raises OrderError ``unknown-readings`` for what is no text."""
    for path, content in zip(paths, contents, strict=True):
        if b"\0" in content[:HEAD] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise OrderError.of(
                "unknown-readings",
                f"{path} is no table of builds and readings",
                hint="with --pair give CGATS text, CSV or JSON; a scan is recorded for its SHEET",
            )
    return [
        table
        for path, content in zip(paths, contents, strict=True)
        for table in read_tables(content, file=str(path), columns=columns)
    ]


def _strange_pair(
    kept: Sequence[Pair], pair: Pair, file: Path, sheet_id: str, same_place: str
) -> list[Diagnostic]:
    """Point out a pair that is new to the shelf, where it has the same in another setting."""
    near = [str(it) for it in kept if (it.device, it.stock) == (pair.device, pair.stock)]
    if not near or pair in kept:
        return []
    return [
        warning(
            "new-pair",
            f"the shelf has nothing else of {pair}; it has {', '.join(near)}, which is another "
            "pair",
            place=Place(file=str(file)),
            hint="name the pair with its driver setting, or give the --order that names it; "
            f"'inkaccord shelf retire {quoted(sheet_id)}{same_place}' undoes this",
        )
    ]
