"""An approval taken down: of what, by whom, and with what was shown kept beside the order."""

import datetime
from dataclasses import dataclass
from pathlib import Path

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError, OrderError
from inkaccord.files import inside, read_bytes, safe_name, sha256_of, write_if_changed
from inkaccord.order.approving import Approval, code_of, shown_of
from inkaccord.order.diary import enter, read_diary, strike
from inkaccord.order.loading import LoadedOrder
from inkaccord.run.record import RecordedPiece, Run
from inkaccord.sheets.scan.picture import is_picture
from inkaccord.words import joined

KEPT_IN = "approved"
"""Folder beside the order for what was shown, and for the signed page."""
PAGES = ("client.pdf", "client.html")


@dataclass(frozen=True)
class ApprovalTold:
    """What a person says of an approval.

    Attributes
    ----------
    code
        What the page was called that was signed; empty for the one that lies there now.
    scan
        The signed page, scanned or photographed.
    """

    by: str
    on: datetime.date
    note: str = ""
    code: str = ""
    scan: Path | None = None


def approve(loaded: LoadedOrder, run: Run | None, out: Path, given: ApprovalTold) -> Approval:
    """Take an approval of an order down in its diary, and keep what was shown beside the order.

    Raises
    ------
    InkaccordError
        ``not-shown`` where the client's page is not of the order as it stands, or was changed;
        ``not-matched`` where it does not show every piece as it will print; ``other-page`` for
        another code; ``no-scan`` for a signed page that is no PDF and no picture. Then nothing is
        written.
    """
    read_diary(loaded.path)  # a broken one is said before anything is written
    shown = shown_of(loaded)
    recorded = {} if run is None else {it.path: it.sha256 for it in run.files}
    if run is None or run.shown != shown.digest or not set(PAGES) <= recorded.keys():
        raise OrderError.of(
            "not-shown",
            "the client's page is not of the order as it stands now",
            hint="run the order, show its client.pdf, then approve",
        )
    if given.code and given.code.strip().upper().replace(" ", "-") != shown.code:
        raise OrderError.of(
            "other-page",
            f"the page that was signed is {given.code}, and the one of now is "
            f"{code_of(run.shown)}: something was changed between the two",
            hint="show the client.pdf of now",
        )
    if unmatched := [it.name for it in run.pieces if not _as_it_will_print(run, it)]:
        raise OrderError.of(
            "not-matched",
            f"the client's page does not yet show {joined(unmatched)} as printed: colours are not "
            "matched there",
            hint="take the approval down once a run has matched them",
        )
    kept = {f"{shown.code}-{name}": read_bytes(inside(out, name)) for name in PAGES}
    if [name for name in PAGES if sha256_of(kept[f"{shown.code}-{name}"]) != recorded[name]]:
        raise OrderError.of(
            "not-shown",
            f"the client's page in {out} is not as the run left it",
            hint="run the order again, and show that page",
        )
    if given.scan is not None:
        kept[f"{shown.code}-signed-{safe_name(given.scan.name)}"] = _signed_page(given.scan)
    approval = Approval(
        by=given.by.strip(),
        on=given.on,
        note=given.note.strip(),
        shown=shown,
        files={f"{KEPT_IN}/{name}": sha256_of(data) for name, data in kept.items()},
    )
    for name, data in kept.items():
        write_if_changed(loaded.folder / KEPT_IN / name, data)
    enter(loaded.path, approval)
    return approval


def take_back(loaded: LoadedOrder, approval: Approval) -> None:
    """Strike an approval out of an order's diary; what was shown stays where it is kept.

    Raises OrderError ``not-approved`` where it does not stand there any more.
    """
    if not strike(loaded.path, approval):
        raise OrderError.of("not-approved", "that approval does not stand in the diary any more")


def _signed_page(path: Path) -> bytes:
    data = read_bytes(path)
    if not (_is_pdf(data) or is_picture(data) or data[4:8] == b"ftyp" or data[8:12] == b"WEBP"):
        raise FileError.of(
            "no-scan",
            "this is no PDF and no picture, so it is no scan of the signed page",
            place=Place(file=str(path)),
            hint="scan or photograph the page: PDF, JPEG, PNG, TIFF or HEIC",
        )
    return data


def _is_pdf(data: bytes) -> bool:
    return b"%PDF-" in data[:1024]


def _as_it_will_print(run: Run, piece: RecordedPiece) -> bool:
    """Tell whether a piece's artwork was read, and all its colours are matched on its pair."""
    matched = {it.colour for it in run.translations if it.pair == piece.pair}
    return any(it.piece == piece.name for it in run.artworks) and matched >= set(piece.colours)
