"""Sheets and invented readings for the tests of recording and keeping.

The 'printer' here is a dye model of our own in a few bands, nothing like the models in the
program, so that a check against it is not the program against itself.
"""

import datetime
import json
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings, Swatch
from inkaccord.sheets.reading.cgats import SHEET_KEYWORD
from inkaccord.sheets.reading.cgats_written import written_rows
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.testing import plain_press

DATE = datetime.date(2026, 3, 14)
PAIR = Pair.parse("laser@kraft")
_BANDS_TO_XYZ = np.array(  # sums to the D50 white
    [[0.4361, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]]
)
_ABSORBS = np.array([[2.0, 0.6, 0.12], [0.12, 1.9, 0.5], [0.0, 0.05, 1.8], [2.6, 2.6, 2.6]])


def printed_lab(builds: Array, drive: Drive, *, seed: int = 0) -> Array:
    """Return (n, 3) CIELAB that an invented printer gives, with reading noise."""
    rng = np.random.default_rng(seed)
    cover = builds / 100 if drive is Drive.CMYK else 1 - builds / 255
    absorbed = (cover**0.8) @ _ABSORBS[: cover.shape[1]]
    bands = 0.85 * np.array([1.0, 0.98, 0.9]) * (0.02 + 0.98 * np.exp(-absorbed))
    return xyz_to_lab(100 * bands @ _BANDS_TO_XYZ.T) + rng.normal(0, 0.15, (len(builds), 3))


def keep_three_pairs(shelf: Shelf, read: tuple[str, str], waiting: str) -> None:
    """Keep a pair in CMYK that is read, one in RGB that is read, and one whose sheet waits."""
    for name, pair, drive in zip(("K7Q-XM3", "BCD-FGH"), read, Drive, strict=True):
        sheet = sheet_of(60, drive=drive, pair=Pair.parse(pair), name=name)
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet))
    shelf.add_sheet(sheet_of(40, pair=Pair.parse(waiting), name="RST-VWX"))


