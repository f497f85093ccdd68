"""The files that stages give, to be written by the pipeline."""

from dataclasses import dataclass

KEPT_WHEN_EDITED = "sample-table"
"""Files of this kind are filled in by people: an edited one is never overwritten or removed."""


@dataclass(frozen=True)
class OutFile:
    """A file to be written into the out folder.

    Attributes
    ----------
    path
        Inside the out folder, with forward slashes.
    data
        Its bytes.
    what
        One word for the record: print, order-sheet, packing-list, sample, report …
    pieces
        The pieces that it shows, in order.
    vendor
        Whom it is for.
    pages
        How many pages a print file has.
    """

    path: str
    data: bytes
    what: str
    pieces: tuple[str, ...] = ()
    vendor: str | None = None
    pages: int | None = None
