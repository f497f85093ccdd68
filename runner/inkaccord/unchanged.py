"""Whether there is anything to do: what a run rests on, and whether the last one rests on that too.

Little is loaded here, so that a run that finds nothing to do is over at once.
"""

import contextlib
import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Self

from inkaccord import __version__
from inkaccord.colour.pairs import Pair
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.files import sha256_of
from inkaccord.order.diary import Diary, read_diary
from inkaccord.order.inputs import OrderInputs
from inkaccord.order.loading import LoadedOrder
from inkaccord.out_folder import OutFolder
from inkaccord.plugins import BUILT_IN, Plugins
from inkaccord.recall.memory_file import MemoryFile, inputs_key
from inkaccord.run.record import FORMAT, Run
from inkaccord.shelf.place import Server, ShelfPlace
from inkaccord.shelf.state import ShelfState

if TYPE_CHECKING:
    from inkaccord.recall.memory import Memory

MEMORY = ".memory.sqlite"
"""In the out folder: what runs computed, for the next ones. It may be deleted at any time."""


@dataclass(frozen=True)
class RunInputs:
    """What a run rests on besides the shelf, read once, at its beginning.

    Attributes
    ----------
    loaded
        The order.
    files
        The bytes of each file that it names, by path; None for one that can't be read.
    plugins
        The version of each plugin from outside.
    diary
        What was approved of the order, and what its samples cost.
    """

    loaded: LoadedOrder
    files: Mapping[Path, bytes | None]
    plugins: Mapping[str, str]
    diary: Diary

    @classmethod
    def read(cls, loaded: LoadedOrder, plugins: Plugins) -> Self:
        """Read the files that an order names, and its diary; FileError for a broken one."""
        return cls(
            loaded=loaded,
            files={path: _bytes_of(path) for path in OrderInputs.of(loaded).contents()},
            plugins={it.name: it.version for it in plugins.infos() if it.origin != BUILT_IN},
            diary=read_diary(loaded.path),
        )

    def digests(self, shelf: ShelfState) -> str:
        """Return digests of all that the results depend on, and of that but sheets on paper."""
        return f"{self._digest(shelf)} {self._digest(shelf.but_on_paper())}"

    def _digest(self, shelf: ShelfState) -> str:
        digest = hashlib.sha256()
        for part in (*self._parts, shelf.digest()):
            digest.update(os.fsencode(part) + b"\0")
        return digest.hexdigest()

    @cached_property
    def _parts(self) -> tuple[str, ...]:
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        yield from ("inkaccord", __version__, str(FORMAT), self.loaded.sha256)
        yield from (it.model_dump_json() for it in self.loaded.book)
        for name, version in self.plugins.items():
            yield from ("plugin", name, version)
        if self.diary.approval is not None:
            yield from ("approval", self.diary.approval.model_dump_json())
        yield from (it.model_dump_json() for it in self.diary.samples)
        for path, data in self.files.items():
            folder = self.loaded.folder
            at = path.relative_to(folder) if path.is_relative_to(folder) else path
            yield from ("file", at.as_posix(), "unreadable" if data is None else sha256_of(data))


def last_run(
    inputs: RunInputs, out: Path, shelf: ShelfPlace, *, on_paper: bool = True
) -> Run | None:
    """Return the record of the last run into a folder, where a run now would only repeat it.

    Without ``on_paper`` also where it would only say where sheets are now: what it made to be sent
    is the same.
    """
    folder = OutFolder(out)
    if folder.record is None or (now := _digests_now(inputs, shelf)) is None:
        return None
    if not _are_same(_rested_on(out, folder.record), now, on_paper=on_paper):
        return None
    run = folder.previous
    return run if run is not None and folder.is_as_left(run) else None


def run_to_send(inputs: RunInputs, out: Path, shelf: ShelfPlace, again: str, *, sent: bool) -> Run:
    """Return the last run into a folder, from which files may be sent as they lie.

    ``again`` says how the order is run; ``sent`` tells that files may have gone off already.
    Raises OrderError ``run-first`` where anything that it rests on, or made, is another now.
    """
    name = inputs.loaded.order.order
    if OutFolder(out).record is None:
        raise never_run(name, again)
    run = last_run(inputs, out, shelf, on_paper=False)
    if run is None:
        also = "; if older files have gone off, tell that vendor at once that others follow"
        raise OrderError.of(
            "run-first",
            f"{name} was not run as it is now: it, its artwork, its approval, the files in {out} "
            "or what the shelf knows was changed since",
            hint=f"{again}, and send what that makes{also if sent else ''}",
        )
    return run


def never_run(order: str, again: str) -> OrderError:
    """Return what is raised of an order that has no run yet, which ``again`` would do."""
    return OrderError.of(
        "run-first", f"{order} was not run yet: there is nothing to send", hint=again
    )


def is_overtaken(
    run: Run, inputs: RunInputs, out: Path, shelf: ShelfPlace, *, on_paper: bool = True
) -> bool:
    """Tell whether what a run rests on has changed since it began; not where nobody knows.

    Without ``on_paper`` where sheets are now is no change.
    """
    then, now = _rested_on(out, run.as_json()), _digests_now(inputs, shelf)
    known = then is not None and now is not None
    return known and not _are_same(then, now, on_paper=on_paper)


def _are_same(then: str | None, now: str | None, *, on_paper: bool) -> bool:
    if then is None or now is None or on_paper:
        return then == now
    return then.split()[1:] == now.split()[1:]


def _rested_on(out: Path, record: bytes) -> str | None:
    """Return the digests of what a run rests on, as they were kept beside its record."""
    with contextlib.closing(MemoryFile(out / MEMORY)) as memory:
        kept = memory.read(inputs_key(record))
    return None if kept is None else kept.decode()


def _digests_now(inputs: RunInputs, shelf: ShelfPlace) -> str | None:
    """Return the digests of what a run would rest on now; None where a shelf can't be seen."""
    pairs = OrderInputs.of(inputs.loaded).pairs
    state = ShelfState.of_file(shelf, pairs) if isinstance(shelf, Path) else _on(shelf, pairs)
    return None if state is None else inputs.digests(state)


def _on(server: Server, pairs: Iterable[Pair]) -> ShelfState | None:
    from inkaccord.shelf.store import Shelf  # noqa: PLC0415 - slow to load, and for servers alone

    with contextlib.suppress(FileError), Shelf.open(server) as shelf:
        return shelf.state_of(pairs)
    return None


def _bytes_of(path: Path) -> bytes | None:
    try:
        return path.read_bytes() if path.is_file() else None
    except OSError:
        return None


def found_before(loaded: LoadedOrder) -> "Memory":
    """Return what the last run found out, of the artworks too; nothing is added to it.

    It is closed by whoever asked for it.
    """
    from inkaccord.pdf.ghostscript import ghostscript_version  # noqa: PLC0415 - not for a run
    from inkaccord.recall.memory import Memory  # noqa: PLC0415 - that finds nothing to do
    from inkaccord.recording.places import out_of  # noqa: PLC0415

    try:
        return Memory(out_of(loaded) / MEMORY, ghostscript_version())
    except InkaccordError:  # it leads elsewhere, which is asked about when something is written
        return Memory(None)
