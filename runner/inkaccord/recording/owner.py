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
    same_place: str,
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
        owner = _owner(files, sheet, shelf, by_name=False)
        if owner is None:
            raise
        raise _not_own(files, sheet, owner, same_place) from problem
    doubted = _says(_DOUBTS, taken.findings)
    own = _called_after(files, [sheet.id])
    if doubted or (not own and _called_after(files, shelf.sheet_ids())):
        owner = _owner(files, sheet, shelf, by_name=not doubted)
        if owner is not None:
            raise _not_own(files, sheet, owner, same_place, fits=not doubted)
    if not own:
        _check_not_kept(files, taken.readings, shelf, same_place)
    return taken


def _owner(
    files: ReadingsFiles, sheet: SampleSheet, shelf: Shelf, *, by_name: bool
) -> SampleSheet | None:
    """Return the other sheet that files fit without any doubt; None where there is none.

    Of those that they are called after, or else of the newest where that is not asked ``by_name``.
    """
    kept = (it.sheet for it in reversed(shelf.sheets()) if it.sheet.id != sheet.id)
    others = [it for it in kept if it.drive is sheet.drive]
    called = _called_after(files, [it.id for it in others])
    newest = [] if by_name else others[:_TRIED]
    for other in [it for it in others if it.id in called] or newest:
        try:
            taken = files.read(other, ())
        except InkaccordError:
            continue
        if not _says(_DOUBTS, taken.findings):
            return other
    return None


def _called_after(files: ReadingsFiles, ids: Iterable[str]) -> list[str]:
    """Return which sheets' ids files bear in their names.

    The swatches tell nothing apart where two stocks of one device have the same ones.
    """
    names = " ".join(path.name.upper() for path in files.paths)
    return [it for it in ids if it in names]


def _check_not_kept(
    files: ReadingsFiles, taken: SheetReadings, shelf: Shelf, same_place: str
) -> None:
    """Raise OrderError ``wrong-sheet`` where another sheet was read from these very files.

    Files that are called after their own sheet are believed. A scan may show both sheets, but then
    it gives each its own colours.
    """
    source = FilesRead.of(files.paths, map(read_bytes, files.paths))
    for kept in shelf.readings_from(source.sha256):
        other = kept.sheet
        if other.id != taken.sheet and kept.readings.readings == taken.readings:
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
