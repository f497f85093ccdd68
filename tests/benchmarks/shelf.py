"""Time to take in a sheet of 2,376 spectral readings, step by step, and to have it back.

Run ``python tests/benchmarks/shelf.py [--json] [--quick] [--seats]``. Beside each step stands the
least that any program could do for it: splitting the text and turning it into floats; the bare
sqlite3 module filling one table; colour-science turning the same spectra into XYZ with its own
integration. The spectra are invented: smooth, of 36 bands, for random builds.

``--seats`` measures how long each of eight processes waits that record at once, of which every
second one is killed in the middle and begun again: 2,000 records of 24 swatches, on a file, and on
a server of its own where PostgreSQL is installed. Each has opened the shelf; a wait ends when the
sheet is known to be there and its reading is kept.
"""

import argparse
import datetime
import json
import os
import resource
import sqlite3
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.knowledge.evidence import joined
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings, Swatch
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.imported import imported_sheet
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.shelf.place import ShelfPlace, place_of
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size

sys.path.insert(0, str(Path(__file__).parents[1]))
from postgres_kit import PASSWORD, PG_CTL, own_server
from recorder_kit import eight_seats
from recording_kit import PAIR as RECORDED

Result = TypeVar("Result")
PAIR = Pair.parse("press@card")
NM = tuple(float(nm) for nm in range(380, 740, 10))
_DYES = np.array([(640.0, 70.0, 2.2), (540.0, 45.0, 2.0), (430.0, 50.0, 1.9), (560.0, 400.0, 2.6)])


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Return seconds of wall time and the result."""
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def invented(count: int) -> tuple[SampleSheet, SheetReadings]:
    """Return a sheet of random builds and spectra of four dyes on paper."""
    rng = np.random.default_rng(1)
    builds = np.round(rng.uniform(0, 100, (count, 4)) * rng.choice([0.3, 1.0], (count, 1)), 1)
    middle, width, strength = _DYES.T[:, :, None]
    absorbs = strength * np.exp(-0.5 * ((np.array(NM) - middle) / width) ** 2)
    spectra = 0.86 * np.exp(-(builds / 100) @ absorbs) + rng.normal(0, 5e-4, (count, len(NM)))
    lab = spectra_to_lab(spectra, NM)
    sheet = SampleSheet(
        id="BNC-H4K",
        pair=PAIR,
        drive=Drive.CMYK,
        purpose=Purpose.SWATCH_SET,
        swatches=tuple(
            Swatch(id=str(at + 1), build=Build.cmyk(*row)) for at, row in enumerate(builds.tolist())
        ),
        size=Size.parse("letter"),
        date=datetime.date(2026, 3, 14),
    )
    readings = tuple(
        Reading(swatch=s.id, lab=tuple(lab_row), spectrum=tuple(row))
        for s, lab_row, row in zip(sheet.swatches, lab.tolist(), spectra.tolist(), strict=True)
    )
    return sheet, SheetReadings(sheet=sheet.id, readings=readings, wavelengths_nm=NM)


def bare_parse(text: str) -> list[list[float]]:
    """Split the data lines and make floats of them, checking nothing."""
    body = text.split("BEGIN_DATA\n")[1].split("END_DATA", maxsplit=1)[0]
    return [[float(part) for part in line.split()] for line in body.splitlines()]


def bare_store(folder: Path, numbers: list[list[float]]) -> None:
    """Put the numbers into one table with the sqlite3 module, durably."""
    connection = sqlite3.connect(folder / "bare.sqlite")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("CREATE TABLE readings (id INTEGER PRIMARY KEY, build, lab, spectrum)")
    rows = [
        (at, *(np.array(part).tobytes() for part in (row[1:5], row[5:8], row[8:])))
        for at, row in enumerate(numbers)
    ]
    with connection:
        connection.executemany("INSERT INTO readings VALUES (?, ?, ?, ?)", rows)
    connection.close()


def others_xyz(spectra: np.ndarray) -> np.ndarray:
    """Return XYZ by colour-science's integration of an array."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it says that plotting is missing and that it aligns
        import colour

        return np.asarray(
            colour.colorimetry.msds_to_XYZ_integration(
                spectra,
                illuminant=colour.SDS_ILLUMINANTS["D50"],
                shape=colour.SpectralShape(NM[0], NM[-1], NM[1] - NM[0]),
            )
        )


