"""From the pictures of a scan to the readings of a sheet."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Reading, SampleSheet, SheetReadings
from inkaccord.sheets.reading import Matched
from inkaccord.sheets.scan.beside import Beside, nearest, object_beside
from inkaccord.sheets.scan.calibration import Calibration, assumed_lab, calibrate
from inkaccord.sheets.scan.picture import Picture
from inkaccord.sheets.scan.sampling import sample_swatches
from inkaccord.sheets.scan.squaring import FoundCode, find_codes, square

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_COARSE_PX_PER_MM = 5.5
"""Below about 140 dpi a scan is said to be coarse."""
_UNEVEN = 0.06
_DIRTY = 0.25
_CLIPPED = 0.2


@dataclass(frozen=True, eq=False)
class ScannedSheet:
    """The swatches of one sheet as a scan shows them, before any calibration.

    Attributes
    ----------
    ids
        The swatches found, n of them.
    linear
        (n, 3) mean linear RGB.
    pages
        The pages that the scan holds.
    beside
        An object that lies beside the sheet, if one does.
    findings
        What to look at: dirt, clipping, coarse resolution, missing pages.
    """

    sheet: SampleSheet
    ids: tuple[str, ...]
    linear: Array
    pages: tuple[int, ...]
    beside: Beside | None
    findings: tuple[Diagnostic, ...]


def scan_sheet(pictures: Sequence[Picture], sheet: SampleSheet) -> ScannedSheet:
    """Find a sheet in the pictures of a scan and average its swatches.

    Raises
    ------
    OrderError
        ``code-not-found``, ``wrong-sheet``, ``page-twice``, ``marks-not-found``.
    """
    if sheet.live_pt is None:
        raise OrderError.of(
            "not-drawn-here",
            f"sheet {sheet.id} was not drawn here, so a scan of it cannot be found its way in",
            hint="record it from an instrument's file instead",
        )
    codes = [(picture, code) for picture in pictures for code in find_codes(picture)]
    own = [(p, code) for p, code in codes if code.sheet.upper() == sheet.id.upper()]
    if not own:
        raise _not_found(pictures, sheet, [code for _, code in codes])
    ids: list[str] = []
    rows: list[Array] = []
    findings: list[Diagnostic] = []
    pages: list[int] = []
    beside: Beside | None = None
    for picture, code in sorted(own, key=lambda pair: pair[1].page):
        if code.page in pages:
            raise OrderError.of(
                "page-twice",
                f"page {code.page} of sheet {sheet.id} is in the scan twice",
                place=Place(file=picture.name),
                hint="scan every page once",
            )
        pages.append(code.page)
        squared = square(picture, sheet, code)
        sampled = sample_swatches(sheet, squared)
        if sum(other is picture for other, _ in codes) == 1:  # another sheet is no object
            beside = beside or object_beside(sheet, squared)
        ids += sampled.ids
        rows.append(sampled.linear)
        place = Place(file=picture.name)
        if squared.px_per_mm < _COARSE_PX_PER_MM:
            findings.append(
                warning(
                    "coarse-scan",
                    f"the scan has about {squared.px_per_mm * 25.4:.0f} dpi",
                    place=place,
                    hint="scan at 300 dpi",
                )
            )
        for code_name, values, limit, what, mend in (
            ("dirty-swatch", sampled.dropped, _DIRTY, "dirt or scratches were left out", "clean"),
            ("uneven-swatch", sampled.uneven, _UNEVEN, "the colour is uneven", "look at"),
            ("clipped-scan", sampled.clipped, _CLIPPED, "the scanner's range ends", "rescan"),
        ):
            wrong = [i for i, v in zip(sampled.ids, values, strict=True) if v > limit]
            if wrong:
                findings.append(
                    warning(
                        code_name,
                        f"{', '.join(wrong[:12])}: {what}",
                        place=place,
                        hint=_MEND[mend],
                    )
                )
    missing = sorted(set(range(1, sheet.pages + 1)) - set(pages))
    if missing:
        findings.append(
            warning(
                "pages-missing",
                f"page {', '.join(map(str, missing))} of sheet {sheet.id} is not in the scan",
                hint="scan and record it as well",
            )
        )
    return ScannedSheet(sheet, tuple(ids), np.vstack(rows), tuple(pages), beside, tuple(findings))


_MEND = {
    "clean": "clean the glass and the sheet, and scan again",
    "look at": "look at the print: banding and mottling make a swatch uncertain",
    "rescan": "scan without automatic exposure, contrast or colour restoration",
}


def _not_found(
    pictures: Sequence[Picture], sheet: SampleSheet, codes: Sequence[FoundCode]
) -> OrderError:
    place = Place(file=pictures[0].name if pictures else None)
    if codes:
        names = ", ".join(sorted({code.sheet for code in codes}))
        return OrderError.of(
            "wrong-sheet",
            f"the scan shows sheet {names}, not {sheet.id}",
            place=place,
            hint=f"record it with 'inkaccord record {names} …'",
        )
    return OrderError.of(
        "code-not-found",
        f"no sheet's 2D code can be read in the scan, so {sheet.id} is not found",
        place=place,
        hint="scan the whole sheet at 300 dpi, in colour, with its code uncovered and clean",
    )


def read_scan(
    pictures: Sequence[Picture], sheet: SampleSheet, known: Sequence[SheetReadings]
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
        As :func:`scan_sheet`; ``scan-uncalibrated`` when no swatch is known, ``too-few-known``,
        ``nothing-new`` when all of them are, ``bad-calibration`` when the known readings and the
        scan contradict each other.
    """
    scanned = scan_sheet(pictures, sheet)
    file = Place(file=pictures[0].name)
    taught = known_lab(scanned.ids, known)
    is_known = np.asarray(np.isfinite(taught).all(axis=1))
    seen_beside = _beside_finding(scanned, file)
    if not is_known.any():
        uncalibrated = error(
            "scan-uncalibrated",
            f"no swatch of sheet {sheet.id} has a known reading, so this scan cannot tell colours; "
            "it can only compare what is scanned together",
            place=file,
            hint="record an instrument's reading of one sheet of this pair; its controls then "
            "calibrate every scan",
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
        *_trust(scanned, calibration, taught, is_known, file),
        *seen_beside,
    ]
    lab = calibration.lab(scanned.linear)
    new = np.flatnonzero(~is_known)
    return Matched(
        SheetReadings(
            sheet=sheet.id,
            readings=tuple(
                Reading(swatch=scanned.ids[int(at)], lab=tuple(lab[at].tolist())) for at in new
            ),
            noise=round(calibration.noise, 2),
            device="flatbed scan, calibrated on its own swatches",
        ),
        tuple(findings),
    )


