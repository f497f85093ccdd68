"""The bench that the stages work at: the order's files, the shelf, what is known of each pair."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Place
from inkaccord.files import read_bytes
from inkaccord.knowledge.holdings import Holdings
from inkaccord.knowledge.pairs import PairKnowledge, learn_pair
from inkaccord.layout.records.pages import RecordPages
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.pdf.colours.alternates import spot_alternates
from inkaccord.pdf.opening import openable
from inkaccord.prepress.cutting import with_cuts_for
from inkaccord.prepress.merging import record_pages
from inkaccord.recall.recall import Recall, computed
from inkaccord.run.agreement import Acceptance
from inkaccord.run.bench import Progress
from inkaccord.run.record import Run


def silent(text: str) -> None:
    """Show nothing."""
    del text


@dataclass
class Workbench:
    """The bench of one run, from its files and from what the shelf holds.

    Attributes
    ----------
    loaded
        The order, with its folder and the places of its fields.
    holdings
        What the shelf has of the order's pairs.
    previous
        The record of the run before, if there is a readable one.
    recall
        How what takes long is found: computed, or recalled from an earlier run.
    files
        The bytes of files that were read already, by path.
    """

    loaded: LoadedOrder
    holdings: Holdings = field(default_factory=Holdings)
    previous: Run | None = None
    progress: Progress = silent
    recall: Recall = computed
    files: Mapping[Path, bytes | None] = field(default_factory=dict)
    _given: dict[str, bytes] = field(default_factory=dict)
    _artwork: dict[str, bytes] = field(default_factory=dict)
    _records: dict[str, RecordPages] = field(default_factory=dict)
    _alternates: dict[str, dict[str, Paint]] = field(default_factory=dict)
    _pairs: dict[Pair, PairKnowledge] = field(default_factory=dict)

    @property
    def order(self) -> Order:
        """The order itself."""
        return self.loaded.order

    @property
    def folder(self) -> Path:
        """The order's folder, which its paths start from."""
        return self.loaded.folder

    def place(self, *path: str | int) -> Place:
        """Return where a field of the order stands in its file."""
        return self.loaded.source.place(path)

    def line_of(self, path: tuple[str, ...]) -> int | None:
        """Return the line of a field in the order file; None for one that isn't there."""
        at = self.loaded.source.places.get(path)
        return None if at is None else at[0]

    def artwork_as_given(self, piece: str) -> bytes:
        """Return the bytes of the file of a piece's artwork, read once. Raises FileError."""
        path = self.order.pieces[piece].artwork
        if path not in self._given:
            self._given[path] = self._bytes_of(path)
        return self._given[path]

    def artwork(self, piece: str) -> bytes:
        """Return a piece's artwork, in which each page states where it is cut. Raises FileError."""
        if piece not in self._artwork:
            records = self.records(piece)
            self._artwork[piece] = self._cut(piece) if records is None else records.specimen()
        return self._artwork[piece]

    def records(self, piece: str) -> RecordPages | None:
        """Return the records that are laid over a piece's artwork; None where there are none.

        Raises OrderError or FileError.
        """
        merge = self.order.pieces[piece].merge
        if piece not in self._records and merge is not None:
            table = self._bytes_of(merge.data)
            self._records[piece] = record_pages(
                self.order, piece, self._cut(piece), table, self.place
            )
        return self._records.get(piece)

    def given(self, path: str) -> bytes | Path:
        """Return a file beside the order: its bytes where they were read, else where it lies."""
        data = self.files.get(self.folder / path)
        return self.folder / path if data is None else data

    def is_there(self, path: str) -> bool:
        """Tell whether a file or a folder lies beside the order."""
        place = self.folder / path
        read = (it for it, data in self.files.items() if data is not None)
        return any(it.is_relative_to(place) for it in read) or place.exists()

    def _bytes_of(self, path: str) -> bytes:
        data = self.given(path)
        return read_bytes(data) if isinstance(data, Path) else data

    def _cut(self, piece: str) -> bytes:
        given = openable(self.artwork_as_given(piece))
        return with_cuts_for(self.order.jobs[piece], given)

    def alternates(self, piece: str) -> dict[str, Paint]:
        """Return the spots of a piece's artwork with their alternate colours, read once."""
        path = self.order.pieces[piece].artwork
        if path not in self._alternates:
            self._alternates[path] = spot_alternates(self.artwork_as_given(piece))
        return self._alternates[path]

    def pair(self, pair: Pair) -> PairKnowledge:
        """Return what is known of a pair, found out once."""
        if pair not in self._pairs:
            self.progress(f"fitting {pair}")
            self._pairs[pair] = learn_pair(self.order, self.holdings, pair, self.recall)
        return self._pairs[pair]

    @property
    def accepted_before(self) -> tuple[Acceptance, ...]:
        """The colours that the last run found accepted."""
        return self.previous.accepted if self.previous else ()
