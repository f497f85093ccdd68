"""The out folder of an order: what an earlier run left there, and the one way it is written.

Every file is renamed into place, the record last of all, so that a run broken off at any moment
leaves the previous state or the next one, file by file, and the next run mends the rest.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pydantic import ValidationError

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import inside, sha256_of, write_if_changed
from inkaccord.run.files import OutFile
from inkaccord.run.record import FORMAT, RecordedFile, Run
from inkaccord.shelf.register import is_record_of_ours, remember_record

RECORD = "run.json"
KEPT_WHEN_EDITED = "sample-table"
"""Files of this kind are filled in by people: an edited one is never overwritten or removed."""


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
        try:
            run = Run.model_validate_json(self.record or b"")
        except ValidationError:
            return None  # missing, or of another version: everything is made anew
        return run if run.format == FORMAT else None

    def is_as_left(self, run: Run) -> bool:
        """Tell whether all files of a record are as they were written, but those to fill in."""
        return all(file.what == KEPT_WHEN_EDITED or self._is_untouched(file) for file in run.files)

    def refuse_outside(self, files: Iterable[OutFile], plugin: str) -> None:
        """Raise OrderError naming the plugin when a file would leave the folder."""
        for file in files:
            if trouble := self._strays(file, plugin):
                raise OrderError(trouble)

    def fitting(
        self, given: Iterable[tuple[str, OutFile]], files: Iterable[OutFile]
    ) -> tuple[list[OutFile], list[Diagnostic]]:
        """Return which files, each given by a plugin, can go beside others, and what is wrong.

        A path that leads outside, or that another part has taken, is refused.
        """
        taken = {RECORD, *(file.path for file in files)}
        fit: list[OutFile] = []
        trouble: list[Diagnostic] = []
        for plugin, file in given:
            wrong = self._strays(file, plugin) or list(_takes(file, plugin, taken))
            trouble += wrong
            if not wrong:
                taken.add(file.path)
                fit.append(file)
        return fit, trouble

    def write(self, record: bytes, files: Iterable[OutFile]) -> tuple[str, ...]:
        """Write what changed, remove what an earlier run left and nobody wants, then record it all.

        Of what a record says that no run on this computer has written nothing is believed: files
        that only it calls a run's own are left as they are. Returns those that nobody wants.
        """
        said = {file.path: file for file in self.previous.files} if self.previous else {}
        known = said if self._is_own_record() else {}
        wanted = set()
        for file in files:
            wanted.add(file.path)
            path = inside(self.path, file.path)
            edited = file.what == KEPT_WHEN_EDITED and path.exists()
            if edited and (file.path not in known or not self._is_untouched(known[file.path])):
                continue
            write_if_changed(path, file.data)
        kept = [inside(self.path, name) for name in wanted]
        for name, old in known.items():
            if name not in wanted and self._is_untouched(old):
                path = inside(self.path, name)
                # Where capitals don't count, what was renamed in them is one and the same file.
                if not any(_is_same_file(path, it) for it in kept if _alike(path, it)):
                    path.unlink()
        # Only now, since what no record names any more is nobody's to remove.
        write_if_changed(self.path / RECORD, record)
        remember_record(record)
        left = said.keys() - known.keys() - wanted
        return tuple(sorted(name for name in left if inside(self.path, name).is_file()))

    def _is_own_record(self) -> bool:
        """Tell whether the record was written on this computer."""
        return self.record is not None and is_record_of_ours(self.record)

    def _is_untouched(self, file: RecordedFile) -> bool:
        """Tell whether a recorded file is as it was written."""
        try:
            data = inside(self.path, file.path).read_bytes()
        except OSError:
            return False
        return sha256_of(data) == file.sha256

    def _strays(self, file: OutFile, plugin: str) -> Sequence[Diagnostic]:
        """Return what is wrong with a path that leads outside."""
        try:
            inside(self.path, file.path)
        except InkaccordError as problem:
            return [it.model_copy(update={"source": plugin}) for it in problem.findings]
        return []


def _alike(one: Path, other: Path) -> bool:
    return str(one).casefold() == str(other).casefold()


def _is_same_file(one: Path, other: Path) -> bool:
    return other.exists() and one.samefile(other)


def _takes(file: OutFile, plugin: str, taken: set[str]) -> Iterator[Diagnostic]:
    if file.path in taken:
        yield warning(
            "file-taken",
            f"the plugin '{plugin}' gives {file.path}, which another part writes already",
            hint="the plugin should choose another name",
        ).model_copy(update={"source": plugin})
