"""A place on a page that an order tells; apart, since an order is read without a PDF."""

from typing import NamedTuple


class CutPlace(NamedTuple):
    """Where a piece lies on a page as it is shown; None stands for the middle."""

    left_pt: float | None = None
    """From the page's left edge to the cut."""
    top_pt: float | None = None
    """From the page's upper edge to the cut."""
