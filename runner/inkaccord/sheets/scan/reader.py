"""From the pictures of a scan to the readings of a sheet."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Reading, SampleSheet, SheetReadings
from inkaccord.sheets.reading.sheet import Matched
from inkaccord.sheets.scan.calibration import Calibration, calibrate
from inkaccord.sheets.scan.picture import ScannedPicture
from inkaccord.sheets.scan.scanned import ScannedSheet, scan_sheet

Mask = NDArray[np.bool_]
PHOTOGRAPHED = 1.0
"""Root mean square ΔE00 that a photograph adds: of its light something is left, and its tone curve
bends what is lit otherwise (``tests/benchmarks/photographs.py``)."""


def read_scan(
    pictures: Sequence[ScannedPicture], sheet: SampleSheet, known: Sequence[SheetReadings]
) -> Matched:
    """Return the readings of a scanned sheet, calibrated on its known swatches.

    Only swatches without a known reading are given: the others taught the calibration, so they
    are no news. The noise is what leaving each known swatch out in turn missed it by.

    Parameters
    ----------
    known
        Readings of swatches of this sheet: an instrument's of the sheet itself, or of the same
        builds on other sheets of the pair (the controls).

    Raises
    ------
    OrderError
        As :func:`scan_sheet`; ``pages-missing`` when a page is not in the scan whose swatches are
        not all known, ``scan-uncalibrated`` when no swatch is known, ``too-few-known``,
        ``nothing-new`` when all of them are, ``bad-calibration`` when the known readings and the
        scan contradict each other.
    """
    scanned = scan_sheet(pictures, sheet)
    file = Place(file=pictures[0].name)
    _refuse_part(scanned, known, file)
    taught = known_lab(scanned.ids, known)
    is_known = np.asarray(np.isfinite(taught).all(axis=1))
    seen_beside = _beside_finding(scanned, file)
    if not is_known.any():
        uncalibrated = error(
            "scan-uncalibrated",
            f"no swatch of sheet {sheet.id} has a known reading, so this scan cannot tell colours; "
            "it can only compare what is scanned together",
            place=file,
            hint="record an instrument's reading of one sheet of this pair: its controls then "
            "calibrate every scan; or lay a sheet beside it that an instrument has read, best one "
            f"in the same inks: 'inkaccord record {sheet.id} SCAN --beside SHEET'; or scan two "
            "sheets together and 'inkaccord compare' them",
        )
        raise OrderError([uncalibrated, *seen_beside])
    if is_known.all():
        raise OrderError.of(
            "nothing-new",
            f"every swatch of sheet {sheet.id} in this scan has been read already",
            place=file,
        )
    calibration = calibrate(scanned.linear[is_known], taught[is_known])
    findings = [
        *scanned.findings,
        *_trust(calibration, taught[is_known], file),
        *_stretched(scanned, calibration, ~is_known, file),
        *seen_beside,
    ]
    readings = _readings(scanned, calibration, ~is_known, "its own swatches")
    return Matched(readings, tuple(findings))


def read_scan_beside(
    pictures: Sequence[ScannedPicture],
    sheet: SampleSheet,
    beside: SampleSheet,
    known: Sequence[SheetReadings],
) -> Matched:
    """Return the readings of every swatch of a sheet, calibrated on another sheet in the scan.

    The sheet's own controls teach nothing here, so they tell whether the device has drifted.

    Parameters
    ----------
    beside
        The sheet that the calibration is made on: the very print that was read.
    known
        Readings of it.

    Raises
    ------
    OrderError
        As :func:`scan_sheet` for either sheet; ``scan-uncalibrated`` when nothing is known of the
        other one, ``too-few-known``, ``bad-calibration``; ``photographed-beside``.
    """
    file = Place(file=pictures[0].name)
    reference = scan_sheet(pictures, beside)
    scanned = scan_sheet(pictures, sheet)
    taught = known_lab(reference.ids, known)
    is_known = np.asarray(np.isfinite(taught).all(axis=1))
    if not is_known.any():
        raise OrderError.of(
            "scan-uncalibrated",
            f"nothing is known of sheet {beside.id} as it lies there, so it cannot teach the scan",
            place=file,
            hint=f"read sheet {beside.id} with an instrument and record that first",
        )
    if scanned.photographed or reference.photographed:
        raise OrderError.of(
            "photographed-beside",
            "this is a photograph: the light on the one sheet is not that on the other",
            place=file,
            hint=f"lay both on a scanner's glass; or photograph sheet {sheet.id} alone, and record "
            "it without the other: its controls then tell its colours",
        )
    calibration = calibrate(reference.linear[is_known], taught[is_known])
    every = np.full(len(scanned.ids), True)
    findings = [
        *reference.findings,
        *scanned.findings,
        *_other_device(sheet, beside, file),
        *_trust(calibration, taught[is_known], file),
        *_stretched(scanned, calibration, every, file),
    ]
    readings = _readings(scanned, calibration, every, f"sheet {beside.id} beside it")
    return Matched(readings, tuple(findings))


def _other_device(sheet: SampleSheet, beside: SampleSheet, file: Place) -> list[Diagnostic]:
    """Warn of a sheet from another device: which inks that prints with nobody has said."""
    if sheet.pair.device == beside.pair.device:
        return []
    return [
        warning(
            "another-device-beside",
            f"sheet {beside.id} is of {beside.pair.device}, and sheet {sheet.id} of "
            f"{sheet.pair.device}: a scanner sees other inks otherwise than the eye does, and the "
            "stated uncertainty does not hold that",
            place=file,
            hint=f"unless both print with the same inks, lay a sheet of {sheet.pair.device} beside "
            "it that an instrument has read",
        )
    ]


def _refuse_part(scanned: ScannedSheet, known: Sequence[SheetReadings], file: Place) -> None:
    """Refuse a scan that lacks pages which nothing is known of.

    The controls stand on one page alone and calibrate the others, so a page by itself could not be
    read later.
    """
    sheet = scanned.sheet
    read = {reading.swatch for it in known for reading in it.readings}
    missing = sorted(
        {it.page for it in sheet.swatches if it.page not in scanned.pages and it.id not in read}
    )
    if not missing:
        return
    every = " ".join(f"PAGE-{page}" for page in range(1, sheet.pages + 1))
    raise OrderError.of(
        "pages-missing",
        f"the scan shows {_pages(scanned.pages)} of the {sheet.pages} of sheet {sheet.id}; nothing "
        f"is recorded while {_pages(missing)} {'is' if len(missing) == 1 else 'are'} missing",
        place=file,
        hint=f"give the scans of all pages at once: inkaccord record {sheet.id} {every}",
    )


def _pages(numbers: Sequence[int]) -> str:
    return f"page{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def _readings(
    scanned: ScannedSheet, calibration: Calibration, wanted: Mask, taught_by: str
) -> SheetReadings:
    lab, noise = calibration.lab(scanned.linear), calibration.noise(scanned.linear[wanted])
    return SheetReadings(
        sheet=scanned.sheet.id,
        readings=tuple(
            Reading(swatch=scanned.ids[int(at)], lab=tuple(lab[at].tolist()))
            for at in np.flatnonzero(wanted)
        ),
        noise=round(float(np.hypot(noise, PHOTOGRAPHED * scanned.photographed)), 2),
        device=f"{'photograph' if scanned.photographed else 'flatbed scan'}, calibrated on "
        f"{taught_by}",
    )


def known_lab(ids: Sequence[str], known: Sequence[SheetReadings]) -> Array:
    """Return (n, 3) mean known CIELAB of swatches, NaN where nothing is known."""
    labs: dict[str, list[Lab]] = {}
    for readings in known:
        for reading in readings.readings:
            labs.setdefault(reading.swatch, []).append(reading.lab)
    rows = [np.mean(labs[i], axis=0) if i in labs else np.full(3, np.nan) for i in ids]
    return np.array(rows).reshape(-1, 3)


def _trust(calibration: Calibration, taught: Array, file: Place) -> list[Diagnostic]:
    """Say how good the calibration on (n, 3) known colours is. Raises when it is useless."""
    missed = delta_e_2000(taught, calibration.left_out)
    if float(np.median(missed)) > 8.0:
        raise OrderError.of(
            "bad-calibration",
            f"the known readings and the scan contradict each other (median {np.median(missed):.1f}"
            " ΔE00 over the known swatches)",
            place=file,
            hint="check that the sheet is of this pair, and scan without automatic correction",
        )
    return [
        note(
            "scan-calibrated",
            f"calibrated on {len(taught)} known swatches; a swatch left out was missed "
            f"by {np.median(missed):.1f} ΔE00 (median), {missed.max():.1f} at most",
            place=file,
        )
    ]


def _stretched(
    scanned: ScannedSheet, calibration: Calibration, wanted: Mask, file: Place
) -> list[Diagnostic]:
    """Name the swatches that lie outside the colours that the calibration knows."""
    beyond = calibration.outside(scanned.linear) & wanted
    if not beyond.any():
        return []
    names = [scanned.ids[int(at)] for at in np.flatnonzero(beyond)]
    return [
        warning(
            "beyond-calibration",
            f"{', '.join(names[:12])}: outside the colours that are known, so less sure",
            place=file,
            hint="read these swatches with an instrument, or judge them by eye",
        )
    ]


def _beside_finding(scanned: ScannedSheet, file: Place) -> list[Diagnostic]:
    """Say that a thing lies beside the sheet, and how it is compared."""
    if scanned.beside is None:
        return []
    if not scanned.beside.one_colour:
        said = "something lies beside the sheet, but it is not of one colour"
        return [note("object-beside", said, place=file)]
    return [
        note(
            "object-beside",
            "a thing of one colour lies beside the sheet",
            place=file,
            hint="to find the build that looks like it: inkaccord record "
            f"{scanned.sheet.id} SCAN --thing COLOUR",
        )
    ]
