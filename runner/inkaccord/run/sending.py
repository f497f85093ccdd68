"""What was sent, held against what a run makes now."""

from collections.abc import Iterable, Iterator, Sequence

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.order.sending import Sending, SentNow
from inkaccord.run.record import RecordedFile, RecordedPiece
from inkaccord.words import thousands


def sent_now(
    sendings: Iterable[Sending], pieces: Sequence[RecordedPiece], files: Sequence[RecordedFile]
) -> tuple[SentNow, ...]:
    """Return what each vendor was sent last, with what is otherwise in a run's pieces and files."""
    last = {it.vendor: it for it in sendings}
    return tuple(
        SentNow(
            vendor=vendor,
            on=sent.on,
            note=sent.note,
            changed=tuple(_changed(sent, asked_of(pieces, vendor), print_files_of(files, vendor))),
        )
        for vendor, sent in last.items()
    )


def print_files_of(files: Iterable[RecordedFile], vendor: str) -> dict[str, str]:
    """Return the print files of a vendor, each with its SHA-256."""
    return {it.path: it.sha256 for it in files if it.what == "print" and it.vendor == vendor}


def asked_of(pieces: Iterable[RecordedPiece], vendor: str) -> dict[str, int]:
    """Return how many of each piece a vendor is asked for."""
    return {it.name: it.quantity for it in pieces if it.vendor == vendor}


def said_of_sent(sent: Iterable[SentNow]) -> Iterator[Diagnostic]:
    """Yield a finding for each vendor who was sent what is not what goes now."""
    for then in sent:
        if then.changed:
            yield warning(
                "changed-after-sent",
                f"{then.vendor} was sent its files on {then.on}, and they are others now: "
                f"{'; '.join(then.changed)}",
                hint=f"tell {then.vendor} at once, send the zip of now, and then: "
                f"inkaccord sent ORDER {then.vendor}",
            )


def _changed(sent: Sending, copies: dict[str, int], files: dict[str, str]) -> Iterator[str]:
    for name in dict.fromkeys((*sent.files, *files)):
        file = name.rpartition("/")[2]
        if name not in files:
            yield f"{file} is not made any more"
        elif name not in sent.files:
            yield f"{file} was not sent"
        elif files[name] != sent.files[name]:
            yield f"{file} was changed"
    for piece in dict.fromkeys((*sent.copies, *copies)):
        was, is_now = sent.copies.get(piece), copies.get(piece)
        if was is not None and is_now is not None and was != is_now:
            yield f"{piece}: {thousands(was)} copies then, {thousands(is_now)} now"
