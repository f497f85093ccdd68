"""What the shelf takes in: each rule raises an OrderError before anything is changed."""

import re

import sqlalchemy as sa

from inkaccord.colour.conditions import Conditions
from inkaccord.colour.lab import is_of_a_print, is_reflectance
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Pick, SampleSheet, SheetReadings
from inkaccord.shelf import queries, rows
from inkaccord.shelf.kept import KeptSheet
from inkaccord.shelf.schema import records, sheets

SHEET_ID = re.compile(r"[A-Za-z0-9]{1,16}(?:-[A-Za-z0-9]{1,16}){0,3}")
"""It stands in file names and in commands to be typed, and is read aloud."""


def check_sheet(sheet: SampleSheet) -> None:
    """Refuse a sheet whose id is none of ours, that holds no swatch, or a swatch's id twice."""
    if not SHEET_ID.fullmatch(sheet.id):
        raise OrderError.of(
            "bad-sheet",
            f"{sheet.id!r} is no sheet's id: expected letters and digits, such as K7Q-XM3",
            hint="take in only what 'inkaccord shelf export' wrote",
        )
    ids = [swatch.id for swatch in sheet.swatches]
    twice = (
        sorted({name for name in ids if ids.count(name) > 1}) if len(set(ids)) < len(ids) else []
    )
    if not ids or twice:
        what = f"has {', '.join(twice)} more than once" if twice else "holds no swatch"
        raise OrderError.of("bad-sheet", f"sheet {sheet.id} {what}")


def check_in_use(kept: KeptSheet) -> None:
    """Refuse a retired sheet."""
    if kept.retired_at:
        why = f" ({kept.retired_why})" if kept.retired_why else ""
        raise OrderError.of(
            "sheet-retired",
            f"sheet {kept.sheet.id} was retired on {kept.retired_at:%Y-%m-%d}{why}",
            hint="record readings and picks of sheets that are in use",
        )


def check_readings(sheet: SampleSheet, taken: SheetReadings, source: str) -> None:
    """Refuse readings that do not fit the sheet's swatches, or that no print gives.

    ``source`` is the file that they came from, where that is known. What our own readers give was
    checked by its row before; this holds plugins and evidence from elsewhere to the same.
    """
    place = Place(file=source) if source else None
    names = [reading.swatch for reading in taken.readings]
    unknown = sorted(set(names) - {swatch.id for swatch in sheet.swatches})
    if not names or unknown or len(set(names)) < len(names):
        if unknown:
            what = f"name swatches that it lacks: {', '.join(unknown[:10])}"
        else:
            what = "name a swatch twice" if names else "are empty"
        raise OrderError.of(
            "wrong-sheet",
            f"the readings of sheet {sheet.id} {what}",
            place=place,
            hint="take the file that was read from this sheet",
        )
    bands = len(taken.wavelengths_nm or ())
    if any(len(reading.spectrum or ()) not in {0, bands} for reading in taken.readings):
        raise OrderError.of(
            "bad-spectrum",
            f"the spectra of sheet {sheet.id} do not have the {bands} values that its "
            "wavelengths ask for",
            place=place,
            hint="export the readings again, or without their spectra",
        )
    wrong = [
        reading.swatch
        for reading in taken.readings
        if not (is_of_a_print(reading.lab) and is_reflectance(reading.spectrum or ()))
    ]
    if wrong:
        raise OrderError.of(
            "impossible-value",
            f"what was read of {', '.join(wrong[:10])} on sheet {sheet.id} is no colour of a print",
            place=place,
            hint="read the sheet again",
        )


def check_not_retired(connection: sa.Connection, digest: str) -> None:
    """Refuse to record anew exactly the reading that was taken out of use."""
    query = sa.select(records.c.retired_at).where(records.c.digest == digest)
    if when := connection.execute(query).scalar():
        raise OrderError.of(
            "readings-retired",
            f"exactly this reading was recorded before and retired on {when[:10]}",
            hint="read the sheet again, or take that reading back into use: "
            f"inkaccord shelf use-again SHEET --readings {digest[:8]}",
        )


def check_conditions(connection: sa.Connection, pair: Pair, taken: SheetReadings) -> None:
    """Refuse readings whose conditions clash with the pair's other readings."""
    for sheet_id, earlier in _conditions_of(connection, pair):
        if clash := earlier.clash(taken.conditions):
            raise OrderError.of(
                "mixed-conditions",
                f"this reading of sheet {taken.sheet} was made under other conditions than that "
                f"of sheet {sheet_id} on the shelf: {clash}; such readings cannot be compared",
                hint=f"read it again under the earlier conditions, or retire sheet {sheet_id}",
            )


def check_counts_again(connection: sa.Connection, sheet: SampleSheet) -> None:
    """Refuse that a sheet counts whose readings in use clash with the pair's others."""
    for kept in queries.readings_of_sheets(connection, [sheet], retired=False):
        check_conditions(connection, sheet.pair, kept.readings)


def _conditions_of(connection: sa.Connection, pair: Pair) -> list[tuple[str, Conditions]]:
    each = [records.c[name] for name in ("sheet_id", "illuminant", "observer", "mode", "backing")]
    query = (
        sa.select(*each)
        .join(sheets, sheets.c.id == records.c.sheet_id)
        .where(
            sheets.c.pair == str(pair),
            sheets.c.retired_at.is_(None),
            records.c.retired_at.is_(None),
        )
        .group_by(*each)
        .order_by(sa.func.min(records.c.recorded_at), *each)
    )
    return [(row.sheet_id, rows.conditions_value(row)) for row in connection.execute(query)]


def fitting_pick(sheet: SampleSheet, pick: Pick) -> Pick:
    """Return a pick with its swatches as the sheet spells them; refuse one that it lacks."""
    found = {
        field: sheet.swatch(name)
        for field in ("swatch", "between", "then")
        if (name := getattr(pick, field)) is not None
    }
    missing = [str(getattr(pick, field)) for field, swatch in found.items() if swatch is None]
    if missing:
        raise OrderError.of(
            "no-such-swatch",
            f"sheet {sheet.id} has no swatch {' or '.join(missing)}; it has "
            f"{sheet.swatches[0].id} to {sheet.swatches[-1].id}",
            hint="look at the id beside the swatch",
        )
    spelled = {field: swatch.id for field, swatch in found.items() if swatch}
    return pick.model_copy(update={"sheet": sheet.id} | spelled)
