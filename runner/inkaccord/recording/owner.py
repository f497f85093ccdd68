"""Whose a file of readings is, where it does not fit the sheet that it was given for."""

import shlex
from collections.abc import Iterable

from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import read_bytes
from inkaccord.recording.files import ReadingsFiles
from inkaccord.recording.intake import FilesRead
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.formats import ReadingsTaken
from inkaccord.shelf.store import Shelf

_ANOTHERS = {"wrong-sheet", "wrong-build", "missing-swatches", "swapped-rows", "other-order"}
"""What is said of a file that may well be of another sheet."""
_DOUBTS = {"extra-rows", "odd-reading"}
"""What is said of a file that may be of another sheet although it can be read as this one's."""
_TRIED = 12
"""Sheets, the newest first, that a file is held against."""


def read_as_own(
    files: ReadingsFiles,
    sheet: SampleSheet,
    known: tuple[SheetReadings, ...],
    shelf: Shelf,
    *,
    same_place: str = "",
) -> ReadingsTaken:
    """Read files as a sheet's; where they are another's by mistake, say whose.

    ``same_place`` is what a command on the screen adds to be about the same shelf. Raises as the
    form does, or OrderError ``wrong-sheet``.
    """
    try:
        taken = files.read(sheet, known)
    except OrderError as problem:
        told = any("inkaccord record" in (finding.hint or "") for finding in problem.findings)
        if told or not _says(_ANOTHERS, problem.findings):
            raise
        owner = _owner(files, sheet, shelf)
        if owner is None:
            raise
        raise _not_own(files, sheet, owner, same_place) from problem
    doubted = _says(_DOUBTS, taken.findings)
    others = _others(sheet, shelf)
    own = _called_after(files, [sheet])
    if doubted or (not own and _called_after(files, others)):
        owner = _owner(files, sheet, shelf)
        if owner is not None:
            raise _not_own(files, sheet, owner, same_place, fits=not doubted)
    if not own:
        _check_not_kept(files, taken.readings, others, shelf, same_place)
    return taken


def _owner(files: ReadingsFiles, sheet: SampleSheet, shelf: Shelf) -> SampleSheet | None:
    """Return the other sheet that files fit without any doubt; None where there is none."""
    others = _others(sheet, shelf)
    for other in _called_after(files, others) or others[:_TRIED]:
        try:
            taken = files.read(other, ())
        except InkaccordError:
            continue
        if not _says(_DOUBTS, taken.findings):
            return other
    return None


def _others(sheet: SampleSheet, shelf: Shelf) -> list[SampleSheet]:
    """Return the other sheets of the same drive, the newest first."""
    others = [kept.sheet for kept in reversed(shelf.sheets()) if kept.sheet.id != sheet.id]
    return [it for it in others if it.drive is sheet.drive]


def _called_after(files: ReadingsFiles, sheets: Iterable[SampleSheet]) -> list[SampleSheet]:
    """Return the sheets whose ids files bear in their names.

    The swatches tell nothing apart where two stocks of one device have the same ones.
    """
    names = " ".join(path.name.upper() for path in files.paths)
    return [it for it in sheets if it.id in names]


def _check_not_kept(
    files: ReadingsFiles,
    taken: SheetReadings,
    others: Iterable[SampleSheet],
    shelf: Shelf,
    same_place: str,
) -> None:
    """Raise OrderError ``wrong-sheet`` where another sheet was read from these very files.

    Files that are called after their own sheet are believed. A scan may show both sheets, but then
    it gives each its own colours.
    """
    source = FilesRead.of(files.paths, map(read_bytes, files.paths))
    for other in list(others)[:_TRIED]:
        for kept in shelf.readings_of_sheet(other.id):
            if kept.source_sha256 == source.sha256 and kept.readings.readings == taken.readings:
                undo = ("inkaccord", "shelf", "retire", other.id, "--readings", kept.digest[:8])
                raise OrderError.of(
                    "wrong-sheet",
                    f"sheet {other.id} ({other.pair}) was read from this very file: "
                    f"it can't be of sheet {taken.sheet} too",
                    place=Place(file=str(files.paths[0])),
                    hint=f"give the file of this sheet; or, if {other.id} got it by mistake, "
                    f"take it back: {shlex.join(undo)}{same_place}",
                )


def _says(codes: set[str], findings: Iterable[Diagnostic]) -> bool:
    return any(finding.code in codes for finding in findings)


def _not_own(
    files: ReadingsFiles,
    sheet: SampleSheet,
    owner: SampleSheet,
    same_place: str,
    *,
    fits: bool = False,
) -> OrderError:
    again = shlex.join(("inkaccord", "record", owner.id, *map(str, files.paths)))
    own = f"sheet {owner.id} ({owner.pair})"
    return OrderError.of(
        "wrong-sheet",
        f"the file is called after {own}, and fits it as well as sheet {sheet.id}"
        if fits
        else f"these are not the readings of sheet {sheet.id}, but they fit {own}",
        place=Place(file=str(files.paths[0])),
        hint=f"if it is that one: {again}{same_place}"
        + (f"; if it is {sheet.id} after all, call the file so" if fits else ""),
    )
