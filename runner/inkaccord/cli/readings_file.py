"""Reading a file of readings with the formats that plugins offer, and whose it is."""

from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.errors import FileError, InkaccordError, OrderError

if TYPE_CHECKING:
    from inkaccord.hooks import ReadingsFormat, ReadingsTaken
    from inkaccord.sheets.model import SampleSheet, SheetReadings
    from inkaccord.shelf.store import Shelf


def read_file(
    settings: Settings,
    store: "Shelf",
    sheet: "SampleSheet",
    file: Path,
    beside_id: str | None,
    tolerance: float,
) -> "ReadingsTaken":
    """Read a file as a sheet's readings, with the first format that recognises it.

    ``beside_id`` is the sheet that lies beside it in a scan and whose readings are known,
    ``tolerance`` the drift that the pair's device allows.
    Raises InkaccordError.
    """
    from inkaccord.hooks import BesideFormat, ReadingsFormat, ReadingsTaken  # noqa: PLC0415
    from inkaccord.shelf.evidence import known_for  # noqa: PLC0415 - after parsing

    head = _head(file)
    plugins = settings.loaded
    formats = plugins.each("inkaccord_readings_formats", None)
    for plugin, form in formats:
        if not isinstance(form, ReadingsFormat):
            continue
        with plugins.blaming(plugin, form.name):
            if not form.recognises(file, head):
                continue
            if beside_id is None:
                taken = _read_or_owner(form, file, sheet, store, tolerance)
            elif isinstance(form, BesideFormat):
                beside = store.sheet(beside_id)
                known = known_for(beside, store.readings_of_sheet(beside.id))
                taken = form.read_beside(file, sheet, beside, known)
            else:
                raise OrderError.of(
                    "no-scan",
                    f"{file} is no scan: --beside is for scans that show two sheets",
                    hint="leave --beside out; an instrument's file holds the controls anyway",
                )
            if not isinstance(taken, ReadingsTaken):
                raise TypeError(f"gave {type(taken).__name__}, not ReadingsTaken")
            return taken
    if not head:
        raise OrderError.of("no-data", f"{file} is empty", hint="export the readings again")
    names = ", ".join(form.name for _, form in formats)
    spreadsheet = head.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0"))
    raise OrderError.of(
        "unknown-readings",
        f"{file} is in no form that is known here ({names})",
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
    form: "ReadingsFormat", file: Path, sheet: "SampleSheet", store: "Shelf", tolerance: float
) -> "ReadingsTaken":
    """Read a file as a sheet's; if it is another's by mistake, say whose.

    Raises as the format does, or ``wrong-sheet``.
    """
    try:
        taken = form.read(file, sheet, known_of(store, sheet, tolerance))
    except OrderError as problem:
        told = any("inkaccord record" in (finding.hint or "") for finding in problem.findings)
        if told or not _ANOTHERS & {finding.code for finding in problem.findings}:
            raise
        if (owner := _owner(form, file, sheet, store)) is None:
            raise
        raise owner from problem
    if _DOUBTS & {finding.code for finding in taken.findings}:
        owner = _owner(form, file, sheet, store)
        if owner is not None:
            raise owner
    return taken


def _owner(
    form: "ReadingsFormat", file: Path, sheet: "SampleSheet", store: "Shelf"
) -> OrderError | None:
    """Say which other sheet a file fits without any doubt; None where there is none."""
    from inkaccord.diagnostics import Place  # noqa: PLC0415 - after parsing

    others = [it.sheet for it in reversed(store.sheets()) if it.sheet.id != sheet.id]
    for other in [it for it in others if it.drive is sheet.drive][:_TRIED]:
        try:
            taken = form.read(file, other, ())
        except InkaccordError:
            continue
        if _DOUBTS & {finding.code for finding in taken.findings}:
            continue
        return OrderError.of(
            "wrong-sheet",
            f"these are not the readings of sheet {sheet.id}, but they fit sheet {other.id} "
            f"({other.pair})",
            place=Place(file=str(file)),
            hint=f"if it is that one: inkaccord record {other.id} {file}",
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
    from inkaccord.shelf.course import known_today  # noqa: PLC0415 - after parsing

    return known_today(sheet, store.readings_of(sheet.pair), tolerance)
