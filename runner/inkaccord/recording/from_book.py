"""The colours of an order that the studio's book names: what the book says, or said then."""

from dataclasses import replace

from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.knowledge.asking import print_of
from inkaccord.knowledge.swatch_set import know_pair
from inkaccord.order.book import BookColour, FromBook, book_key
from inkaccord.order.colours import Aim
from inkaccord.order.loading import LoadedOrder
from inkaccord.recording.intake import device_of
from inkaccord.shelf.kept import BookUse, KeptColour
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.store import Shelf
from inkaccord.words import quoted


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
                finding.model_copy(update={"place": place}) for finding in problem.findings
            ) from problem
        newest = shelf.book.editions(wanted)[-1]
        aim, words = kept.colour.aim, kept.colour.aim.words
        if aim.on is not None and device_of(aim.on, loaded.order) is None:
            aim, bound = _as_printed(kept.colour, shelf, place)
            words = f"{words}: {aim.words}, known to ±{bound:.1f} ΔE00"
        said.append(_told(name, kept, newest, words))
        colours[name] = brand.model_copy(update={"aim": aim})
        looks_otherwise = newest.colour.struck or newest.colour.aim != kept.colour.aim
        if looks_otherwise and brand.aim.edition is None:
            findings.append(_changed(kept, newest).model_copy(update={"place": place}))
    if not said:
        return loaded
    order = loaded.order.model_copy(update={"colours": colours})
    return replace(loaded, order=order, findings=(*loaded.findings, *findings), book=tuple(said))


def look_up(loaded: LoadedOrder, shelf: ShelfPlace) -> LoadedOrder:
    """Return an order as :func:`with_book` does, for a look ahead: no shelf is made for it.

    An order with evidence is given back as it is: a run takes that in first, its book too.
    Raises OrderError as :func:`with_book` does; a shelf that is not there has an empty book.
    """
    if loaded.order.evidence:
        return loaded
    with Shelf.open(shelf) as opened:
        return with_book(loaded, opened)


def uses_of(loaded: LoadedOrder) -> tuple[BookUse, ...]:
    """Return with which editions an order is run, to be remembered."""
    return tuple(
        BookUse(
            order=loaded.order.order,
            colour=said.colour,
            key=book_key(said.name),
            edition=said.edition,
        )
        for said in loaded.book
    )


def _as_printed(colour: BookColour, shelf: Shelf, place: Place) -> tuple[Aim, float]:
    """Return what a print looks like, of a pair whose device an order does not have, and how sure.

    Raises OrderError ``unread-aim`` for a pair that nobody has read.
    """
    aim = colour.aim
    assert aim.on is not None  # noqa: S101 -- callers have looked
    assert aim.build is not None  # noqa: S101 -- the two go together
    known = know_pair(shelf.evidence_of([aim.on])[aim.on], aim.on)
    if not known.is_read:
        raise OrderError.of(
            "unread-aim",
            f"the book has {colour.name!r} {aim.words}, a pair that is not read, and whose device "
            "this order does not have",
            place=place,
            hint=f"record a sheet of {aim.on}, or give the book its CIELAB: "
            + quoted("inkaccord", "book", "add", colour.name, "lab L a b"),
        )
    seen = print_of(colour.name, aim.build, known)
    assert seen.lab is not None  # noqa: S101 -- a print has a colour
    lightness, a, b = (round(value, 2) for value in seen.lab)
    return Aim(lab=(lightness, a, b)), seen.bound


def _told(colour: str, kept: KeptColour, newest: KeptColour, words: str) -> FromBook:
    return FromBook(
        colour=colour,
        name=kept.colour.name,
        edition=kept.edition,
        newest=newest.edition,
        aim=words,
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
