"""What a person says to the studio's book, how that is taken back, and what comes out of it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.knowledge.book import BookLine, book_line, changed_colour
from inkaccord.order.book import book_key
from inkaccord.order.wanted import Wanted
from inkaccord.recording.asked import AskedShelf
from inkaccord.shelf.kept import KeptColour
from inkaccord.shelf.store import Shelf
from inkaccord.words import quoted


@dataclass(frozen=True)
class SaidInBook:
    """What the book says of a colour now, and what it said before."""

    kept: KeptColour
    new: bool
    """Whether it did not say just that already."""
    before: KeptColour | None = None
    """The edition before this one; None where it had none."""
    findings: tuple[Diagnostic, ...] = ()


def say_in_book(
    source: AskedShelf,
    name: str,
    *,
    wanted: Wanted | None,
    by_eye: str | None,
    client: str | None,
    note: str | None,
) -> SaidInBook:
    """Put a colour into the book, or say otherwise of one that is there.

    What is not given stays as it was. Raises as
    :func:`~inkaccord.knowledge.book.changed_colour`.
    """
    before = _newest(source.shelf, name)
    standing = None if before is None or before.colour.struck else before.colour
    made, findings = changed_colour(
        name, standing, source, wanted=wanted, by_eye=by_eye, client=client, note=note
    )
    kept, new = source.shelf.book.add(made)
    return SaidInBook(kept, new, before, findings)


def strike(shelf: Shelf, name: str) -> SaidInBook:
    """Strike a colour out of the book. Raises OrderError ``no-such-colour``."""
    before = shelf.book.colour(name)
    kept, new = shelf.book.add(before.colour.model_copy(update={"struck": True}))
    return SaidInBook(kept, new, before)


def take_back(shelf: Shelf, said: SaidInBook) -> None:
    """Let the book say what it said before: by another edition, since nothing of it is lost.

    Raises OrderError ``said-since`` where it says something else by now.
    """
    colour = said.kept.colour
    newest = _newest(shelf, colour.name)
    if newest is None or newest.edition != said.kept.edition:
        raise OrderError.of(
            "said-since",
            f"the book says something else of {colour.name!r} since",
            hint="look at its editions, and say what it should look like",
        )
    if said.before is None:
        shelf.book.add(colour.model_copy(update={"struck": True}))
    else:
        shelf.book.add(said.before.colour)


def book_lines(
    source: AskedShelf, client: str | None, pairs: Sequence[Pair]
) -> tuple[list[BookLine], Sequence[Pair]]:
    """Return the colours of the book, or of a client, with their builds on some pairs or on all.

    Raises OrderError ``empty-book``.
    """
    kept = source.shelf.book.colours()
    if client is not None:
        kept = tuple(it for it in kept if book_key(it.colour.client) == book_key(client))
    if not kept:
        of = f" of {client}" if client else ""
        raise OrderError.of(
            "empty-book",
            f"the book has no colour{of}",
            hint="put one in: "
            + quoted("inkaccord", "book", "add", "Harbour green", "lab 41 -20 8"),
        )
    asked = pairs or source.pairs()
    return [book_line(it, asked, source) for it in kept], asked


def names_in_book(shelf: Shelf, names: Iterable[str]) -> tuple[str, ...]:
    """Return names as the book writes them, each once. Raises OrderError ``no-such-colour``."""
    return tuple(dict.fromkeys(shelf.book.colour(name).colour.name for name in names))


def _newest(shelf: Shelf, name: str) -> KeptColour | None:
    editions = shelf.book.editions(name)
    return editions[-1] if editions else None
