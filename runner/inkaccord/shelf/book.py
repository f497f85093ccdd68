"""The studio's book on the shelf: what it says of each colour, and what it said before.

Nothing that it said is changed. A colour that is added again, otherwise, has another edition; one
that is struck has one that says so. Which edition an order was first run with is kept too.
"""

import datetime
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

import sqlalchemy as sa

from inkaccord.errors import OrderError
from inkaccord.order.book import BookColour, book_key
from inkaccord.shelf.databases import AnyDatabase
from inkaccord.shelf.kept import BookUse, KeptColour
from inkaccord.shelf.place import SHELF_OF_ITS_OWN
from inkaccord.shelf.schema import book, book_uses

_LISTED = 12


@dataclass(frozen=True)
class ColourBook:
    """The book of an open shelf."""

    database: AnyDatabase
    by: str
    clock: Callable[[], datetime.datetime]

    def colours(self) -> tuple[KeptColour, ...]:
        """Return the newest edition of every colour that is in the book, by name."""
        with self.database.reading() as connection:
            every = editions_in(connection)
        newest = {kept.colour.key: kept for kept in every}
        return tuple(kept for _, kept in sorted(newest.items()) if not kept.colour.struck)

    def editions(self, name: str) -> tuple[KeptColour, ...]:
        """Return all that the book ever said of a colour, the oldest first."""
        with self.database.reading() as connection:
            return editions_in(connection, book_key(name))

    def colour(self, name: str, edition: int | None = None) -> KeptColour:
        """Return what the book says of a colour now, or said in an earlier edition.

        Raises OrderError ``no-such-colour`` with near names, ``no-such-edition``.
        """
        editions = self.editions(name)
        if not editions or (edition is None and editions[-1].colour.struck):
            raise self._unknown(name, struck=bool(editions))
        if edition is None:
            return editions[-1]
        found = next((kept for kept in editions if kept.edition == edition), None)
        if found is None:
            raise OrderError.of(
                "no-such-edition",
                f"the book has no edition {edition} of {editions[-1].colour.name!r}; it has "
                f"{', '.join(str(kept.edition) for kept in editions)}",
                hint=f"'inkaccord book show {editions[-1].colour.name!r}' says what each says",
            )
        return found

    def _unknown(self, name: str, *, struck: bool) -> OrderError:
        known = {kept.colour.key: kept.colour.name for kept in self.colours()}
        near = get_close_matches(book_key(name), known, n=2, cutoff=0.6)
        listed = ", ".join(list(known.values())[:_LISTED]) + (" …" if len(known) > _LISTED else "")
        said = f"{name!r} was struck out of the book" if struck else f"the book has no {name!r}"
        return OrderError.of(
            "no-such-colour",
            said + (f"; it has {listed}" if known else ", it is empty"),
            hint=f"did you mean {' or '.join(repr(known[it]) for it in near)}?"
            if near
            else f"'inkaccord book add NAME COLOUR' puts a colour in{SHELF_OF_ITS_OWN}",
        )

    def add(self, colour: BookColour) -> tuple[KeptColour, bool]:
        """Keep what the book says of a colour now; False where it said just that already."""
        before = self.editions(colour.name)
        if before and before[-1].colour == colour:
            return before[-1], False
        with self.database.writing() as connection:
            before = editions_in(connection, colour.key)
            if before and before[-1].colour == colour:
                return before[-1], False
            kept = KeptColour(
                colour=colour,
                edition=before[-1].edition + 1 if before else 1,
                added_at=self.clock(),
                added_by=self.by,
            )
            _insert(connection, kept)
        return kept, True

    def uses(self, order: str) -> Mapping[str, BookUse]:
        """Return with which edition an order was first run, by its colour."""
        with self.database.reading() as connection:
            return {use.colour: use for use in uses_in(connection) if use.order == order}

    def use(self, uses: Iterable[BookUse]) -> None:
        """Remember with which edition an order was run; writes nothing where that is known."""
        wanted = list(uses)
        if not wanted:
            return
        with self.database.reading() as connection:
            known = set(uses_in(connection))
        if not set(wanted) <= known:
            with self.database.writing() as connection:
                for use in wanted:
                    put_use(connection, use)


def content_of(colour: BookColour) -> str:
    """Return what the book says of a colour as text; the same for the same."""
    content = colour.model_dump(mode="json", exclude_defaults=True)
    return json.dumps(content, ensure_ascii=False, sort_keys=True)


def digest_of(key: str, edition: int, content: str) -> str:
    """Return the digest by which damage to an edition is found."""
    return hashlib.sha256(f"{key}\n{edition}\n{content}".encode()).hexdigest()


def editions_in(connection: sa.Connection, key: str | None = None) -> tuple[KeptColour, ...]:
    """Return all editions, of one colour or of all, the oldest of each first."""
    query = sa.select(book).order_by(book.c.key, book.c.edition)
    if key is not None:
        query = query.where(book.c.key == key)
    return tuple(
        KeptColour(
            colour=BookColour.model_validate(json.loads(row.content)),
            edition=row.edition,
            added_at=row.added_at,
            added_by=row.added_by,
        )
        for row in connection.execute(query)
    )


def changed_editions(connection: sa.Connection) -> tuple[str, ...]:
    """Return the names of editions that no longer fit their digests."""
    return tuple(
        f"{row.key}, edition {row.edition}"
        for row in connection.execute(sa.select(book))
        if digest_of(row.key, row.edition, row.content) != row.digest
    )


def put_colour(connection: sa.Connection, kept: KeptColour) -> bool:
    """Take in an edition from elsewhere, unless it is here; its number is the next where taken."""
    here = editions_in(connection, kept.colour.key)
    if any((it.colour, it.added_at) == (kept.colour, kept.added_at) for it in here):
        return False
    taken = {it.edition for it in here}
    number = max(taken) + 1 if kept.edition in taken else kept.edition
    _insert(connection, kept.model_copy(update={"edition": number}))
    return True


def uses_in(connection: sa.Connection) -> tuple[BookUse, ...]:
    """Return with which editions orders were run."""
    query = sa.select(book_uses).order_by(book_uses.c.order_name, book_uses.c.colour)
    return tuple(
        BookUse(order=row.order_name, colour=row.colour, key=row.key, edition=row.edition)
        for row in connection.execute(query)
    )


def put_use(connection: sa.Connection, use: BookUse) -> None:
    """Remember a use; a later one of the same colour takes its place."""
    same = (book_uses.c.order_name == use.order) & (book_uses.c.colour == use.colour)
    connection.execute(sa.delete(book_uses).where(same))
    row = {"order_name": use.order, "colour": use.colour, "key": use.key, "edition": use.edition}
    connection.execute(sa.insert(book_uses), row)


def _insert(connection: sa.Connection, kept: KeptColour) -> None:
    content = content_of(kept.colour)
    connection.execute(
        sa.insert(book),
        {
            "key": kept.colour.key,
            "edition": kept.edition,
            "content": content,
            "digest": digest_of(kept.colour.key, kept.edition, content),
            "added_at": kept.added_at.isoformat(),
            "added_by": kept.added_by,
        },
    )
