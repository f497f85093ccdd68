"""The whole shelf as a folder of text files: to look at, to keep under version control, to merge.

::

    shelf.json                       the format's number, and what was served to which order
    book.json                        the studio's own colours, where there are any
    <sheet>/sheet.json               the sheet and its swatches
    <sheet>/sheet.txt                the same as ISO 28178 text, for other programs
    <sheet>/readings-<digest>.txt    one reading, ISO 28178 text
    <sheet>/readings-<digest>.json   when, by whom, under which conditions
    <sheet>/picks.json               the picks on it

Numbers are written so that they read back exactly. An export of an unchanged shelf changes no
file. Taking in adds what is new; a reading that was edited no longer fits its digest and is
refused.
"""

import contextlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import pydantic
import sqlalchemy as sa

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError, OrderError
from inkaccord.files import inside, read_bytes, safe_name, write_if_changed
from inkaccord.models import Frozen
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.columns import LAB_COLUMNS, SAMPLE_ID, wavelength_of
from inkaccord.shelf import book, queries, rows, writes
from inkaccord.shelf.kept import BookUse, KeptColour, KeptPick, KeptReadings, KeptSheet, Served
from inkaccord.shelf.moves import put_move
from inkaccord.shelf.schema import records, sheets
from inkaccord.words import counted

FORMAT = 1
BOOK = "book.json"
Kept = TypeVar("Kept", bound=Frozen)


@dataclass(frozen=True)
class News:
    """What of a folder was new.

    Attributes
    ----------
    colours
        Editions of the studio's own colours.
    """

    sheets: tuple[KeptSheet, ...] = ()
    readings: tuple[KeptReadings, ...] = ()
    picks: tuple[KeptPick, ...] = ()
    colours: tuple[KeptColour, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.sheets or self.readings or self.picks or self.colours)

    def words(self, pick: str = "pick") -> str:
        """Say how much it is: '2 sheets, 2 readings, 5 picks, 1 colour of the book'."""
        taken = [
            counted(len(self.sheets), "sheet"),
            counted(len(self.readings), "reading"),
            counted(len(self.picks), pick),
        ]
        if self.colours:
            taken.append(f"{counted(len(self.colours), 'colour')} of the book")
        return ", ".join(taken)


@dataclass(frozen=True)
class Brought(News):
    """What a folder holds."""

    served: tuple[Served, ...] = ()
    uses: tuple[BookUse, ...] = ()


def export(connection: sa.Connection, folder: Path) -> tuple[Path, ...]:
    """Write everything on the shelf to a folder. Returns its files, in order.

    Files of the same names are replaced, others left alone. Raises FileError.
    """
    files: dict[str, str] = {}
    kept = queries.sheets_of(connection, None, retired=True)
    for each in kept:
        sheet, name = each.sheet, safe_name(each.sheet.id)
        files[f"{name}/sheet.json"] = _json(_sheet_content(each))
        files[f"{name}/sheet.txt"] = write_cgats(sheet)
        for record in queries.readings_of_sheets(connection, [sheet], retired=True):
            stem = f"{name}/readings-{record.digest[:12]}"
            files[f"{stem}.txt"] = write_cgats(sheet, record.readings)
            files[f"{stem}.json"] = _json(_record_content(record))
        if picks := queries.picks_of_sheets(connection, [sheet]):
            files[f"{name}/picks.json"] = _json([_pick_content(pick) for pick in picks])
    served = queries.served_of(connection, None)
    files["shelf.json"] = _json(
        {"format": FORMAT, "served": [entry.model_dump(mode="json") for entry in served]}
    )
    if editions := book.editions_in(connection):
        uses = book.uses_in(connection)
        files[BOOK] = _json(
            {
                "colours": [it.model_dump(mode="json", exclude_defaults=True) for it in editions],
                "uses": [it.model_dump(mode="json") for it in uses],
            }
        )
    written = {inside(folder, name): text for name, text in sorted(files.items())}
    for path, text in written.items():
        write_if_changed(path, text.encode())
    return tuple(written)


