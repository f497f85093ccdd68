"""A sheet that was drawn here: its readings, and what was picked from it by eye."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from inkaccord.cautions import HEAT, WHITE
from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.files import read_bytes
from inkaccord.knowledge.course import compared_of, known_today
from inkaccord.knowledge.evidence import known_for
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.stocks import StockKind
from inkaccord.recording.files import ReadingsFiles, recognise_files
from inkaccord.recording.intake import (
    FilesRead,
    Intake,
    device_of,
    tolerance_of,
)
from inkaccord.recording.owner import read_as_own
from inkaccord.recording.things import ThingsSeen, see_things
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.formats import OfferedFormat, ReadingsTaken
from inkaccord.sheets.reading.pick_text import parse_pick
from inkaccord.shelf.store import Shelf


def take_in_sheet(
    shelf: Shelf,
    sheet_id: str,
    files: Sequence[Path] = (),
    picks: Sequence[str] = (),
    *,
    today: datetime.date,
    read_on: datetime.date | None = None,
    formats: Sequence[OfferedFormat] = (),
    order: Order | None = None,
    beside: str | None = None,
    things: Sequence[str] = (),
    columns: Mapping[str, str] | None = None,
    by: str = "",
    light: str = "",
    sure: float = 0.5,
    same_place: str = "",
) -> Intake:
    """Keep the readings and picks of a sheet that is on the shelf: all of them, or nothing.

    Parameters
    ----------
    shelf, sheet_id
        Where it is kept, and the id that is printed on it.
    files
        What the instrument or the scanner wrote, as one reading of the sheet.
    picks
        As a person writes them: ``kelp=B7``; see
        :func:`~inkaccord.sheets.reading.pick_text.parse_pick`.
    today, by, light, sure
        When, by whom and under which light it was picked, and how sure that person was, 0 to 1.
    read_on
        When the files were read or scanned, where they do not say; None: now, as they are kept.
    formats
        The forms of files that are on offer, the first that recognises them all reads them.
    order
        Whose colours and devices they are about, where that is known.
    beside
        The sheet that lies beside it in a scan, and whose readings are known.
    things
        Colours whose things lie on the glass in the files, which are then a scan that is compared
        and not read.
    columns
        What the files call columns otherwise: the standard's name → theirs.
    same_place
        What a command on the screen adds to be about the same shelf.

    Raises
    ------
    InkaccordError
        Whatever is wrong with what was given. Then nothing has been kept.
    """
    sheet = shelf.sheet(sheet_id)
    picked = [
        parse_pick(text, sheet, by=by, light=light, sure=sure, picked_on=today) for text in picks
    ]
    findings = _check_colours((*(pick.colour for pick in picked), *things), sheet, order)
    tolerance = tolerance_of(device_of(sheet.pair, order))
    taken, seen = None, ThingsSeen()
    if things:
        seen = see_things(sheet, files, things, today=today, order=order, by=by)
        picked += seen.picks
    elif files:
        taken = understand(
            shelf,
            sheet,
            files,
            formats,
            columns,
            order=order,
            beside=beside,
            same_place=same_place,
        )
    care = () if _known(shelf, sheet) else tuple(_with_care(sheet, order))
    new = taken is not None and _keep(shelf, taken, files, read_on)
    read = taken.findings if taken is not None else ()
    return Intake(
        sheet=sheet,
        findings=(*findings, *seen.findings, *read, *care),
        readings=len(taken.readings.readings) if taken is not None else 0,
        new_readings=new,
        things=seen.found,
        new_picks=shelf.record_picks(picked) if picked else 0,
        drift=compared_of(sheet, shelf.readings_of(sheet.pair), tolerance) if new else None,
    )


def understand(
    shelf: Shelf,
    sheet: SampleSheet,
    files: Sequence[Path],
    formats: Sequence[OfferedFormat],
    columns: Mapping[str, str] | None,
    *,
    order: Order | None,
    beside: str | None,
    same_place: str = "",
) -> ReadingsTaken:
    """Read files as a sheet's, and keep nothing; parameters as :func:`take_in_sheet`.

    Raises InkaccordError for what can't be kept.
    """
    if beside is not None:
        return _read_beside(recognise_files(files, formats), sheet, shelf.sheet(beside), shelf)
    tolerance = tolerance_of(device_of(sheet.pair, order))
    known = known_today(sheet, shelf.readings_of(sheet.pair), tolerance)
    found = recognise_files(files, formats, columns)
    return read_as_own(found, sheet, known, shelf, same_place=same_place)


def _read_beside(
    files: ReadingsFiles, sheet: SampleSheet, beside: SampleSheet, shelf: Shelf
) -> ReadingsTaken:
    known = known_for(beside, shelf.readings_of_sheet(beside.id))
    return files.read_beside(sheet, beside, known)


def _keep(
    shelf: Shelf, taken: ReadingsTaken, paths: Sequence[Path], read_on: datetime.date | None
) -> bool:
    kept = (it.readings for it in shelf.readings_of_sheet(taken.readings.sheet))
    if any(it.model_copy(update={"read_on": None}) == taken.readings for it in kept):
        return False  # on another day they are no other readings
    source = FilesRead.of(paths, map(read_bytes, paths))
    return shelf.record_readings(
        taken.readings.dated(read_on), source=source.names, source_sha256=source.sha256
    )


def _known(shelf: Shelf, sheet: SampleSheet) -> bool:
    """Tell whether anything was taken in of a sheet before."""
    return bool(shelf.readings_of_sheet(sheet.id) or shelf.picks_of_sheet(sheet.id))


def _with_care(sheet: SampleSheet, order: Order | None) -> Iterator[Diagnostic]:
    """Yield what to mind with a sheet that is handled the first time, where it is no plain one."""
    stock = None if order is None else order.stocks.get(sheet.pair.stock)
    if stock is not None and stock.kind is StockKind.ENVELOPE:
        yield note("with-care", HEAT)
    if sheet.settings.white_under:
        yield note("with-care", WHITE)


def _check_colours(
    colours: Sequence[str], sheet: SampleSheet, order: Order | None
) -> list[Diagnostic]:
    """Look whether picked colours exist: in the order, or else on the sheet.

    Raises OrderError for a colour that the order lacks.
    """
    if order is not None:
        unknown = [colour for colour in colours if colour not in order.colours]
        if unknown:
            raise OrderError(
                error(
                    "unknown-colour",
                    f"the order has no colour '{name}'",
                    hint=suggest(name, order.colours),
                )
                for name in unknown
            )
        return []
    named = {swatch.colour for swatch in sheet.swatches if swatch.colour}
    return [
        warning(
            "unknown-colour",
            f"sheet {sheet.id} has no swatches for a colour '{colour}'",
            hint=f"{suggest(colour, named)} If it is meant so, all is well.",
        )
        for colour in colours
        if named and colour not in named
    ]
