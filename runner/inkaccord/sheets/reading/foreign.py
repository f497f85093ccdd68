"""A printed target that was not drawn here, such as a characterisation set: checked as a whole."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.cgats import BOOK_KEYWORD, ORIGINATOR
from inkaccord.sheets.reading.columns import MOST_FINDINGS, Table
from inkaccord.sheets.reading.imported import Imported
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.words import quoted

_MOST_NAMED = 8
_REPEATS_WITHIN = 2.0
"""ΔE00 from their mean that repeated builds usually keep to on one print."""
_NOT_ONE_BUILD = 6.0
"""ΔE00 from it beyond which two readings can't be of one build."""


@dataclass(frozen=True)
class Foreign:
    """A target as a sheet of its pair, its readings, and what is worth saying about them."""

    sheet: SampleSheet
    readings: SheetReadings
    findings: tuple[Diagnostic, ...]


def match_foreign(
    target: Imported,
    tables: Sequence[Table],
    *,
    drive: Drive | None,
    ink_limit: float | None,
    known: Sequence[SheetReadings],
) -> Foreign:
    """Take the readings of a target that its own files describe, for what its pair prints.

    Parameters
    ----------
    target
        What :func:`~inkaccord.sheets.reading.imported.imported_sheet` made of the tables.
    tables
        Of its files: CMYK in percent or RGB 0 to 255, or on a scale that can be told, with a
        colour for each.
    drive
        How the pair is driven, where that is known.
    ink_limit
        The pair's total ink in percent, where that is known.
    known
        Earlier readings of the same builds, to compare with.

    Raises
    ------
    OrderError
        Those of :func:`~inkaccord.sheets.reading.sheet.match_readings`; ``wrong-drive``;
        ``own-sheet`` for the table of a sheet that was drawn here; ``repeat-differs`` for one
        build with two colours.
    """
    file = Place(file=tables[0].file or None)
    sheet = target.sheet
    _check_drive(sheet, drive, file)
    _check_not_ours(sheet, tables, file)
    matched = match_readings(sheet, tables, known=known)
    labs = np.array([reading.lab for reading in matched.readings.readings])
    findings = (
        *target.findings,
        *(it for it in matched.findings if it.code != "matched-by-order"),
        *_repeats(sheet, labs, file),
        *_over_limit(sheet, ink_limit, file),
    )
    return Foreign(sheet, matched.readings, findings)


def _check_drive(sheet: SampleSheet, drive: Drive | None, file: Place) -> None:
    if drive is not None and sheet.drive is not drive:
        raise OrderError.of(
            "wrong-drive",
            f"the file's builds are {sheet.drive.upper()}, but {sheet.pair} is driven in "
            f"{drive.upper()}",
            place=file,
            hint="record it for the pair that it was printed on; another driver setting is "
            "another pair, device@stock/setting",
        )


def _check_not_ours(sheet: SampleSheet, parts: Sequence[Table], file: Place) -> None:
    """Refuse a file of a sheet that was drawn here: it has an id of its own."""
    if any(table.keyword(BOOK_KEYWORD) for table in parts):
        raise OrderError.of(
            "own-book",
            "the file is of the studio's book: it holds aims, and no readings",
            place=file,
            hint="record what an instrument read of a printed sheet",
        )
    said = next((s for table in parts if (s := table.keyword("SHEET_ID"))), None)
    ours = any(table.keyword("ORIGINATOR") == ORIGINATOR for table in parts)
    if ours and said and said.upper() != sheet.id.upper():
        raise OrderError.of(
            "own-sheet",
            f"the file is of sheet {said}, which was drawn here",
            place=file,
            hint=f"record it with 'inkaccord record {quoted(said)} FILE'",
        )


def _repeats(sheet: SampleSheet, labs: Array, file: Place) -> list[Diagnostic]:
    """Compare the swatches of one build with each other. Raises for what can't be one build."""
    rows: defaultdict[Build, list[int]] = defaultdict(list)
    for at, swatch in enumerate(sheet.swatches):
        rows[swatch.build].append(at)
    several = {build: own for build, own in rows.items() if len(own) > 1}
    apart = {
        build: float(delta_e_2000(labs[own].mean(axis=0), labs[own]).max())
        for build, own in several.items()
    }
    refused = [
        error(
            "repeat-differs",
            f"{build} stands {len(several[build])} times in the file "
            f"({_named(sheet, several[build])}), with colours up to {far:.1f} ΔE00 from their mean",
            place=file,
            hint="read these swatches again, or take the wrong rows out",
        )
        for build, far in apart.items()
        if far > _NOT_ONE_BUILD
    ]
    if refused:
        raise OrderError(refused[:MOST_FINDINGS])
    findings: list[Diagnostic] = []
    if several:
        worst = max(apart, key=lambda build: apart[build])
        text = (
            f"{len(several)} build{'s stand' if len(several) > 1 else ' stands'} in the file more "
            f"than once; every reading is kept. They differ most for {worst} "
            f"({_named(sheet, several[worst])}): {apart[worst]:.1f} ΔE00 from the mean"
        )
        make = warning if apart[worst] > _REPEATS_WITHIN else note
        findings.append(make("repeated-builds", text, place=file))
    return findings


def _over_limit(sheet: SampleSheet, ink_limit: float | None, file: Place) -> list[Diagnostic]:
    if ink_limit is None or sheet.drive is not Drive.CMYK:
        return []
    over = [
        at
        for at, swatch in enumerate(sheet.swatches)
        if (swatch.build.total_ink or 0.0) > ink_limit + 1e-6
    ]
    if not over:
        return []
    carry = "swatch carries" if len(over) == 1 else "swatches carry"
    return [
        warning(
            "over-ink-limit",
            f"{len(over)} {carry} more than the {ink_limit:g} % of ink that the pair takes: "
            f"{_named(sheet, over)}; their readings are kept, such builds are never printed",
            place=file,
            hint="if the device scales ink back above its limit, take these rows out: they then "
            "say nothing of their builds",
        )
    ]


def _named(sheet: SampleSheet, rows: Sequence[int]) -> str:
    more = f" and {len(rows) - _MOST_NAMED} more" if len(rows) > _MOST_NAMED else ""
    return ", ".join(sheet.swatches[at].id for at in rows[:_MOST_NAMED]) + more