def known_lab(ids: Sequence[str], known: Sequence[SheetReadings]) -> Array:
    """Return (n, 3) mean known CIELAB of swatches, NaN where nothing is known."""
    labs: dict[str, list[tuple[float, float, float]]] = {}
    for readings in known:
        for reading in readings.readings:
            labs.setdefault(reading.swatch, []).append(reading.lab)
    rows = [np.mean(labs[i], axis=0) if i in labs else np.full(3, np.nan) for i in ids]
    return np.array(rows).reshape(-1, 3)


def _trust(
    scanned: ScannedSheet, calibration: Calibration, taught: Array, is_known: Mask, file: Place
) -> list[Diagnostic]:
    """Say how good the calibration is, and where it is stretched. Raises when it is useless."""
    missed = delta_e_2000(taught[is_known], calibration.left_out)
    if float(np.median(missed)) > 8.0:
        raise OrderError.of(
            "bad-calibration",
            f"the known readings and the scan contradict each other (median {np.median(missed):.1f}"
            " ΔE00 over the known swatches)",
            place=file,
            hint="check that the sheet is of this pair, and scan without automatic correction",
        )
    findings = [
        note(
            "scan-calibrated",
            f"calibrated on {calibration.known_count} known swatches; a swatch left out was missed "
            f"by {np.median(missed):.1f} ΔE00 (median), {missed.max():.1f} at most",
            place=file,
        )
    ]
    beyond = calibration.outside(scanned.linear) & ~is_known
    if beyond.any():
        names = [scanned.ids[int(at)] for at in np.flatnonzero(beyond)]
        findings.append(
            warning(
                "beyond-calibration",
                f"{', '.join(names[:12])}: outside the colours that are known, so less sure",
                place=file,
                hint="read these swatches with an instrument, or judge them by eye",
            )
        )
    return findings


def _beside_finding(scanned: ScannedSheet, file: Place) -> list[Diagnostic]:
    """Say which swatches an object beside the sheet comes nearest to, as a pick to be judged."""
    if scanned.beside is None:
        return []
    if not scanned.beside.one_colour:
        said = "something lies beside the sheet, but it is not of one colour"
        return [note("object-beside", said, place=file)]
    near = nearest(scanned.ids, scanned.linear, scanned.beside)
    listed = ", ".join(f"{one.swatch} ({one.delta_e_00:.1f})" for one in near)
    return [
        note(
            "object-beside",
            f"the object beside the sheet looks to the scanner most like {listed}; in brackets "
            "how far, in ΔE00",
            place=file,
            hint="a scanner does not see as the eye does: look, and if it holds, record "
            f"--pick COLOUR={near[0].swatch}",
        )
    ]


@dataclass(frozen=True)
class Comparison:
    """How far two swatches of one scan lie apart: ΔE00 between what the scanner saw."""

    one: str
    other: str
    delta_e_00: float


def compare(one: ScannedSheet, other: ScannedSheet) -> tuple[Comparison, ...]:
    """Compare the swatches of equal build on two sheets that were scanned together.

    No calibration is needed, as one scanner sees both alike; the distances are rough (its RGB is
    taken for sRGB) and mean nothing across scans.
    """
    build_of = [{s.id: s.build for s in scanned.sheet.swatches} for scanned in (one, other)]
    lab = [assumed_lab(scanned.linear) for scanned in (one, other)]
    at_build = {build_of[1][name]: at for at, name in enumerate(other.ids)}
    return tuple(
        Comparison(name, other.ids[there], float(delta_e_2000(lab[0][at], lab[1][there])))
        for at, name in enumerate(one.ids)
        if (there := at_build.get(build_of[0][name])) is not None
    )
