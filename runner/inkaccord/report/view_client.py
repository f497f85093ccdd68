"""What a client is told of an order: pieces, colours and stocks, and neither build nor distance."""

from dataclasses import dataclass

from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.run.bench import Bench
from inkaccord.run.gallery import LIST_PX, Gallery
from inkaccord.run.record import RecordedPiece, Run
from inkaccord.words import joined, thousands


@dataclass(frozen=True)
class PieceSeen:
    """One piece as a client is told of it.

    Attributes
    ----------
    facts
        Size, number, stock, finishing, each a few words.
    not_yet
        Why it is not shown as it will print; empty where it is.
    """

    name: str
    facts: tuple[str, ...]
    not_yet: str


@dataclass(frozen=True)
class ColourSeen:
    """A colour by name, and how it is expected to look on each stock that it is printed on."""

    name: str
    note: str
    prints: tuple["PrintSeen", ...]
    waiting: tuple[str, ...]
    """Stocks on which it is not found yet."""


@dataclass(frozen=True)
class PrintSeen:
    """A colour on a stock."""

    stock: str
    pieces: tuple[str, ...]
    paper: ScreenColour
    printed: ScreenColour


@dataclass(frozen=True)
class StockSeen:
    """A stock, and the pieces on it.

    Attributes
    ----------
    swatches
        Sheets of swatches that were printed on it, by which colour can be judged.
    """

    title: str
    paper: ScreenColour
    pieces: tuple[str, ...]
    swatches: tuple[str, ...]


@dataclass(frozen=True)
class Seen:
    """All that a client is shown besides the pictures."""

    pieces: tuple[PieceSeen, ...]
    colours: tuple[ColourSeen, ...]
    stocks: tuple[StockSeen, ...]

    @property
    def off_screen(self) -> bool:
        """Whether a screen can't show one of the colours."""
        return not all(it.printed.shown for colour in self.colours for it in colour.prints)

    @property
    def proofs(self) -> str:
        """Where colour can be judged, in words."""
        held = [(it.title, it.swatches) for it in self.stocks if it.swatches]
        none = [it.title.partition(",")[0] for it in self.stocks if not it.swatches]
        said = "A proof of colour is a swatch that the same printer printed on the same stock. "
        if held:
            sheets = [f"{joined(ids)} on {title.partition(',')[0]}" for title, ids in held]
            said += f"Printed sheets to ask for: {'; '.join(sheets)}. "
        if none:
            said += f"Nothing printed on {joined(none)} yet. "
        return said + "Look at them in the light that the suite will be seen in."


def what_is_seen(order: Order, run: Run, known: Bench, gallery: Gallery) -> Seen:
    """Return what a client is told of an order as its run left it."""
    papers = {pair: screen_colour(known.pair(pair).model.paper_lab) for pair in order.pairs()}
    colours = []
    for name, colour in order.colours.items():
        carrying = [it for it in run.pieces if name in it.colours]
        on = {it.pair: it for it in run.translations if it.colour == name}
        prints = tuple(
            PrintSeen(
                stock=pair.stock,
                pieces=tuple(it.name for it in carrying if it.pair == pair),
                paper=papers[pair],
                printed=screen_colour(on[pair].predicted_lab),
            )
            for pair in dict.fromkeys(it.pair for it in carrying)
            if pair in on
        )
        waiting = dict.fromkeys(it.stock for it in carrying if it.pair not in on)
        if carrying:
            colours.append(ColourSeen(name, colour.note, prints, tuple(waiting)))
    return Seen(
        pieces=tuple(_piece_seen(order, it, gallery) for it in run.pieces),
        colours=tuple(colours),
        stocks=tuple(
            StockSeen(
                title=wording.stock_title(order, stock),
                paper=_bare(order, stock)
                or next(paper for pair, paper in papers.items() if pair.stock == stock),
                pieces=tuple(it.name for it in run.pieces if it.stock == stock),
                swatches=_swatches(run, stock),
            )
            for stock in dict.fromkeys(it.stock for it in run.pieces)
        ),
    )


def _bare(order: Order, stock: str) -> ScreenColour | None:
    """Return a stock beside the white under its ink, which its readings are of."""
    bare = order.stocks[stock].bare
    return None if bare is None else screen_colour(bare)


def _piece_seen(order: Order, piece: RecordedPiece, gallery: Gallery) -> PieceSeen:
    asked = order.pieces[piece.name]
    number = thousands(piece.quantity)
    alike = ", every copy another" if piece.records is not None else ""
    facts = [
        wording.trim_size(order, piece.name),
        f"{number} copies{alike}" if piece.quantity != 1 else "1 copy",
        wording.stock_title(order, piece.stock),
    ]
    if asked.fold:
        facts.append(wording.folding(asked.fold, asked.trim))
    if asked.finishing:
        facts.append(asked.finishing)
    if legend := gallery.best(piece.name, LIST_PX).legend:
        facts.append(f"in the picture {legend}")
    not_yet = ""
    if not gallery.translated(piece.name, LIST_PX).pages:
        drawn = gallery.original(piece.name, LIST_PX).pages
        not_yet = "its colours are not matched yet" if drawn else "there is no picture yet"
    return PieceSeen(piece.name, tuple(facts), not_yet)


def _swatches(run: Run, stock: str) -> tuple[str, ...]:
    """Return the sheets printed on a stock of this order's devices."""
    found = [it.sheets for it in run.translations if it.stock == stock]
    return tuple(sorted({sheet for sheets in found for sheet in sheets}))
