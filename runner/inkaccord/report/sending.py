"""That files were sent, taken down in the order's diary."""

import datetime
from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.files import inside, read_bytes, sha256_of
from inkaccord.order.diary import enter, strike
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.sending import Sending
from inkaccord.report.vendor_message import parcels_for
from inkaccord.run.record import Run
from inkaccord.run.sending import called_back, contents_of
from inkaccord.words import quoted


def mark_sent(
    loaded: LoadedOrder, run: Run, out: Path, vendor: str, on: datetime.date, note: str = ""
) -> Sending:
    """Take down that a vendor was sent the zip that lies in an out folder.

    One that was sent files, and for which none are made any more, was told that these don't hold.

    Raises as :func:`parcels_for`, and OrderError ``not-as-made`` for a zip that is not as the
    run left it. Then nothing is written.
    """
    if any(it.vendor == vendor for it in called_back(run)):
        told = Sending(vendor=vendor, on=on, note=note.strip(), package="", files={}, copies={})
        enter(loaded.path, told)
        return told
    packages = [it.package for it in parcels_for(loaded.order, run, vendor) if not it.sampling]
    if not packages:
        raise OrderError.of(
            "nothing-to-send",
            f"only sample sheets are ready for {vendor}, and no piece yet",
            hint="that sheets were sent is taken down by: "
            + quoted("inkaccord", "samples", str(loaded.path), vendor, "--sent"),
        )
    package = packages[0]
    if sha256_of(read_bytes(inside(out, package.path))) != package.sha256:
        raise OrderError.of(
            "not-as-made",
            f"{inside(out, package.path)} is not as the run left it",
            hint="run the order again, and send that zip",
        )
    sending = Sending(
        vendor=vendor,
        on=on,
        note=note.strip(),
        package=package.sha256,
        **contents_of(run, vendor),
    )
    enter(loaded.path, sending)
    return sending


def not_sent(loaded: LoadedOrder, sending: Sending) -> None:
    """Strike a sending out of an order's diary. Raises OrderError ``not-sent`` for none of it."""
    if not strike(loaded.path, sending):
        raise OrderError.of("not-sent", "that does not stand in the diary any more")