def read_folder(folder: Path) -> Brought:
    """Read an exported folder, every file of it, before anything is taken in.

    Raises FileError or OrderError naming the file that is missing, edited or of a newer format.
    """
    head = folder / "shelf.json"
    content = _load(head)
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise FileError.of(
            "not-an-export",
            f"this is not an export of format {FORMAT}",
            place=Place(file=str(head)),
            hint="name the folder that 'inkaccord shelf export' wrote",
        )
    kept: list[KeptSheet] = []
    readings: list[KeptReadings] = []
    picks: list[KeptPick] = []
    for path in sorted(folder.glob("*/sheet.json")):
        each = _sheet_of(path)
        kept.append(each)
        readings += [_record_of(p, each.sheet) for p in sorted(path.parent.glob("readings-*.json"))]
        if (picked := path.parent / "picks.json").exists():
            picks += [_pick_of(picked, entry, each.sheet) for entry in _load(picked)]
    served = [_value(head, Served, entry) for entry in content["served"]]
    colours, uses = _book_of(folder / BOOK)
    return Brought(
        tuple(kept), tuple(readings), tuple(picks), colours, served=tuple(served), uses=uses
    )


def _book_of(path: Path) -> tuple[tuple[KeptColour, ...], tuple[BookUse, ...]]:
    """Return what a folder's book holds; nothing where it has none."""
    if not path.exists():
        return (), ()
    content = _load(path)
    if not isinstance(content, dict):
        raise unreadable(path, "expected 'colours' and 'uses'")
    return (
        tuple(_value(path, KeptColour, it) for it in content.get("colours", ())),
        tuple(_value(path, BookUse, it) for it in content.get("uses", ())),
    )


def take_in(connection: sa.Connection, brought: Brought) -> News:
    """Add what is new of a folder, in the transaction that is open.

    What was retired there is retired here; nothing comes back into use. Raises OrderError when
    an id stands for another sheet here, or conditions clash.
    """
    new_sheets = [each for each in brought.sheets if writes.put_sheet(connection, each)]
    for each in brought.sheets:
        _retire_too(connection, sheets, each.sheet.id, each)
        for move in each.moves:
            put_move(connection, each.sheet.id, move)
    # retired readings first: they clash with nothing
    ordered = sorted(brought.readings, key=lambda record: record.retired_at is None)
    new_readings = [record for record in ordered if writes.put_readings(connection, record)]
    for record in brought.readings:
        _retire_too(connection, records, record.digest, record)
    new_picks = [pick for pick in brought.picks if writes.put_pick(connection, pick)]
    for entry in brought.served:
        writes.put_served(connection, entry)
    new_colours = [kept for kept in brought.colours if book.put_colour(connection, kept)]
    known = {(use.order, use.colour) for use in book.uses_in(connection)}
    for use in brought.uses:
        if (use.order, use.colour) not in known:
            book.put_use(connection, use)
    return News(tuple(new_sheets), tuple(new_readings), tuple(new_picks), tuple(new_colours))


def _retire_too(
    connection: sa.Connection, what: sa.Table, name: str, kept: KeptSheet | KeptReadings
) -> None:
    (key,) = what.primary_key.columns
    here = connection.execute(sa.select(what.c.retired_at).where(key == name)).scalar()
    if kept.retired_at is not None and here is None:
        writes.retire(
            connection,
            what,
            name,
            at=kept.retired_at,
            by=kept.retired_by or "",
            why=kept.retired_why or "",
        )


# Contents of the files. A build is a list of numbers here: its text form is rounded.


def _sheet_content(kept: KeptSheet) -> dict[str, Any]:
    content = kept.model_dump(mode="json", exclude={"sheet": {"swatches"}}, exclude_none=True)
    if not kept.moves:
        del content["moves"]  # an export without any is as it was before there were moves
    content["sheet"]["swatches"] = [
        swatch.model_dump(mode="json", exclude_none=True)
        | {"build": {"drive": swatch.build.drive.value, "values": list(swatch.build.values)}}
        for swatch in kept.sheet.swatches
    ]
    return content


