"""An order begun from last season's: the same suite, what is known, and what to think about."""

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.files import read_bytes, safe_name, sha256_of, write_whole
from inkaccord.knowledge.aims import picked_aim
from inkaccord.knowledge.holdings import gather
from inkaccord.knowledge.pairs import PairKnowledge, learn_pair
from inkaccord.order.diary import read_diary
from inkaccord.order.inputs import OrderInputs
from inkaccord.order.kinds import VendorKind
from inkaccord.order.loading import ORDER_FILE, LoadedOrder, load_order
from inkaccord.order.model import Release
from inkaccord.recall.recall import Recall, computed
from inkaccord.shelf.place import ShelfPlace, is_there, place_of
from inkaccord.shelf.store import Shelf
from inkaccord.starter.order import Begun, check_is_new
from inkaccord.words import counted, day, joined, visible

_MODELINE = "# yaml-language-server:"
_THOUGHTS = re.compile(r"# From '[^\n]*' of \S+ Think about:\r?\n(?:# - [^\n]*\n)*(?:\r?\n)?")
"""What stands at the head of an order that was begun from an earlier one."""


@dataclass(frozen=True)
class LastSeason:
    """An order that was made before.

    Attributes
    ----------
    loaded
        The order, as its file stands.
    shelf
        Where its shelf is.
    artworks
        SHA-256 of each piece's artwork in its last run; nothing where it never ran.
    recall
        What may know what the pairs print.
    """

    loaded: LoadedOrder
    shelf: ShelfPlace
    artworks: Mapping[str, str]
    recall: Recall = computed


def begin_again(
    folder: Path,
    last: LastSeason,
    today: datetime.date,
    kinds: Mapping[str, VendorKind],
) -> Begun:
    """Write an order into a new or empty folder, from one that was made before.

    Its file is copied with all its comments; name and date are new, and the due date is left out.
    Artwork and all other files that lie in the last order's folder are copied, and so is a shelf of
    its own, so that nothing known has to be printed again.

    Raises
    ------
    InkaccordError
        What is wrong with the folder, or where the order can't be taken over. Then nothing is
        written.
    """
    check_is_new(folder)
    thoughts = to_think(last, today)
    text = _rewritten(last.loaded, safe_name(folder.resolve().name), today, thoughts)
    again = load_order(folder / ORDER_FILE, kinds, text.encode())
    _check_rewritten(again, folder, today)
    copies = _copies(last.loaded, folder)
    for path, data in copies.items():
        write_whole(path, data)
    own = _own_shelf(last, folder)
    if own is not None:
        own.parent.mkdir(parents=True, exist_ok=True)
        with Shelf.open(last.shelf) as shelf:
            shelf.copies.back_up(own)
    write_whole(folder / ORDER_FILE, text.encode())
    made = (folder / ORDER_FILE, *copies, *((own,) if own is not None else ()))
    return Begun(made, thoughts)


def to_think(last: LastSeason, today: datetime.date) -> tuple[Diagnostic, ...]:
    """Return what a person must think about before an order is made once more.

    Dates, quantities, names of devices and stocks, pairs that the shelf no longer trusts, aims that
    rest on looks or of which the book says otherwise now, artwork that is gone or was changed
    since, what was accepted then, and that no approval is taken over.
    """
    known = _known(last, today)
    return (*_dates(last.loaded), *_quantities(last.loaded), _names(), *_untrusted(known),
            *_by_eye(last.loaded, known.values()), *_book(last), *_artwork(last),
            *_accepted(last.loaded), *_approved(last.loaded))  # fmt: skip


