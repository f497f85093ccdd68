"""The bench that the stages work at: the order's files, the shelf, what is known of each pair."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from inkaccord.artwork.objects.alternates import spot_alternates
from inkaccord.artwork.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.files import inside, read_bytes, sha256_of
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.recall.recall import Recall, computed
from inkaccord.record import RecordedFile, Run
from inkaccord.shelf.store import Shelf
from inkaccord.stages.knowledge import PairKnowledge, learn_pair
from inkaccord.stages.results import Acceptance


class Others(Protocol):
    """The other plugins, as far as a stage may ask them (:class:`inkaccord.plugins.Plugins`)."""

    def each(
        self,
        hook: str,
        item: type | None,
        *,
        trouble: list[Diagnostic] | None = None,
        **arguments: Any,
    ) -> list[tuple[str, Any]]:
        """Call a hook on every plugin and return (plugin, item) for every item they give."""

    def versions(self) -> dict[str, str]:
        """Return the version of every plugin, by name."""


class Progress(Protocol):
    """Where the stages say what they are doing."""

    def __call__(self, text: str) -> None:
        """Show a line such as ``recolouring invitation``."""


def silent(text: str) -> None:
    """Show nothing."""
    del text


@dataclass
class Bench:
    """What a stage may use besides the values it is given.

    Attributes
    ----------
    loaded
        The order, with its folder and the places of its fields.
    out
        The out folder. Stages read what an earlier run left there; only the pipeline writes.
    shelf
        Sheets, readings and picks.
    plugins
        For stages that ask other plugins: artwork checks, deliveries.
    previous
        The record of the run before, if there is a readable one.
    recall
        For what follows from its arguments alone and takes long: ``bench.recall(match, model,
        aims, policy)`` computes it, or recalls what an earlier run computed.
    """

    loaded: LoadedOrder
    out: Path
    shelf: Shelf
    plugins: Others
    previous: Run | None = None
    progress: Progress = silent
    recall: Recall = computed
    _artwork: dict[str, bytes] = field(default_factory=dict)
    _alternates: dict[str, dict[str, Paint]] = field(default_factory=dict)
    _pairs: dict[Pair, PairKnowledge] = field(default_factory=dict)

    @property
    def order(self) -> Order:
        """The order itself."""
        return self.loaded.order

    def place(self, *path: str | int) -> Place:
        """Return where a field of the order stands in its file."""
        return self.loaded.source.place(path)

    def line_of(self, path: tuple[str, ...]) -> int | None:
        """Return the line of a field in the order file; None for one that isn't there."""
        at = self.loaded.source.places.get(path)
        return None if at is None else at[0]

    def artwork_path(self, piece: str) -> Path:
        """Return the file of a piece's artwork."""
        return self.loaded.folder / self.order.pieces[piece].artwork

    def artwork(self, piece: str) -> bytes:
        """Return the bytes of a piece's artwork, read once. Raises FileError."""
        path = self.order.pieces[piece].artwork
        if path not in self._artwork:
            self._artwork[path] = read_bytes(self.artwork_path(piece))
        return self._artwork[path]

    def alternates(self, piece: str) -> dict[str, Paint]:
        """Return the spots of a piece's artwork with their alternate colours, read once."""
        path = self.order.pieces[piece].artwork
        if path not in self._alternates:
            self._alternates[path] = spot_alternates(self.artwork(piece))
        return self._alternates[path]

    def pair(self, pair: Pair) -> PairKnowledge:
        """Return what is known of a pair, found out once."""
        if pair not in self._pairs:
            self.progress(f"fitting {pair}")
            self._pairs[pair] = learn_pair(self.order, self.shelf, pair, self.recall)
        return self._pairs[pair]

    @property
    def accepted_before(self) -> tuple[Acceptance, ...]:
        """The colours that the last run found accepted."""
        return self.previous.accepted if self.previous else ()

    def untouched(self, file: RecordedFile) -> bytes | None:
        """Return the bytes of a recorded file, or None when it isn't as it was written."""
        path = inside(self.out, file.path)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        return data if sha256_of(data) == file.sha256 else None