def _record_content(record: KeptReadings) -> dict[str, Any]:
    content = record.model_dump(mode="json", exclude={"sheet", "readings"}, exclude_none=True)
    taken = record.readings
    return content | {
        "conditions": taken.conditions.model_dump(mode="json"),
        "noise": taken.noise,
        "device": taken.device,
        "read_on": taken.read_on.isoformat() if taken.read_on else None,
    }


def _pick_content(pick: KeptPick) -> dict[str, Any]:
    return pick.model_dump(mode="json", exclude={"sheet"}, exclude_none=True)


_RENAMED = {"deck": Purpose.SWATCH_SET.value}
"""Purposes of sheets that were called otherwise before the shelf's version 9."""


def _sheet_of(path: Path) -> KeptSheet:
    content = _load(path)
    with contextlib.suppress(TypeError, KeyError):  # what is no sheet is said below
        content["sheet"]["purpose"] = _RENAMED[content["sheet"]["purpose"]]
    return _value(path, KeptSheet, content)


def _record_of(path: Path, sheet: SampleSheet) -> KeptReadings:
    content = _load(path)
    table_path = path.with_suffix(".txt")
    (table,) = parse_cgats(read_bytes(table_path), file=str(table_path))
    lab_columns, id_column = table.indices(LAB_COLUMNS), table.index(SAMPLE_ID)
    bands = {at: nm for at, name in enumerate(table.columns) if (nm := wavelength_of(name))}
    if lab_columns is None or id_column is None:
        raise OrderError.of(
            "no-colour", "the readings have no colours", place=Place(file=str(table_path))
        )
    labs, spectra = table.numbers(lab_columns), table.numbers(tuple(bands))
    try:
        about = {name: content.pop(name) for name in ("conditions", "noise", "device", "read_on")}
        readings = SheetReadings(
            sheet=sheet.id,
            readings=tuple(
                Reading(
                    swatch=row[id_column].text,
                    lab=tuple(lab),
                    spectrum=tuple(spectrum) if bands else None,
                )
                for row, lab, spectrum in zip(
                    table.rows, labs.tolist(), spectra.tolist(), strict=True
                )
            ),
            wavelengths_nm=tuple(bands.values()) or None,
            **about,
        )
        record = KeptReadings(sheet=sheet, readings=readings, **content)
    except (KeyError, TypeError, pydantic.ValidationError) as problem:
        raise unreadable(path, problem) from problem
    if rows.digest_of(readings) != record.digest:
        raise OrderError.of(
            "edited-readings",
            "these readings are not the ones that were exported",
            place=Place(file=str(table_path)),
            hint="take back the change, or record the file as a new reading of the sheet",
        )
    return record


def _pick_of(path: Path, entry: Any, sheet: SampleSheet) -> KeptPick:
    return _value(path, KeptPick, {**entry, "sheet": sheet} if isinstance(entry, dict) else entry)


def _json(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _load(path: Path) -> Any:
    try:
        content = json.loads(read_bytes(path), parse_int=_small_number, parse_constant=_no_number)
        json.dumps(content, ensure_ascii=False).encode()  # half a character is none
    except (ValueError, RecursionError) as problem:
        raise unreadable(path, problem) from problem
    return content


def _small_number(digits: str) -> int:
    if len(digits) > 15:
        raise ValueError("a number of too many digits")
    return int(digits)


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _value(path: Path, kind: type[Kept], content: Any) -> Kept:
    try:
        return kind.model_validate(content)
    except pydantic.ValidationError as problem:
        raise unreadable(path, problem) from problem


def unreadable(path: Path, problem: object) -> FileError:
    """Return what is said of a file that is no part of an export, or does not fit the others."""
    if isinstance(problem, pydantic.ValidationError):
        first, *others = problem.errors(include_url=False)
        more = f", and {counted(len(others), 'more mistake')}" if others else ""
        field = ".".join(map(str, first["loc"]))
        problem = f"{field or 'all of it'}: {first['msg']}{more}"
    return FileError.of(
        "bad-export",
        f"the file can't be read as part of an exported shelf: {problem}",
        place=Place(file=str(path)),
        hint="export the shelf again",
    )
