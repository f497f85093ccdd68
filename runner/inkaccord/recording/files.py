"""Files of readings, in the form that recognises them."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from inkaccord.beginnings import may_be_pdf, may_be_spreadsheet
from inkaccord.errors import FileError, OrderError
from inkaccord.files import check_is_file
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.formats import (
    HEAD,
    BesideFormat,
    ColumnsFormat,
    OfferedFormat,
    PagesFormat,
    ReadingsTaken,
)


@dataclass(frozen=True)
class ReadingsFiles:
    """Files of one reading of a sheet, and the form that they are all in."""

    paths: tuple[Path, ...]
    offered: OfferedFormat

    def read(self, sheet: SampleSheet, known: tuple[SheetReadings, ...]) -> ReadingsTaken:
        """Read them as a sheet's, by what is known of it.

        Raises OrderError ``one-file`` for several files in a form that takes one at a time, and
        InkaccordError as the form does.
        """
        form = self.offered.form
        with self.offered.guarded():
            if len(self.paths) == 1:
                return _checked(form.read(self.paths[0], sheet, known), sheet)
            if isinstance(form, PagesFormat):
                return _checked(form.read_pages(self.paths, sheet, known), sheet)
        raise OrderError.of(
            "one-file",
            f"readings in the form '{form.name}' are taken from one file at a time",
            hint="join the files into one",
        )

    def read_beside(
        self, sheet: SampleSheet, beside: SampleSheet, known: tuple[SheetReadings, ...]
    ) -> ReadingsTaken:
        """Read a sheet by what is known of another one that lies beside it in the one file.

        Raises OrderError ``one-scan`` for several files, ``no-scan`` where it is nothing of the
        kind, and InkaccordError as the form does.
        """
        form = self.offered.form
        if len(self.paths) > 1:
            raise OrderError.of(
                "one-scan",
                f"{len(self.paths)} files are named, and sheets that lie beside each other are "
                "taken in from one scan at a time",
                hint="record each scan by a command of its own: pages that are not in it are left "
                "for the next",
            )
        if not isinstance(form, BesideFormat):
            raise OrderError.of(
                "no-scan",
                f"{self.paths[0]} is no scan of two sheets, as a sheet beside it needs one",
                hint="name no sheet beside it; an instrument's file holds the controls anyway",
            )
        with self.offered.guarded():
            return _checked(form.read_beside(self.paths[0], sheet, beside, known), sheet)


def recognise_files(
    paths: Sequence[Path],
    formats: Sequence[OfferedFormat],
    columns: Mapping[str, str] | None = None,
) -> ReadingsFiles:
    """Return files with the first form on offer that recognises them all.

    ``columns`` are those that a person named, the standard's name → what the files call it.

    Raises FileError for a file that can't be opened, OrderError ``no-data`` for an empty one,
    ``unknown-readings`` where no form knows them and ``no-columns`` where theirs has none.
    """
    heads = {path: _head(path) for path in paths}
    for offered in formats:
        with offered.guarded():
            if all(offered.form.recognises(path, head) for path, head in heads.items()):
                return ReadingsFiles(tuple(paths), _for_columns(offered, columns or {}))
    raise _unknown(heads, formats)


def _for_columns(offered: OfferedFormat, columns: Mapping[str, str]) -> OfferedFormat:
    if not columns:
        return offered
    if not isinstance(offered.form, ColumnsFormat):
        raise OrderError.of(
            "no-columns",
            f"readings in the form '{offered.form.name}' have no columns to name",
            hint="leave --columns out",
        )
    return replace(offered, form=offered.form.with_columns(columns))


def _unknown(heads: Mapping[Path, bytes], formats: Sequence[OfferedFormat]) -> OrderError:
    for path, head in heads.items():
        if not head:
            return OrderError.of("no-data", f"{path} is empty", hint="export the readings again")
    names = ", ".join(offered.form.name for offered in formats)
    listed = ", ".join(str(path) for path in heads)
    return OrderError.of(
        "unknown-readings",
        f"{listed} {'is' if len(heads) == 1 else 'are'} in no form that is known here ({names})",
        hint=_saved_otherwise(heads.values()),
    )


def _saved_otherwise(heads: Collection[bytes]) -> str:
    """Return how files that nothing reads are to be saved."""
    if any(map(may_be_spreadsheet, heads)):
        return "save the spreadsheet as CSV, with the column names in its first row"
    readings = "save the readings as CGATS text or CSV with a column SAMPLE_ID"
    if any(map(may_be_pdf, heads)):
        return f"if it is a scan, have the scanner save it as PNG or TIFF; else {readings}"
    return readings


def _checked(taken: object, sheet: SampleSheet) -> ReadingsTaken:
    """Return what a form gave. Raises TypeError or ValueError, laid at the plugin's door."""
    if not isinstance(taken, ReadingsTaken):
        raise TypeError(f"gave {type(taken).__name__}, not ReadingsTaken")
    if taken.readings.sheet != sheet.id:
        raise ValueError(f"gave readings of sheet {taken.readings.sheet}, not of {sheet.id}")
    return taken


def _head(path: Path) -> bytes:
    try:
        check_is_file(path)
        with path.open("rb") as stream:
            return stream.read(HEAD)
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read {path}: {problem.strerror or problem}",
            hint="check that it exists and that you may read it",
        ) from problem
