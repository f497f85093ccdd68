"""Whose a file of readings is, where it does not fit the sheet that it was given for."""

import shlex
from collections.abc import Iterable

from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.recording.files import ReadingsFiles
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
    if _says(_DOUBTS, taken.findings):
        owner = _owner(files, sheet, shelf)
        if owner is not None:
            raise _not_own(files, sheet, owner, same_place)
    return taken


def _owner(files: ReadingsFiles, sheet: SampleSheet, shelf: Shelf) -> SampleSheet | None:
    """Return the other sheet that files fit without any doubt; None where there is none."""
    others = [kept.sheet for kept in reversed(shelf.sheets()) if kept.sheet.id != sheet.id]
    for other in [it for it in others if it.drive is sheet.drive][:_TRIED]:
        try:
            taken = files.read(other, ())
        except InkaccordError:
            continue
        if not _says(_DOUBTS, taken.findings):
            return other
    return None


def _says(codes: set[str], findings: Iterable[Diagnostic]) -> bool:
    return any(finding.code in codes for finding in findings)


def _not_own(
    files: ReadingsFiles, sheet: SampleSheet, owner: SampleSheet, same_place: str
) -> OrderError:
    again = shlex.join(("inkaccord", "record", owner.id, *map(str, files.paths)))
    return OrderError.of(
        "wrong-sheet",
        f"these are not the readings of sheet {sheet.id}, but they fit sheet {owner.id} "
        f"({owner.pair})",
        place=Place(file=str(files.paths[0])),
        hint=f"if it is that one: {again}{same_place}",
    )
