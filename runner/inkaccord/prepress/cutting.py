"""Where a piece is cut out of its artwork's pages, from what the order says of it."""

from inkaccord.order.job import Job
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.pdf.cut_place import CutPlace
from inkaccord.pdf.cuts import PageCut, page_cut, with_cuts
from inkaccord.sizes import Size


def cut_for(job: Job, boxes: PageBoxes) -> PageCut:
    """Return where a page of a piece's artwork is cut."""
    return page_cut(boxes, *_asked(job))


def with_cuts_for(job: Job, artwork: bytes) -> bytes:
    """Return a piece's artwork with TrimBox and BleedBox as its pages are understood.

    The same bytes where nothing is to be added. Raises FileError when it can't be read.
    """
    return with_cuts(artwork, *_asked(job)) or artwork


def _asked(job: Job) -> tuple[Size, float, CutPlace | None]:
    told = job.piece.boxes
    return job.piece.trim, job.bleed_pt, None if told is None else told.place