def _dates(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    due = loaded.order.due
    was = f"last time it was {day(due)}" if due else "last time there was none"
    yield note("again-due", f"due: say when it is wanted; {was}")
    title = loaded.order.title
    said = f"it is still {title!r}" if title else "it has none yet"
    yield note("again-title", f"title: {said}")


def _quantities(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    order = loaded.order
    more = [f"{name} {piece.extra} more" for name, piece in order.pieces.items() if piece.extra]
    yield note(
        "again-suites",
        f"suites: last time {counted(order.suites, 'suite')}"
        + (f", and of {joined(more)}" if more else ""),
    )
    tables = [name for name, piece in order.pieces.items() if piece.merge is not None]
    if tables:
        of = (
            f"table of {tables[0]} holds"
            if len(tables) == 1
            else f"tables of {joined(tables)} hold"
        )
        yield note("again-records", f"the {of} last time's records")


def _names() -> Diagnostic:
    return note(
        "again-names",
        "devices and stocks: the shelf knows them by name. One that was replaced takes a new name; "
        "a stock that its mill merely calls otherwise keeps its own, with the mill's as its "
        "'description'",
    )


def _known(last: LastSeason, today: datetime.date) -> dict[Pair, PairKnowledge | None]:
    """Return what is known today of each pair of an order; None where the shelf is not there."""
    order = last.loaded.order.model_copy(update={"date": today})
    pairs = order.pairs_needed()
    if not is_there(last.shelf):  # nothing is created where there was no shelf
        return dict.fromkeys(pairs)
    with Shelf.open(last.shelf) as shelf:
        holdings = gather(shelf, order, pairs)
    return {pair: learn_pair(order, holdings, pair, last.recall) for pair in pairs}


def _untrusted(pairs: Mapping[Pair, PairKnowledge | None]) -> Iterator[Diagnostic]:
    """Yield the pairs of which the shelf knows nothing, or that it no longer trusts."""
    for pair, known in pairs.items():
        if known is None or not (known.kept or known.picks):
            yield warning("again-unread", f"{pair}: the shelf knows nothing of it")
        elif known.looks_aged:
            yield warning(
                "again-stale",
                f"{pair}: what the eye picked on it is old: {known.looks_aged}",
                hint=f"'inkaccord shelf draw {known.last_looked_at}' draws its sheet once more: "
                "print that, and look again",
            )
        elif known.stale:
            yield warning(
                "again-stale",
                f"{pair}: the shelf no longer trusts it alone: {known.stale}",
                hint="a run says what to print; twelve controls may do",
            )


def _by_eye(loaded: LoadedOrder, pairs: Iterable[PairKnowledge | None]) -> Iterator[Diagnostic]:
    """Yield the aims that rest on looks at the order's pairs: with a pair its looks go too."""
    known = [it for it in pairs if it is not None and it.is_read]
    for colour, brand in loaded.order.colours.items():
        if brand.aim.by_eye is None:
            continue
        aim = picked_aim(colour, known, place=Place())
        seen = [str(it.pair) for it in known if any(one.pick.colour == colour for one in it.picks)]
        if aim.lab is None or not seen:
            continue
        lightness, a, b = (f"{value:.1f}" for value in aim.lab)
        yield note(
            "again-by-eye",
            f"{colour}: what {brand.aim.by_eye} looks like was picked on {joined(seen)}; looks at "
            "a pair that this order leaves count no more",
            hint=f"to hold it as it was then, write aim: {{lab: [{lightness}, {a}, {b}]}}",
        )


def _book(last: LastSeason) -> Iterator[Diagnostic]:
    """Yield the colours of which the book says otherwise now: another order begins with that."""
    order = last.loaded.order
    asked = {
        name: brand.aim.from_book
        for name, brand in order.colours.items()
        if brand.aim.from_book is not None and brand.aim.edition is None
    }
    if not asked or not is_there(last.shelf):
        return
    with Shelf.open(last.shelf) as shelf:
        used = shelf.book.uses(order.order)
        editions = {name: shelf.book.editions(wanted) for name, wanted in asked.items()}
    for name, every in editions.items():
        now, use = every[-1], used.get(name)
        then = next((it for it in every if use is not None and it.edition == use.edition), None)
        if then is None or (now.colour.aim == then.colour.aim and not now.colour.struck):
            continue
        says = (
            "it is struck out"
            if now.colour.struck
            else f"{now.colour.aim.words} (edition {now.edition})"
        )
        yield warning(
            "again-book",
            f"{name}: the book says otherwise of {now.colour.name!r} now: {says}; last time "
            f"{then.colour.aim.words}",
            hint=f"for last time's, write 'edition: {then.edition}' beside 'from_book'",
        )


def _artwork(last: LastSeason) -> Iterator[Diagnostic]:
    for piece, path in OrderInputs.of(last.loaded).artworks.items():
        if not path.is_file():
            yield error("again-artwork", f"{piece}: its artwork {path.name} is not there any more")
        elif (then := last.artworks.get(piece)) and sha256_of(read_bytes(path)) != then:
            yield warning(
                "again-artwork", f"{piece}: its artwork {path.name} was changed since its last run"
            )


def _accepted(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Yield what was accepted then: it was a decision about that time's prints."""
    order = loaded.order
    if order.accept_by_eye:
        yield note(
            "again-accepted",
            "accept_by_eye: last time it was enough what the eye judged, and it still is, on other "
            "devices and stocks too",
            hint="take it out, and a run asks again once it knows how sure that is",
        )
    if order.release is Release.REGARDLESS:
        yield note(
            "again-accepted",
            "release: last time pieces went also where colours did not agree, and they still do",
            hint="take it out, and pieces are held until they agree",
        )
    for name, piece in order.pieces.items():
        if accepted := [*piece.accept, *piece.waive]:
            were, are = ("was", "is") if len(accepted) == 1 else ("were", "are")
            words = f"{name}: {joined(accepted)} {were} accepted then, and still {are}"
            yield note("again-accepted", words)


def _approved(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    last = read_diary(loaded.path).approval
    if last is not None:
        said = f"{last.by} approved last time's on {day(last.on)}; this one is to be approved anew"
        yield note("again-approval", f"approval: {said}")


def _rewritten(
    loaded: LoadedOrder, name: str, today: datetime.date, thoughts: tuple[Diagnostic, ...]
) -> str:
    """Return the order's file with a new name and date, no due date, and what to think about."""
    text = read_bytes(loaded.path).decode("utf-8-sig")
    for field, value in (("order", name), ("date", today.isoformat())):
        written = rf"(?m)^{field}:[ \t]*[^#\r\n]*?(?=[ \t]*(?:#|\r?$))"
        text = re.sub(written, f"{field}: {value}", text)
    text = re.sub(r"(?m)^(due:[^\r\n]*)", r"# \1   # last time's", text)
    order = loaded.order
    head = [f"# From '{order.order}' of {order.date}. Think about:"]
    head += [f"# - {visible(' '.join(it.message.split()))}" for it in thoughts]
    modeline, rest = "", text
    if text.startswith(_MODELINE):
        modeline, _, rest = text.partition("\n")
        modeline += "\n"
    end = "\r\n" if "\r\n" in text else "\n"
    before = _THOUGHTS.match(rest)  # last season's own list, of the season before it
    return modeline + end.join(head) + end * 2 + rest[before.end() if before else 0 :]


def _check_rewritten(again: LoadedOrder, folder: Path, today: datetime.date) -> None:
    """Raise OrderError where name or date could not be changed in the text."""
    order = again.order
    if (order.order, order.date, order.due) != (safe_name(folder.resolve().name), today, None):
        raise OrderError.of(
            "not-taken-over",
            "the last order's name and dates can't be changed in its text",
            hint="write 'order', 'date' and 'due' on lines of their own at its left edge, then try "
            "again",
        )


def _copies(loaded: LoadedOrder, folder: Path) -> dict[Path, bytes]:
    """Return the files that go with an order, by their new paths.

    Raises OrderError for one outside its folder that the new one would not find.
    """
    before, copies = loaded.folder, dict[Path, bytes]()
    for path in OrderInputs.of(loaded).contents():
        if not path.is_file():
            continue
        new = folder / path.relative_to(before) if path.is_relative_to(before) else path
        if path.resolve().is_relative_to(before.resolve()):
            copies[new] = read_bytes(path)
        elif new.resolve() != path.resolve():
            raise OrderError.of(
                "not-taken-over",
                f"{path} lies outside the last order's folder, and the new one would not find it",
                hint=f"begin the new order beside the last one: {before.parent / folder.name}",
            )
    return copies


def _own_shelf(last: LastSeason, folder: Path) -> Path | None:
    """Return where an order's own shelf goes; None where it has none in its folder, or no file."""
    written = last.loaded.order.shelf
    if written is None or not isinstance(last.shelf, Path) or not last.shelf.is_file():
        return None
    own = place_of(written)
    if not isinstance(own, Path):
        return None
    inside = (last.loaded.folder / own).resolve() == last.shelf.resolve()
    return folder / own if inside and not own.is_absolute() else None
