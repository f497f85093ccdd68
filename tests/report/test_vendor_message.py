"""The message that goes with a vendor's files."""

from inkaccord.report.vendor_message import Parcel, parcels, vendor_message
from inkaccord.run.record import PieceStatus, RecordedFile
from report_kit import mid_flight


def test_it_names_what_is_ready_and_what_follows() -> None:
    desk = mid_flight()
    ready = next(it for it in desk.run.pieces if it.status is PieceStatus.READY)
    package = RecordedFile(path="quay/fair-quay.zip", sha256="0" * 64, size=1, what="package")
    text = vendor_message(desk.order, desk.run, Parcel(ready.vendor, package))
    assert "With this comes fair-quay.zip." in text
    own = [it for it in desk.run.pieces if it.vendor == ready.vendor]
    for piece in own:
        is_ready = piece.status is PieceStatus.READY
        assert (f"- {piece.name}: {piece.quantity}" in text) is is_ready
    assert "without colour conversion" in text
    assert text.splitlines()[0].startswith(desk.run.title)
    waiting = {it.vendor for it in desk.run.pieces} - {
        it.vendor for it in desk.run.pieces if it.status is PieceStatus.READY
    }
    assert not waiting & {it.vendor for it in parcels(desk.run)}


def test_a_lead_time_is_spoken_of_only_where_there_is_one() -> None:
    desk = mid_flight()
    ready = next(it for it in desk.run.pieces if it.status is PieceStatus.READY)
    package = RecordedFile(path="quay/fair-quay.zip", sha256="0" * 64, size=1, what="package")
    for days in (0, 3):
        vendor = desk.order.vendors[ready.vendor].model_copy(update={"lead_days": days})
        vendors = {**desk.order.vendors, ready.vendor: vendor}
        order = desk.order.model_copy(update={"vendors": vendors})
        text = vendor_message(order, desk.run, Parcel(ready.vendor, package))
        assert "We need the goods by" in text
        assert ("lead time" in text) is bool(days)
