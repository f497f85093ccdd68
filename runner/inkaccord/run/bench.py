"""What a stage may ask besides the values that it is given."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from inkaccord.knowledge.sources import Sources
from inkaccord.order.model import Order
from inkaccord.run.agreement import Acceptance

if TYPE_CHECKING:
    from inkaccord.layout.records.pages import RecordPages

Progress = Callable[[str], None]
"""Shows a line such as ``recolouring invitation``."""


class Bench(Sources, Protocol):
    """What a stage may ask: the order and its files, and what is known of each pair."""

    @property
    def progress(self) -> Progress:
        """Where the stages say what they are doing."""
        ...

    @property
    def order(self) -> Order:
        """The whole order; a stage may be given a part of it."""
        ...

    @property
    def folder(self) -> Path:
        """The order's folder, which its paths start from."""
        ...

    @property
    def accepted_before(self) -> tuple[Acceptance, ...]:
        """The colours that the last run found accepted."""
        ...

    def artwork(self, piece: str) -> bytes:
        """Return a piece's artwork, in which each page states where it is cut. Raises FileError.

        Where the file says so itself those are its bytes, else a copy's with TrimBox and BleedBox.
        Where records are laid over it, it shows a few that stand for all.
        """
        ...

    def records(self, piece: str) -> "RecordPages | None":
        """Return the records that are laid over a piece's artwork; None where there are none.

        Raises OrderError or FileError.
        """
        ...

    def artwork_as_given(self, piece: str) -> bytes:
        """Return the bytes of the file of a piece's artwork, read once. Raises FileError."""
        ...

    def given(self, path: str) -> bytes | Path:
        """Return a file beside the order: its bytes where they were read, else where it lies."""
        ...

    def is_there(self, path: str) -> bool:
        """Tell whether a file or a folder lies beside the order."""
        ...

    def line_of(self, path: tuple[str, ...]) -> int | None:
        """Return the line of a field in the order file; None for one that isn't there."""
        ...
