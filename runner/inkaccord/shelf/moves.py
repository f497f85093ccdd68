"""Where sheets went on paper: to be printed, back, and where each lies."""

from collections.abc import Iterable

import sqlalchemy as sa

from inkaccord.shelf.kept import Move, MoveKind
from inkaccord.shelf.schema import moves

_IN_TURN = sa.case({kind.value: at for at, kind in enumerate(MoveKind)}, value=moves.c.kind)
"""The order of moves in one second: what went off comes back, is laid somewhere, and then lent."""


def put_move(connection: sa.Connection, sheet_id: str, move: Move) -> None:
    """Keep a move of a sheet; of two of one kind in one second the later stands."""
    row = move.model_dump(mode="json") | {"sheet_id": sheet_id, "at": move.at.isoformat()}
    same = [moves.c[name] == row[name] for name in ("sheet_id", "at", "kind")]
    connection.execute(sa.delete(moves).where(*same))
    connection.execute(sa.insert(moves), row)


def moves_of(connection: sa.Connection, sheets: Iterable[str]) -> dict[str, tuple[Move, ...]]:
    """Return the moves of some sheets, the earliest first; nothing for a sheet without any."""
    query = sa.select(moves).where(moves.c.sheet_id.in_(sheets))
    found: dict[str, tuple[Move, ...]] = {}
    for row in connection.execute(query.order_by(moves.c.at, _IN_TURN)):
        move = Move(
            kind=row.kind,
            at=row.at,
            place=row.place,
            by=row.by,
            copies=row.copies,
            in_light=row.in_light,
        )
        found[row.sheet_id] = (*found.get(row.sheet_id, ()), move)
    return found