def sheet_of(
    count: int = 60, *, drive: Drive = Drive.CMYK, pair: Pair = PAIR, name: str = "K7Q-XM3"
) -> SampleSheet:
    """Return a sheet of ``count`` swatches in rows of ten, the twelve controls first."""
    rng = np.random.default_rng(5)
    own = control_builds(drive)
    full = 100 if drive is Drive.CMYK else 255
    drawn = rng.integers(0, full + 1, (max(count - len(own), 0), 4 if full == 100 else 3))
    light = np.round(drawn * rng.choice([0.3, 1.0], (len(drawn), 1))).astype(float)
    builds = (*own, *(Build(drive=drive, values=tuple(row)) for row in light.tolist()))[:count]
    swatches = tuple(
        Swatch(
            id=f"X{at + 1}" if at < len(own) else f"{'ABCDEFGH'[at // 10]}{at % 10 + 1}",
            build=build,
            control=at < len(own),
            colour=None if at < len(own) else "kelp",
            box_pt=(36 + 50 * (at % 10), 600 - 50 * (at // 10), 80 + 50 * (at % 10),
                    644 - 50 * (at // 10)),
        )
        for at, build in enumerate(builds)
    )  # fmt: skip
    return SampleSheet(
        id=name,
        pair=pair,
        drive=drive,
        purpose=Purpose.SCOUTING,
        swatches=swatches,
        size=Size.parse("a4"),
        order="members-evening",
        date=DATE,
    )


def lab_of(sheet: SampleSheet, *, seed: int = 0) -> Array:
    """Return (n, 3) invented readings of a sheet, in its order."""
    builds = np.array([swatch.build.values for swatch in sheet.swatches])
    return printed_lab(builds, sheet.drive, seed=seed)


def readings_of(sheet: SampleSheet, *, seed: int = 0, **about: object) -> SheetReadings:
    """Return invented readings of a sheet as a value."""
    return SheetReadings(
        sheet=sheet.id,
        readings=tuple(
            Reading(swatch=swatch.id, lab=tuple(lab))
            for swatch, lab in zip(sheet.swatches, lab_of(sheet, seed=seed).tolist(), strict=True)
        ),
        **about,
    )


def fill_in(
    table: Path,
    target: Path,
    press: Callable[[Array], Array] = plain_press,
    *,
    read_on: datetime.date | None = None,
) -> None:
    """Play the instrument: give back a sheet's file with CIELAB in it, as a press prints it."""
    lines = table.read_text("utf-8").splitlines()
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split()
    rows_at = lines.index("BEGIN_DATA") + 1
    rows = [line.split() for line in lines[rows_at : lines.index("END_DATA")]]
    names = [name for name in fields if name.startswith(("CMYK_", "RGB_"))]
    builds = np.array([[float(row[fields.index(name)]) for name in names] for row in rows])
    out = ["CGATS.17", f"NUMBER_OF_FIELDS {len(fields) + 3}", "BEGIN_DATA_FORMAT"]
    out += [" ".join([*fields, "LAB_L", "LAB_A", "LAB_B"]), "END_DATA_FORMAT"]
    out += [f'CREATED "{read_on}"'] if read_on else []
    out += [f"NUMBER_OF_SETS {len(rows)}", "BEGIN_DATA"]
    for row, values in zip(rows, press(builds), strict=True):
        out.append(" ".join([*row, *(f"{value:.4f}" for value in values)]))
    target.write_text("\n".join([*out, "END_DATA", ""]), "utf-8")


def some_builds(count: int = 40, seed: int = 3) -> Array:
    """Return about ``count`` builds in CMYK, no two of them alike, the bare paper first."""
    rng = np.random.default_rng(seed)
    builds = np.round(rng.uniform(0, 70, (count, 4)) * rng.choice([0.0, 1.0], (count, 4)))
    builds[0], builds[1] = 0, (100, 0, 0, 0)
    return np.unique(builds, axis=0)


def write_target(
    path: Path,
    builds: Array,
    lab: Array | None = None,
    *,
    names: str = "CMYK_C CMYK_M CMYK_Y CMYK_K",
    head: str = "",
) -> Path:
    """Write a target as CGATS text, as another program would."""
    drive = Drive.CMYK if "CMYK" in names else Drive.RGB
    lab = printed_lab(np.array(builds, dtype=float), drive) if lab is None else lab
    fields = f"SAMPLE_ID {names} LAB_L LAB_A LAB_B"
    rows = [
        " ".join([str(n), *(f"{v:g}" for v in build), *(f"{v:.3f}" for v in c)])
        for n, (build, c) in enumerate(zip(builds, lab, strict=True), start=1)
    ]
    path.write_text(
        f"CGATS.17\n{head}NUMBER_OF_FIELDS {len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n" + "\n".join(rows)
        + "\nEND_DATA\n",
        "utf-8",
    )  # fmt: skip
    return path


def write_read_csv(path: Path, sheet: SampleSheet, *, builds: bool, seed: int = 0) -> Path:
    """Write a sheet's readings as CSV, with or without its builds."""
    lines = ["SAMPLE_ID,CMYK_C,CMYK_M,CMYK_Y,CMYK_K,L*,a*,b*"]
    for swatch, lab in zip(sheet.swatches, lab_of(sheet, seed=seed).tolist(), strict=True):
        lines.append(",".join([swatch.id, *map(str, swatch.build.values), *map(str, lab)]))
    if not builds:
        lines = [",".join([*line.split(",")[:1], *line.split(",")[5:]]) for line in lines]
    path.write_text("\n".join(lines), "utf-8")
    return path


def text_tag(profile: Path, tag: bytes) -> bytes:
    """Return the text of an ICC profile's tag (ICC.1, tag type 'text')."""
    data = profile.read_bytes()
    (count,) = struct.unpack(">I", data[128:132])
    for at in range(132, 132 + 12 * count, 12):
        name, start, length = struct.unpack(">4sII", data[at : at + 12])
        if name == tag:
            assert data[start : start + 4] == b"text"
            return data[start + 8 : start + length]
    raise AssertionError(f"{profile} has no {tag!r} tag")


def as_csv(sheet: SampleSheet, readings: SheetReadings) -> str:
    """Return a sheet's readings as a spreadsheet saves them, the sheet's id in a column."""
    columns, rows = written_rows(sheet, readings)
    lines = [[SHEET_KEYWORD, *columns], *([sheet.id, *row] for row in rows)]
    return "".join(",".join(line) + "\r\n" for line in lines)


def as_json(sheet: SampleSheet, readings: SheetReadings) -> str:
    """Return a sheet's readings as JSON with the columns of ISO 28178."""
    columns, rows = written_rows(sheet, readings)
    content = {
        SHEET_KEYWORD: sheet.id,
        "INSTRUMENTATION": readings.device,
        "READ_ON": str(readings.read_on),
        "MEASUREMENT_CONDITION": readings.conditions.mode,
        "SAMPLE_BACKING": readings.conditions.backing,
        "readings": [
            {columns[0]: name, **{n: float(v) for n, v in zip(columns[1:], numbers, strict=True)}}
            for name, *numbers in rows
        ],
    }
    return json.dumps({key: told for key, told in content.items() if told})
