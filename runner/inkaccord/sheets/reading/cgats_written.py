"""ISO 28178 (CGATS.17) text that is ours: a sheet for an instrument, and readings to be kept."""

import re
from collections.abc import Iterator, Sequence

from inkaccord.cautions import INKS_AND_HEAT
from inkaccord.colour.conditions import Conditions
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.cgats import LINE_END, ORIGINATOR, PAIR_KEYWORD, SHEET_KEYWORD
from inkaccord.sheets.reading.columns import (
    BUILD_COLUMNS,
    LAB_COLUMNS,
    SAMPLE_ID,
    SPECTRAL_NM,
    digits,
)

_PLAIN = re.compile(r"^[^\s\"'#]+$")
PRINTING = (
    "At 100 %, numbers unchanged, on the paper and with the quality of the job. PDF viewer: hand "
    "colour to the printer as it is, no fitting to the page. Layout program: place at full size, "
    "output without conversion. RIP: no input profile, no simulation, no retouch of black. Driver "
    "of a desktop inkjet: its colour correction off. Full: docs/sample-sheets.md"
)
"""How a sheet is printed without colour conversion, in short."""


def write_cgats(sheet: SampleSheet, readings: SheetReadings | None = None) -> str:
    """Return a sheet as ISO 28178 text: SAMPLE_ID and its builds, and the readings if given.

    Builds and readings are written so that reading the file gives the same numbers again.
    Spectra are reflectance factors 0 to 1 in columns ``SPECTRAL_NM380`` and so on.
    Raises OrderError when the readings belong to another sheet or name a swatch it lacks.
    """
    columns, rows = written_rows(sheet, readings)
    header = [
        "CGATS.17",
        f'ORIGINATOR "{ORIGINATOR}"',
        f'FILE_DESCRIPTOR "Sample sheet {free_text(sheet.id)} for {free_text(str(sheet.pair))}"',
        f'CREATED "{sheet.date.isoformat()}"',
        *own_entry(SHEET_KEYWORD, sheet.id),
        *own_entry(PAIR_KEYWORD, str(sheet.pair)),
        *(own_entry("ORDER", sheet.order) if sheet.order else ()),
        *(line for name, text in _how_to_use(sheet) for line in own_entry(name, text)),
        *(_stated(readings) if readings else ()),
    ]
    return with_table(header, columns, [[quoted_cell(name), *numbers] for name, *numbers in rows])


def with_table(header: Sequence[str], columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a file's text: its header, then a table whose cells are quoted where they have to."""
    table = [
        f"NUMBER_OF_FIELDS {len(columns)}",
        "BEGIN_DATA_FORMAT",
        " ".join(columns),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(rows)}",
        "BEGIN_DATA",
        *map(" ".join, rows),
        "END_DATA",
        "",
    ]
    return "\n".join([*header, *table])


def _how_to_use(sheet: SampleSheet) -> Iterator[tuple[str, str]]:
    """Give what a person needs who prints the sheet, and which of its swatches are for the eye."""
    yield "PRINTING", PRINTING
    yield "CAUTION", INKS_AND_HEAT
    if sheet.settings.white_under:
        yield "WHITE_UNDER", f"Plate {sheet.settings.white_under} under every swatch, as on the job"
    eye: dict[str, list[str]] = {}
    for swatch in sheet.swatches:
        if swatch.for_eye:
            eye.setdefault(swatch.colour or "", []).append(swatch.id)
    if eye:
        listed = "; ".join(f"{colour}: {' '.join(ids)}" for colour, ids in eye.items())
        yield "TO_HOLD_AGAINST_THE_THING", listed


def written_rows(
    sheet: SampleSheet, readings: SheetReadings | None
) -> tuple[list[str], list[list[str]]]:
    """Return the columns of a sheet's table and its rows: the id, then numbers as text.

    Raises OrderError when the readings belong to another sheet or name a swatch it lacks.
    """
    columns = [SAMPLE_ID, *BUILD_COLUMNS[sheet.drive]]
    if readings is None:
        return columns, [[s.id, *map(digits, s.build.values)] for s in sheet.swatches]
    build_of = {swatch.id: swatch.build.values for swatch in sheet.swatches}
    unknown = [r.swatch for r in readings.readings if r.swatch not in build_of]
    if readings.sheet != sheet.id or unknown:
        raise OrderError.of(
            "wrong-sheet",
            f"readings of {readings.sheet} ({', '.join(unknown) or 'all swatches'}) "
            f"cannot be written for sheet {sheet.id}",
        )
    columns += LAB_COLUMNS
    columns += [f"{SPECTRAL_NM}{nm:g}" for nm in readings.wavelengths_nm or ()]
    return columns, [
        [
            reading.swatch,
            *map(digits, build_of[reading.swatch]),
            *map(digits, reading.lab),
            *map(digits, reading.spectrum or ()),
        ]
        for reading in readings.readings
    ]


def own_entry(name: str, value: str) -> tuple[str, str]:
    """Declare and give a header entry that the standard does not name."""
    return f'KEYWORD "{name}"', f'{name} "{free_text(value)}"'


def _stated(readings: SheetReadings) -> Iterator[str]:
    if readings.device:
        yield f'INSTRUMENTATION "{free_text(readings.device)}"'
    if readings.read_on:
        yield from own_entry("READ_ON", readings.read_on.isoformat())
    yield from conditions_entries(readings.conditions)


def conditions_entries(conditions: Conditions) -> Iterator[str]:
    """Give the header entries that state the conditions of readings."""
    if conditions.mode:
        yield f'MEASUREMENT_SOURCE "MEASUREMENT_CONDITION={conditions.mode}"'
    if conditions.backing:
        yield f'SAMPLE_BACKING "{conditions.backing}"'
    yield f'WEIGHTING_FUNCTION "ILLUMINANT, {free_text(conditions.illuminant)}"'
    yield f'WEIGHTING_FUNCTION "OBSERVER, {conditions.observer} degree"'


def free_text(text: str) -> str:
    """Return text that fits between double quotes on one line."""
    return " ".join(text.replace('"', "'").split())


def quoted_cell(text: str) -> str:
    """Return text as one cell of a set. Raises OrderError ``bad-id`` for what no cell can hold."""
    if _PLAIN.match(text):
        return text
    for mark in "\"'":
        if mark not in text and not LINE_END.search(text):
            return f"{mark}{text}{mark}"
    raise OrderError.of("bad-id", f"the swatch id {text!r} cannot be written as CGATS text")
