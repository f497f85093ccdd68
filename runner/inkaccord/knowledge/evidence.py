"""What is known of a pair, as the arrays that a press model is fitted to."""

import datetime
from collections.abc import Iterable, Sequence

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build
from inkaccord.colour.lab import Lab
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Reading, SampleSheet, SheetReadings
from inkaccord.shelf.kept import KeptReadings

UNSURE = 1.0
"""ΔE00 of noise from which a reading is taken for a scan's or a photograph's: it checks and
calibrates no other."""


def joined(kept: Sequence[KeptReadings]) -> Readings | None:
    """Return readings of several sheets of one pair as one set of arrays, nothing averaged.

    Each print read on its day counts as a sheet of its own: reading a sheet anew, printed or
    measured on another day, may carry another drift. Spectra are kept when every record has
    them at the same wavelengths. Returns None for no readings.

    Raises
    ------
    OrderError
        ``mixed-conditions`` or ``mixed-drive``: such readings can't be compared.
    """
    if not kept:
        return None
    first = kept[0]
    for other in kept[1:]:
        _check_comparable(first, other)
    prints: dict[tuple[str, datetime.date], int] = {}
    index = [prints.setdefault((it.readings.sheet, it.day), len(prints)) for it in kept]
    counts = [len(it.readings.readings) for it in kept]
    labs = [reading.lab for it in kept for reading in it.readings.readings]
    noise = np.repeat([it.readings.noise for it in kept], counts)
    spectra, wavelengths = _common_spectra(kept)
    stated = [record.readings.conditions for record in kept]
    return Readings(
        drive=first.sheet.drive,
        builds=np.array([build.values for build in builds_read(kept)], dtype=np.float64),
        xyz=lab_to_xyz(np.array(labs, dtype=np.float64)),
        sheet=np.repeat(index, counts),
        noise=noise,
        conditions=stated[0].model_copy(
            update={
                "mode": next((c.mode for c in stated if c.mode), None),
                "backing": next((c.backing for c in stated if c.backing), None),
            }
        ),
        spectra=spectra,
        wavelengths=wavelengths,
        scanned=noise >= UNSURE,
    )


def builds_read(kept: Iterable[KeptReadings]) -> tuple[Build, ...]:
    """Return the builds of every reading, in the order that :func:`joined` puts them in."""
    builds: list[Build] = []
    for record in kept:
        build_of = {swatch.id: swatch.build for swatch in record.sheet.swatches}
        builds += [build_of[reading.swatch] for reading in record.readings.readings]
    return tuple(builds)


def _check_comparable(first: KeptReadings, other: KeptReadings) -> None:
    if other.sheet.drive is not first.sheet.drive:
        raise OrderError.of(
            "mixed-drive",
            f"sheet {first.sheet.id} is driven in {first.sheet.drive}, sheet {other.sheet.id} "
            f"in {other.sheet.drive}; one pair is driven one way",
            hint="retire the sheet that is wrong",
        )
    if clash := first.readings.conditions.clash(other.readings.conditions):
        raise OrderError.of(
            "mixed-conditions",
            f"sheets {first.sheet.id} and {other.sheet.id} were read under different conditions "
            f"({clash}); such readings cannot be compared",
            hint="read one of them again, or retire it",
        )


def _common_spectra(
    kept: Sequence[KeptReadings],
) -> tuple[Array | None, Array | None]:
    wavelengths = kept[0].readings.wavelengths_nm
    found = [
        reading.spectrum
        for record in kept
        if record.readings.wavelengths_nm == wavelengths
        for reading in record.readings.readings
        if reading.spectrum is not None
    ]
    if wavelengths is None or len(found) < sum(len(r.readings.readings) for r in kept):
        return None, None
    return np.array(found, dtype=np.float64), np.array(wavelengths, dtype=np.float64)


def known_for(sheet: SampleSheet, kept: Sequence[KeptReadings]) -> tuple[SheetReadings, ...]:
    """Return what is known of a sheet's swatches, to check or calibrate a new reading of it by.

    ``kept`` are the pair's readings that hold today. Readings of the sheet itself come as they
    are. For builds that were read on other sheets of the pair only (the controls, above all) their
    mean is given as one more reading. What is no surer than a scan is left out: it was calibrated
    itself, and would teach in a circle.
    """
    kept = [record for record in kept if record.readings.noise < UNSURE]
    own = tuple(record.readings for record in kept if record.sheet.id == sheet.id)
    read = {reading.swatch for readings in own for reading in readings.readings}
    elsewhere: dict[Build, list[Lab]] = {}
    for record in kept:
        if record.sheet.id != sheet.id:
            for build, reading in zip(builds_read([record]), record.readings.readings, strict=True):
                elsewhere.setdefault(build, []).append(reading.lab)
    borrowed = tuple(
        Reading(swatch=swatch.id, lab=tuple(np.mean(elsewhere[swatch.build], axis=0).tolist()))
        for swatch in sheet.swatches
        if swatch.id not in read and swatch.build in elsewhere
    )
    return (*own, SheetReadings(sheet=sheet.id, readings=borrowed)) if borrowed else own
