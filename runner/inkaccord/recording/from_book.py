"""The colours of an order that the studio's book names: what the book says, or said then."""

from dataclasses import replace

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.order.book import FromBook, book_key
from inkaccord.order.loading import LoadedOrder
from inkaccord.shelf.kept import BookUse, KeptColour
from inkaccord.shelf.store import Shelf


def with_book(loaded: LoadedOrder, shelf: Shelf) -> LoadedOrder:
    """Return an order with the aims that the book has for its colours.

    An order that was run before keeps the edition that it was first run with; a finding says where
    the book has changed since. ``edition`` in the order names another.

    Raises OrderError, at the order's line, for a colour or an edition that the book does not have.
    """
    used = shelf.book.uses(loaded.order.order)
    colours = dict(loaded.order.colours)
    said: list[FromBook] = []
    findings: list[Diagnostic] = []
    for name, brand in colours.items():
        wanted = brand.aim.from_book
        if wanted is None:
            continue
        edition = brand.aim.edition
        before = used.get(name)
        if edition is None and before is not None and before.key == book_key(wanted):
            edition = before.edition
        place = loaded.source.place(("colours", name, "aim", "from_book"))
        try:
            kept = shelf.book.colour(wanted, edition)
        except InkaccordError as problem:
            raise OrderError(
                it.model_copy(update={"place": place}) for it in problem.findings
            ) from problem
        newest = shelf.book.editions(wanted)[-1]
        said.append(_told(name, kept, newest))
        colours[name] = brand.model_copy(update={"aim": kept.colour.aim})
        if newest.edition != kept.edition and brand.aim.edition is None:
            findings.append(_changed(kept, newest).model_copy(update={"place": place}))
    if not said:
        return loaded
    order = loaded.order.model_copy(update={"colours": colours})
    return replace(loaded, order=order, findings=(*loaded.findings, *findings), book=tuple(said))


def uses_of(loaded: LoadedOrder) -> tuple[BookUse, ...]:
    """Return with which editions an order is run, to be remembered."""
    return tuple(
        BookUse(
            order=loaded.order.order,
            colour=it.colour,
            key=book_key(it.name),
            edition=it.edition,
        )
        for it in loaded.book
    )


def _told(colour: str, kept: KeptColour, newest: KeptColour) -> FromBook:
    return FromBook(
        colour=colour,
        name=kept.colour.name,
        edition=kept.edition,
        newest=newest.edition,
        aim=kept.colour.aim.words,
        client=kept.colour.client,
        note=kept.colour.note,
    )


def _changed(kept: KeptColour, newest: KeptColour) -> Diagnostic:
    since = newest.added_at.date().isoformat()
    now = (
        "has struck it out"
        if newest.colour.struck
        else f"says: {newest.colour.aim.words} (edition {newest.edition})"
    )
    return warning(
        "book-changed",
        f"the book has changed {kept.colour.name!r} since this order was first run; on {since} it "
        f"{now}. The order keeps edition {kept.edition}: {kept.colour.aim.words}",
        hint=None
        if newest.colour.struck
        else f"to take it, write 'edition: {newest.edition}' beside 'from_book'",
    )
