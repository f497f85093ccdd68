"""What is said of a client's approval, before and in a run."""

from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.errors import FileError
from inkaccord.order.approving import ApprovalNow, approval_now, shown_of
from inkaccord.order.diary import read_diary
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order

AGAIN = "show the client.pdf of now, then: inkaccord approve ORDER --by NAME"


def look_at_approval(loaded: LoadedOrder) -> tuple[Diagnostic, ...]:
    """Return what is to be said of the approval of an order, without a run.

    Nothing where an artwork can't be read, which others say, or where the book was not asked.
    Raises FileError for a diary that can't be read.
    """
    last = read_diary(loaded.path).approval
    if last is None or (loaded.order.asks_book and not loaded.book):
        return ()
    try:
        now = approval_now(last, shown_of(loaded))
    except FileError:
        return ()
    return said_of(loaded.order, now)


def said_of(order: Order, now: ApprovalNow | None) -> tuple[Diagnostic, ...]:
    """Return what is to be said of an approval, or of none."""
    if now is None:
        return ()
    if now.covers:
        words = f": {now.note}" if now.note else ""
        return (note("approved", f"approved by {now.by} on {now.on}{words}"),)
    held = "; no zip is made until it is approved again" if order.approval_first else ""
    return (
        warning(
            "approval-passed",
            f"the approval by {now.by} of {now.on} no longer covers this order: "
            f"{'; '.join(now.changed)}{held}",
            hint=AGAIN,
        ),
    )
