"""An order's diary: what happened with people, kept beside the order file.

It is no result, which a run could make again, and no knowledge of colour, which the shelf keeps for
all orders: it is about this one order, and goes where its folder goes. What sample sheets cost is
written by the run that asks for them; once they are printed, no later one could say it.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Literal

from pydantic import ValidationError

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.files import one_at_a_time, read_bytes, write_whole
from inkaccord.models import Frozen
from inkaccord.order.approving import Approval
from inkaccord.order.pricing import Charge
from inkaccord.order.sending import Sending


class SamplesPaid(Frozen):
    """What sample sheets cost that a vendor was to print: kept when they are long printed."""

    vendor: str
    sheets: tuple[str, ...]
    charges: tuple[Charge, ...]


class Diary(Frozen):
    """What was approved, and what was sent to whom, the earliest first; what samples cost."""

    format: Literal[1] = 1
    approvals: tuple[Approval, ...] = ()
    sendings: tuple[Sending, ...] = ()
    samples: tuple[SamplesPaid, ...] = ()

    @property
    def approval(self) -> Approval | None:
        """The last approval."""
        return self.approvals[-1] if self.approvals else None


def diary_of(order: Path) -> Path:
    """Return where the diary of an order file lies, which need not be there."""
    return order.with_suffix(".diary.json")


def read_diary(order: Path) -> Diary:
    """Return the diary of an order file; an empty one where there is none.

    Raises FileError for one that can't be read.
    """
    path = diary_of(order)
    if not path.exists():
        return Diary()
    try:
        return Diary.model_validate_json(read_bytes(path))
    except ValidationError as problem:
        first = problem.errors()[0]
        at = ".".join(map(str, first["loc"]))
        raise FileError.of(
            "bad-diary",
            f"the order's diary can't be read: {first['msg']}",
            place=Place(file=str(path), field=at or None),
            hint="put back an earlier copy; or move it away, which forgets all that it says",
        ) from problem


def enter(order: Path, entry: Approval | Sending) -> None:
    """Add an entry to the diary of an order file. Raises FileError as :func:`read_diary`."""
    _change(order, lambda it: it.model_copy(update=_with(it, entry)))


def keep_samples(order: Path, samples: tuple[SamplesPaid, ...]) -> None:
    """Write into the diary what an order's sample sheets cost. Raises FileError."""
    _change(order, lambda it: it.model_copy(update={"samples": samples}))


def strike(order: Path, entry: Approval | Sending) -> bool:
    """Strike an entry out of the diary of an order file; tell whether it stood there.

    Raises FileError as :func:`read_diary`.
    """
    return _change(order, lambda it: it.model_copy(update=_without(it, entry)))


def _with(diary: Diary, entry: Approval | Sending) -> dict[str, tuple[Approval | Sending, ...]]:
    if isinstance(entry, Approval):
        return {"approvals": (*diary.approvals, entry)}
    return {"sendings": (*diary.sendings, entry)}


def _without(diary: Diary, entry: Approval | Sending) -> dict[str, tuple[Approval | Sending, ...]]:
    return {
        "approvals": tuple(it for it in diary.approvals if it != entry),
        "sendings": tuple(it for it in diary.sendings if it != entry),
    }


def _change(order: Path, change: Callable[[Diary], Diary]) -> bool:
    """Change a diary as it stands when it is our turn; tell whether it is another then."""
    path = diary_of(order)
    with one_at_a_time(path.parent):
        diary = read_diary(order)
        changed = change(diary)
        if changed == diary:
            return False
        write_whole(path, (changed.model_dump_json(indent=1) + "\n").encode())
    return True
