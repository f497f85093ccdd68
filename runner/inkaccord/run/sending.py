"""What was sent, held against what a run makes now, and what that asks of a person."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

from inkaccord.errors import ExitCode
from inkaccord.order.sending import Sending, SentNow
from inkaccord.run.plan import NextStep, StepKind
from inkaccord.run.printed import builds_at, inks_printed
from inkaccord.run.record import PieceStatus, RecordedFile, RecordedPiece, Run
from inkaccord.words import quoted, thousands

_Value = TypeVar("_Value")
NOT_SENT = " was not sent"


def with_sent(run: Run, sendings: Iterable[Sending], *, held: bool) -> Run:
    """Return the record of a run with what was sent, and with what that asks for before all else.

    So whether a person is waited for is told here: of a record that is done but for that. ``held``
    tells that no zip is made yet, since the client has to approve first.
    """
    sent = sent_now(sendings, run)
    steps = (
        *_steps(sent, run, held=held),
        *(it for it in run.next if it.kind is not StepKind.SEND),
    )
    code = run.exit_code
    if code in {ExitCode.DONE, ExitCode.WAITING}:
        all_ready = all(it.status is PieceStatus.READY for it in run.pieces)
        code = ExitCode.WAITING if steps or not all_ready else ExitCode.DONE
    return run.model_copy(update={"sent": sent, "next": steps, "exit_code": code})


def sent_now(sendings: Iterable[Sending], run: Run) -> tuple[SentNow, ...]:
    """Return what each vendor was sent last, with what is otherwise in a run.

    Who was told since that nothing of it goes is as if nothing had been sent.
    """
    last = {it.vendor: it for it in sendings}
    return tuple(
        SentNow(
            vendor=vendor,
            on=sent.on,
            note=sent.note,
            changed=tuple(_changed(sent, sent.model_copy(update=contents_of(run, vendor)))),
        )
        for vendor, sent in last.items()
        if sent.files
    )


def contents_of(run: Run, vendor: str) -> dict[str, Any]:
    """Return what a :class:`Sending` to a vendor would hold now: files, copies and builds."""
    pieces = [it for it in run.pieces if it.vendor == vendor]
    return {
        "files": print_files_of(run.files, vendor),
        "copies": {it.name: it.quantity for it in pieces},
        "builds": builds_of(run, pieces),
    }


def print_files_of(files: Iterable[RecordedFile], vendor: str) -> dict[str, str]:
    """Return the print files of a vendor, each with its SHA-256."""
    return {it.path: it.sha256 for it in files if it.what == "print" and it.vendor == vendor}


def builds_of(run: Run, pieces: Iterable[RecordedPiece]) -> dict[str, str]:
    """Return the build of each brand colour and tint on some pieces that are ready, in words."""
    ready = [it for it in pieces if it.status is PieceStatus.READY]
    found = builds_at(inks_printed(run, ready), run.translations)
    return {place.words: build for place, build in found.items()}


def called_back(run: Run) -> list[SentNow]:
    """Return the sendings that no longer hold, of vendors who have no print files now."""
    return [it for it in run.sent if it.changed and not print_files_of(run.files, it.vendor)]


def to_be_sent(run: Run, sendings: Iterable[Sending]) -> list[str]:
    """Return the vendors that are to be sent files or word, those with what does not hold first."""
    sent = sent_now(sendings, run)
    holds = {it.vendor for it in sent if not it.changed}
    ready = (it.vendor for it in run.files if it.what == "package" and it.vendor)
    both = dict.fromkeys((*(it.vendor for it in sent if it.changed), *ready))
    return [it for it in both if it not in holds]


def _steps(sent: Iterable[SentNow], run: Run, *, held: bool) -> Iterator[NextStep]:
    """Yield what is to be done for each vendor who was sent what is not what goes now."""
    for then in sent:
        if not then.changed:
            continue
        theirs = [it for it in run.pieces if it.vendor == then.vendor]
        what = "; ".join(then.changed)
        if not print_files_of(run.files, then.vendor):
            later = ", and that others follow" if theirs else ""
            text = (
                f"Tell {then.vendor} at once that nothing is to be printed from what it was sent "
                f"on {then.on}{later}: {what}. Then take that down."
            )
        elif held:
            text = (
                f"Tell {then.vendor} at once that what it was sent on {then.on} is not what goes, "
                f"and that others follow once the client has approved: {what}."
            )
        elif all(it.endswith(NOT_SENT) for it in then.changed):
            text = (
                f"Send {then.vendor} the rest: there is more now than what it was sent on "
                f"{then.on}: {what}. Then take that down."
            )
        else:
            text = (
                f"Tell {then.vendor} at once: it was sent its files on {then.on}, and they are "
                f"others now: {what}. Send it the zip of now, and take that down."
            )
        yield NextStep(
            kind=StepKind.SEND,
            text=text,
            command=quoted("inkaccord", "sent", "ORDER", then.vendor),
            pieces=tuple(it.name for it in theirs),
            vendor=then.vendor,
        )


def _changed(sent: Sending, now: Sending) -> Iterator[str]:
    for name in dict.fromkeys((*sent.files, *now.files)):
        file = name.rpartition("/")[2]
        if name not in now.files:
            yield f"{file} is not made any more"
        elif name not in sent.files:
            yield f"{file}{NOT_SENT}"
        elif now.files[name] != sent.files[name]:
            yield f"{file} was changed"
    for piece, (was, is_now) in _both(sent.copies, now.copies):
        yield f"{piece}: {thousands(was)} copies then, {thousands(is_now)} now"
    for place, (build, other) in _both(sent.builds, now.builds):
        yield f"{place}: {build} then, {other} now"


def _both(
    then: Mapping[str, _Value], now: Mapping[str, _Value]
) -> Iterator[tuple[str, tuple[_Value, _Value]]]:
    """Yield what stands in both and is otherwise, with both values."""
    for name, was in then.items():
        if name in now and now[name] != was:
            yield name, (was, now[name])