def measure(count: int, folder: Path) -> dict[str, float]:
    """Return seconds of every step, and of the least that stands beside it."""
    sheet, readings = invented(count)
    times: dict[str, float] = {}
    times["write the text"], text = timed(lambda: write_cgats(sheet, readings))
    times["read the text"], tables = timed(lambda: parse_cgats(text))
    times["read the text: least"], numbers = timed(lambda: bare_parse(text))
    spectra = np.array([r.spectrum for r in readings.readings])
    spectra_to_lab(spectra[:2], NM)
    others_xyz(spectra[:2])
    times["spectra to CIELAB"], _ = timed(lambda: spectra_to_lab(spectra, NM))
    times["spectra to CIELAB: colour-science to XYZ"], _ = timed(lambda: others_xyz(spectra))
    times["match and judge"], matched = timed(lambda: match_readings(sheet, tables))
    times["describe a foreign sheet"], _ = timed(
        lambda: imported_sheet(tables, PAIR, date=sheet.date).sheet
    )
    with Shelf.open(folder / "shelf.sqlite") as shelf:
        times["keep the sheet"], _ = timed(lambda: shelf.add_sheet(sheet))
        times["keep the readings"], _ = timed(lambda: shelf.record_readings(matched.readings))
        times["keep the readings: least"], _ = timed(lambda: bare_store(folder, numbers))
        times["record again (nothing new)"], _ = timed(
            lambda: shelf.record_readings(matched.readings)
        )
        times["have all back as arrays"], found = timed(lambda: joined(shelf.readings_of(PAIR)))
        times["state of the pair"], _ = timed(lambda: shelf.state_of([PAIR]))
        times["verify"], wrong = timed(shelf.verify)
        times["export"], _ = timed(lambda: shelf.copies.export(folder / "export"))
        times["back up"], _ = timed(lambda: shelf.copies.back_up(folder / "copy.sqlite"))
        assert not wrong
        assert found is not None
        assert len(found) == count
    with Shelf.open(folder / "other.sqlite") as other:
        times["take the export in"], _ = timed(lambda: other.copies.take_in(folder / "export"))
    times["all of recording"] = sum(
        times[step]
        for step in ("read the text", "match and judge", "keep the sheet", "keep the readings")
    )
    times["file, MB"] = (folder / "copy.sqlite").stat().st_size / 1e6
    times["text, MB"] = len(text) / 1e6
    return times


def seats(count: int) -> dict[str, dict[str, float]]:
    """Return how long eight seats waited for each of their records, by where the shelf lies."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        found["a file"] = waits(Path(folder) / "shelf.sqlite", count)
    if PG_CTL:
        with own_server() as server:
            os.environ["PGPASSWORD"] = PASSWORD
            found["a server"] = waits(place_of(server.address()), count)
    return found


def waits(place: ShelfPlace, count: int) -> dict[str, float]:
    """Return seconds for a record: the median, the longest of 20, the longest; and all of it."""
    whole, waited = timed(lambda: eight_seats(place, count))
    with Shelf.open(place) as shelf:
        kept = [it.digest for it in shelf.readings_of(RECORDED)]
        assert len(kept) == len(set(kept)) == len(waited) == 8 * count
        assert shelf.verify() == ()
    median, most, longest = np.quantile(waited, [0.5, 0.95, 1.0])
    return {
        "records": len(kept),
        "median": median,
        "19 of 20": most,
        "longest": longest,
        "all": whole,
    }


def main() -> None:
    """Measure and print."""
    others_xyz(np.ones((2, len(NM))))  # so that loading it is in no step
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="a tenth of the swatches")
    parser.add_argument("--seats", action="store_true", help="eight that record at once")
    options = parser.parse_args()
    if options.seats:
        print(json.dumps(seats(25 if options.quick else 250), indent=1))
        return
    count = 240 if options.quick else 2376
    with tempfile.TemporaryDirectory() as folder:
        times = measure(count, Path(folder))
    times["most memory, MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    if options.json:
        print(json.dumps({"swatches": count, "seconds": times}, indent=1))
        return
    print(f"{count} spectral readings of {len(NM)} bands")
    for step, value in times.items():
        if ", MB" in step:
            print(f"  {step:42} {value:9.1f}")
            continue
        least = times.get(f"{step}: least") or times.get(f"{step}: colour-science to XYZ")
        beside = f"   {value / least:6.2f} × the least" if least else ""
        print(f"  {step:42} {1000 * value:9.1f} ms{beside}")


if __name__ == "__main__":
    main()
