"""Reading files of readings with the formats that plugins offer, and whose they are."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.errors import FileError, InkaccordError, OrderError

if TYPE_CHECKING:
    from inkaccord.hooks import ReadingsTaken
    from inkaccord.sheets.model import SampleSheet, SheetReadings
    from inkaccord.shelf.store import Shelf

    _Read = Callable[[SampleSheet, tuple[SheetReadings, ...]], ReadingsTaken]
    """A format's reading of given files as a sheet's, by what is known of it."""


def read_files(
    settings: Settings,
    store: "Shelf",
    sheet: "SampleSheet",
    files: Sequence[Path],
    beside_id: str | None,
    tolerance: float,
) -> "ReadingsTaken":
    """Read files as one reading of a sheet, with the first format that recognises them all.

    ``beside_id`` is the sheet that lies beside it in a scan and whose readings are known,
    ``tolerance`` the drift that the pair's device allows.
    Raises InkaccordError.
    """
    from inkaccord.hooks import (  # noqa: PLC0415
        BesideFormat,
        PagesFormat,
        ReadingsFormat,
        ReadingsTaken,
    )
    from inkaccord.knowledge.evidence import known_for  # noqa: PLC0415 - after parsing

    heads = {file: _head(file) for file in files}
    plugins = settings.outside
    formats = plugins.each("inkaccord_readings_formats", None)
    for plugin, form in formats:
        if not isinstance(form, ReadingsFormat):
            continue
        with plugins.blaming(plugin, form.name):
            if not all(form.recognises(file, head) for file, head in heads.items()):
                continue
            if beside_id is not None:
                if len(files) > 1 or not isinstance(form, BesideFormat):
                    raise OrderError.of(
                        "no-scan",
                        f"{files[-1]} is no scan of two sheets, as --beside needs one",
                        hint="leave --beside out; an instrument's file holds the controls anyway",
                    )
                beside = store.sheet(beside_id)
                known = known_for(beside, store.readings_of_sheet(beside.id))
                taken = form.read_beside(files[0], sheet, beside, known)
            elif len(files) == 1:
                taken = _read_or_owner(partial(form.read, files[0]), files, sheet, store, tolerance)
            elif isinstance(form, PagesFormat):
                read = partial(form.read_pages, files)
                taken = _read_or_owner(read, files, sheet, store, tolerance)
            else:
                raise OrderError.of(
                    "one-file",
                    f"readings in the form '{form.name}' are taken from one file at a time",
                    hint="join the files into one",
                )
            if not isinstance(taken, ReadingsTaken):
                raise TypeError(f"gave {type(taken).__name__}, not ReadingsTaken")
            return taken
    for file, head in heads.items():
        if not head:
            raise OrderError.of("no-data", f"{file} is empty", hint="export the readings again")
    names = ", ".join(form.name for _, form in formats)
    spreadsheet = any(it.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")) for it in heads.values())
    listed = ", ".join(str(file) for file in files)
    raise OrderError.of(
        "unknown-readings",
        f"{listed} {'is' if len(files) == 1 else 'are'} in no form that is known here ({names})",
        hint="save the spreadsheet as CSV, with the column names in its first row"
        if spreadsheet
        else "save the readings as CGATS text or CSV with a column SAMPLE_ID",
    )


_ANOTHERS = {"wrong-sheet", "wrong-build", "missing-swatches", "swapped-rows", "other-order"}
"""What is said of a file that may well be of another sheet."""
_DOUBTS = {"extra-rows", "odd-reading"}
"""What is said of a file that may be of another sheet although it can be read as this one's."""
_TRIED = 12


def _read_or_owner(
    read: "_Read", files: Sequence[Path], sheet: "SampleSheet", store: "Shelf", tolerance: float
) -> "ReadingsTaken":
    """Read files as a sheet's; if they are another's by mistake, say whose.

    Raises as the format does, or ``wrong-sheet``.
    """
    try:
        taken = read(sheet, known_of(store, sheet, tolerance))
    except OrderError as problem:
        told = any("inkaccord record" in (finding.hint or "") for finding in problem.findings)
        if told or not _ANOTHERS & {finding.code for finding in problem.findings}:
            raise
        if (owner := _owner(read, files, sheet, store)) is None:
            raise
        raise owner from problem
    if _DOUBTS & {finding.code for finding in taken.findings}:
        owner = _owner(read, files, sheet, store)
        if owner is not None:
            raise owner
    return taken


def _owner(
    read: "_Read", files: Sequence[Path], sheet: "SampleSheet", store: "Shelf"
) -> OrderError | None:
    """Say which other sheet files fit without any doubt; None where there is none."""
    from inkaccord.diagnostics import Place  # noqa: PLC0415 - after parsing

    others = [it.sheet for it in reversed(store.sheets()) if it.sheet.id != sheet.id]
    for other in [it for it in others if it.drive is sheet.drive][:_TRIED]:
        try:
            taken = read(other, ())
        except InkaccordError:
            continue
        if _DOUBTS & {finding.code for finding in taken.findings}:
            continue
        return OrderError.of(
            "wrong-sheet",
            f"these are not the readings of sheet {sheet.id}, but they fit sheet {other.id} "
            f"({other.pair})",
            place=Place(file=str(files[0])),
            hint=f"if it is that one: inkaccord record {other.id} "
            + " ".join(str(file) for file in files),
        )
    return None


def _head(file: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            return stream.read(4096)
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read {file}: {problem.strerror or problem}",
            hint="check that it exists and that you may read it",
        ) from problem


def known_of(store: "Shelf", sheet: "SampleSheet", tolerance: float) -> "tuple[SheetReadings, ...]":
    """Return what is known of a sheet's swatches today."""
    from inkaccord.knowledge.course import known_today  # noqa: PLC0415 - after parsing

    return known_today(sheet, store.readings_of(sheet.pair), tolerance)
