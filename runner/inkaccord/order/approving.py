"""What a client is shown of an order and signs for, and whether an approval still covers it."""

import datetime
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import Field

from inkaccord.files import read_bytes, sha256_of
from inkaccord.models import Frozen
from inkaccord.order.inputs import OrderInputs
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.words import thousands

_UNSEEN = frozenset(
    {"artwork", "device", "stock", "per_suite", "extra", "trim", "bleed", "waive", "accept"}
    | {"tolerance", "neutrals", "profiled"}
)
"""Fields of a piece that a client is not shown, or is shown as something else."""
_UNSEEN_OF_COLOURS = frozenset({"prefer", "tolerance", "aim"})


class SignedPiece(Frozen):
    """One piece as it was shown.

    Attributes
    ----------
    artwork, table
        SHA-256 of its file, and of its table of records; empty where there is none.
    asked
        What the order asks for of its look, by field.
    """

    artwork: str
    table: str = ""
    copies: int
    size: str
    stock: str
    asked: dict[str, Any]


class SignedFor(Frozen):
    """All that a client signs for: words, images, sizes, numbers, stocks, which colour is where.

    Not what a colour comes to on a stock: a new reading takes no approval back.
    """

    pieces: dict[str, SignedPiece]
    colours: dict[str, dict[str, Any]]
    finishes: dict[str, dict[str, Any]] = Field(default_factory=dict)

    @property
    def digest(self) -> str:
        """SHA-256 of it all, whatever the order in which it is written."""
        data = self.model_dump(mode="json")
        return sha256_of(json.dumps(data, sort_keys=True, ensure_ascii=False).encode())

    @property
    def code(self) -> str:
        """What the client's page calls it, short enough to be read out."""
        return code_of(self.digest)


class Approval(Frozen):
    """That somebody approved what was shown.

    Attributes
    ----------
    files
        SHA-256 of the pages that were shown and of the signed one, by where they are kept, from the
        order's folder.
    """

    by: str = Field(min_length=1)
    on: datetime.date
    note: str = ""
    shown: SignedFor
    files: dict[str, str] = Field(default_factory=dict)


class ApprovalNow(Frozen):
    """The last approval of an order, and what of it no longer holds."""

    by: str
    on: datetime.date
    note: str = ""
    code: str
    """What the client's page was called that was shown."""
    changed: tuple[str, ...] = ()
    """What is otherwise than it was shown, in words; nothing where the approval covers all."""

    @property
    def covers(self) -> bool:
        """Whether everything is as it was shown."""
        return not self.changed


def code_of(digest: str) -> str:
    """Return the first eight digits of a digest as a person reads them: ``4F2A-91C3``."""
    return f"{digest[:4]}-{digest[4:8]}".upper()


def shown_of(loaded: LoadedOrder, files: Mapping[Path, bytes | None] | None = None) -> SignedFor:
    """Return what a client is shown of an order, whose book was asked.

    ``files`` are the bytes of what was read already. Raises FileError for an artwork or a table
    that can't be read.
    """
    order, inputs = loaded.order, OrderInputs.of(loaded)

    def digest_of(path: Path) -> str:
        data = (files or {}).get(path)
        return sha256_of(read_bytes(path) if data is None else data)

    from_book = {it.colour: f"{it.name}, edition {it.edition}" for it in loaded.book}
    return SignedFor(
        pieces={
            name: SignedPiece(
                artwork=digest_of(inputs.artworks[name]),
                table=digest_of(inputs.tables[name]) if name in inputs.tables else "",
                copies=job.quantity,
                size=str(job.piece.trim),
                stock=_stock(order, job.pair.stock),
                asked=_asked(order, name),
            )
            for name, job in order.jobs.items()
        },
        colours={
            name: {
                "aim": from_book.get(name) or colour.aim.words,
                **colour.model_dump(
                    mode="json", exclude_defaults=True, exclude=set(_UNSEEN_OF_COLOURS)
                ),
            }
            for name, colour in order.colours.items()
        },
        finishes={
            name: finish.model_dump(mode="json", exclude_defaults=True)
            for name, finish in order.finishes.items()
        },
    )


def approval_now(last: Approval | None, shown: SignedFor) -> ApprovalNow | None:
    """Return what an order's last approval says of what it would show now."""
    if last is None:
        return None
    return ApprovalNow(
        by=last.by,
        on=last.on,
        note=last.note,
        code=last.shown.code,
        changed=tuple(changes(last.shown, shown)),
    )


def is_held_for_approval(order: Order, approval: ApprovalNow | None) -> bool:
    """Tell whether no zip may be made, since the order wants a client's approval first."""
    return order.approval_first and (approval is None or not approval.covers)


def changes(then: SignedFor, now: SignedFor) -> Iterator[str]:
    """Yield what is otherwise than it was, in words, a line for each."""
    for name in dict.fromkeys((*then.pieces, *now.pieces)):
        was, is_now = then.pieces.get(name), now.pieces.get(name)
        if was is None or is_now is None:
            yield f"{name}: {'a piece more' if was is None else 'a piece less'}"
            continue
        if was.artwork != is_now.artwork:
            yield f"{name}: its artwork was changed"
        if was.copies != is_now.copies:
            yield f"{name}: {thousands(was.copies)} copies then, {thousands(is_now.copies)} now"
        if was.size != is_now.size:
            yield f"{name}: {was.size} then, {is_now.size} now"
        if was.stock != is_now.stock:
            yield f"{name}: on {was.stock} then, on {is_now.stock} now"
    yield from asked_changes(then, now)


def asked_changes(then: SignedFor, now: SignedFor) -> Iterator[str]:
    """Yield what is asked for otherwise than it was, of what no run records, in words."""
    for name in (it for it in then.pieces if it in now.pieces):
        was, is_now = then.pieces[name], now.pieces[name]
        if was.table != is_now.table:
            yield f"{name}: its table of records was changed"
        yield from _fields(name, was.asked, is_now.asked)
    for what, before, after in (
        ("colour", then.colours, now.colours),
        ("finish", then.finishes, now.finishes),
    ):
        for name in dict.fromkeys((*before, *after)):
            if name not in before or name not in after:
                yield f"{name}: a {what} {'more' if name not in before else 'less'}"
            else:
                yield from _fields(name, before[name], after[name])


def _fields(name: str, then: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for field in dict.fromkeys((*then, *now)):
        was, is_now = then.get(field), now.get(field)
        if was == is_now:
            continue
        if all(isinstance(it, str | int | None) for it in (was, is_now)):
            yield f"{name}: {field} {_word(was)} then, {_word(is_now)} now"
        else:
            yield f"{name}: '{field}' was changed"


def _word(value: str | int | None) -> str:
    return "not said" if value is None or value == "" else str(value)


def _stock(order: Order, name: str) -> str:
    stock = order.stocks[name]
    return ", ".join(it for it in (name, stock.weight or "", stock.description) if it)


def _asked(order: Order, name: str) -> dict[str, Any]:
    piece = order.pieces[name]
    written = piece.model_dump(mode="json", exclude_defaults=True, exclude=set(_UNSEEN))
    return {
        "photographs": str(order.photographs),
        "neutrals": str(order.neutrals_of(name)),
        "profiled": str(order.profiled_of(name)),
        **written,
    }
