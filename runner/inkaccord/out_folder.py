"""The out folder of an order: what an earlier run left there, and the one way it is written.

Every file is renamed into place, the record last of all, so that a run broken off at any moment
leaves the previous state or the next one, file by file, and the next run mends the rest.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pydantic import ValidationError

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import (
    folded,
    holds,
    inside,
    is_same_file,
    refuse_held,
    sha256_of,
    write_if_changed,
    write_whole,
)
from inkaccord.run.files import KEPT_WHEN_EDITED, OutFile
from inkaccord.run.record import FORMAT, RecordedFile, Run
from inkaccord.shelf.register import is_record_of_ours, remember_record

RECORD = "run.json"


@dataclass
class OutFolder:
    """A folder that runs write into. Only :meth:`write` changes it."""

    path: Path

    @cached_property
    def record(self) -> bytes | None:
        """The record that an earlier run left, as it was written; None where there is none."""
        try:
            return (self.path / RECORD).read_bytes()
        except OSError:
            return None

    @cached_property
    def previous(self) -> Run | None:
        """What that record says; None where there is none to build on."""
        return run_kept(self.record)

    def is_as_left(self, run: Run) -> bool:
        """Tell whether all files of a record are as they were written, but those to fill in."""
        return all(file.what == KEPT_WHEN_EDITED or self._is_untouched(file) for file in run.files)

    def refuse_outside(self, files: Iterable[OutFile], plugin: str) -> None:
        """Raise OrderError naming the plugin when a file would leave the folder."""
        for file in files:
            if trouble := self._strays(file, plugin):
                raise OrderError(trouble)

    def takes(self, files: Iterable[OutFile]) -> bool:
        """Tell whether no file would leave the folder."""
        return not any(self._strays(file, "") for file in files)

    def fitting(
        self, given: Iterable[tuple[str, OutFile]], files: Iterable[OutFile]
    ) -> tuple[list[OutFile], list[Diagnostic]]:
        """Return which files, each given by a plugin, can go beside others, and what is wrong.

        A path that leads outside, or that another part has taken, is refused.
        """
        taken = {folded(RECORD), *(folded(file.path) for file in files)}
        fit: list[OutFile] = []
        trouble: list[Diagnostic] = []
        for plugin, file in given:
            wrong = self._strays(file, plugin) or list(_takes(file, plugin, taken))
            trouble += wrong
            if not wrong:
                taken.add(folded(file.path))
                fit.append(file)
        return fit, trouble

    def write(self, record: bytes, files: Iterable[OutFile]) -> tuple[str, ...]:
        """Write what changed, remove what an earlier run left and nobody wants, then record it all.

        Of what a record says that no run on this computer has written nothing is believed: files
        that only it calls a run's own are left as they are. Returns those that nobody wants.

        Raises FileError, having changed nothing, when a file that would change is held.
        """
        said = {file.path: file for file in self.previous.files} if self.previous else {}
        known = said if self._is_own_record() else {}
        wanted = {file.path: file for file in files}
        changed = {
            path: file.data
            for name, file in wanted.items()
            if not self._is_edited(file, known)
            and not holds(path := inside(self.path, name), file.data)
        }
        gone = self._unwanted(known.values(), wanted)
        refuse_held([*changed, *gone, self.path / RECORD])
        for path, data in changed.items():
            write_whole(path, data)
        for path in gone:
            path.unlink()
            self._leave_no_empty_folder(path.parent)
        # Only now, since what no record names any more is nobody's to remove.
        write_if_changed(self.path / RECORD, record)
        remember_record(record)
        here = {folded(name) for name in (*known, *wanted)}
        left = [name for name in said if folded(name) not in here]
        return tuple(sorted(name for name in left if self._content(name) is not None))

    def _unwanted(self, known: Iterable[RecordedFile], wanted: Mapping[str, OutFile]) -> list[Path]:
        """Return what a run wrote, nobody changed since, and nobody wants any more.

        Where capitals don't count, what was renamed in them is one file under either name.
        """
        kept = {folded(name): inside(self.path, name) for name in wanted}
        here = [file for file in known if file.path not in wanted and self._is_untouched(file)]
        paths = [(inside(self.path, it.path), kept.get(folded(it.path))) for it in here]
        return [path for path, new in paths if new is None or not is_same_file(path, new)]

    def _leave_no_empty_folder(self, folder: Path) -> None:
        """Remove a folder of this one that nothing is left in, and what held it alone."""
        root = self.path.resolve()
        with suppress(OSError):  # something is in it, or it is in use
            while folder != root and folder.is_relative_to(root):
                folder.rmdir()
                folder = folder.parent

    def _is_edited(self, file: OutFile, known: Mapping[str, RecordedFile]) -> bool:
        """Tell whether a file to fill in stands there otherwise than a run left it."""
        if file.what != KEPT_WHEN_EDITED or not inside(self.path, file.path).exists():
            return False
        return file.path not in known or not self._is_untouched(known[file.path])

    def _is_own_record(self) -> bool:
        """Tell whether the record was written on this computer."""
        return self.record is not None and is_record_of_ours(self.record)

    def _is_untouched(self, file: RecordedFile) -> bool:
        """Tell whether a recorded file is as it was written."""
        data = self._content(file.path)
        return data is not None and sha256_of(data) == file.sha256

    def _content(self, name: str) -> bytes | None:
        """Return what a recorded file holds; None for what no run writes."""
        try:
            return inside(self.path, name).read_bytes()
        except (OSError, OrderError):
            return None

    def _strays(self, file: OutFile, plugin: str) -> Sequence[Diagnostic]:
        """Return what is wrong with a path that leads outside."""
        try:
            inside(self.path, file.path)
        except InkaccordError as problem:
            return [it.model_copy(update={"source": plugin}) for it in problem.findings]
        return []


def run_kept(record: bytes | None) -> Run | None:
    """Return what the record of an earlier run says; None where there is none to build on."""
    try:
        run = Run.model_validate_json(record or b"")
    except ValidationError:
        return None  # missing, or of another version: everything is made anew
    return run if run.format == FORMAT else None


def _takes(file: OutFile, plugin: str, taken: set[str]) -> Iterator[Diagnostic]:
    if folded(file.path) in taken:
        yield warning(
            "file-taken",
            f"the plugin '{plugin}' gives {file.path}, which another part writes already",
            hint="the plugin should choose another name",
        ).model_copy(update={"source": plugin})
