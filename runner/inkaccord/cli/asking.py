"""What is asked of the shelf without an order: which pairs there are, and what is known of each."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from inkaccord.cli.by_hand import know
from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import find_shelf, same_place, shelf_with
from inkaccord.words import quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.artwork.swaps import Swap
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.knowledge.asking import Surer
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.order.book import BookColour
    from inkaccord.order.wanted import Wanted
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class AskedShelf:
    """An open shelf and the named order, as :class:`inkaccord.knowledge.asking.Asks` wants them."""

    settings: Settings
    shelf: "Shelf"
    _known: "dict[Pair, PairKnowledge]" = field(default_factory=dict)

    def pairs(self) -> "tuple[Pair, ...]":
        """Return the pairs that the shelf has sheets of, and those of the named order."""
        order = self.settings.named_order
        ordered = order.pairs_needed() if order is not None else ()
        return tuple(sorted({*self.shelf.pairs(), *ordered}, key=str))

    def know(self, pair: "Pair") -> "PairKnowledge":
        """Return what is known of a pair. Raises OrderError ``unknown-pair``, with near names."""
        if pair not in self._known:
            self._known[pair] = self._learned(pair)
        return self._known[pair]

    def _learned(self, pair: "Pair") -> "PairKnowledge":
        from inkaccord.errors import OrderError
        from inkaccord.order.mistakes import suggest

        known = know(self.settings, self.shelf, pair, drive=None)
        others = [str(it) for it in self.pairs()]
        if str(known.pair) not in others:
            first = quoted("inkaccord", "deck", str(pair), "--count", "40")
            near = f"{suggest(str(pair), others)}; if" if others else "if"
            raise OrderError.of(
                "unknown-pair",
                f"the shelf has nothing of {pair}",
                hint=f"{near} it is a new pair, print its first sheet: "
                f"{first}{same_place(self.settings)}",
            )
        return known

    def entry(self, name: str) -> "BookColour":
        """Return a colour of the book. Raises OrderError ``no-such-colour``."""
        return self.shelf.book.colour(name).colour

    def sheet(self, sheet_id: str) -> "SampleSheet":
        """Return a sheet. Raises OrderError ``no-such-sheet``."""
        return self.shelf.sheet(sheet_id)

    def to_type(self, surer: "Surer") -> str:
        """Return the command that makes an answer surer, as it can be pasted."""
        return quoted("inkaccord", *surer.command) + same_place(self.settings)


@contextmanager
def asked_shelf(settings: Settings, colours: "Sequence[Wanted]") -> Iterator[AskedShelf]:
    """Open the shelf that some colours are asked of: where one is a swatch, that of its sheet."""
    from inkaccord.shelf.store import Shelf

    sheets = [it.swatch.sheet for it in colours if it.swatch is not None]
    place = shelf_with(settings, sheets[0]) if sheets else find_shelf(settings)
    with Shelf.open(place) as shelf:
        yield AskedShelf(settings, shelf)


def asked_swaps(
    settings: Settings, texts: "Sequence[str]"
) -> "tuple[list[Swap], list[Diagnostic]]":
    """Read swaps whose new colours may be asked of the shelf, and what to say of those.

    Raises OrderError as :func:`inkaccord.artwork.swaps.parse_swap` does, and for what the shelf
    can't answer.
    """
    from inkaccord.artwork.swaps import parse_swap
    from inkaccord.order.wanted import parse_new

    swaps: list[Swap] = []
    findings: list[Diagnostic] = []
    for text in texts:
        old, equals, new = text.partition(" = ")
        wanted = parse_new(new) if equals else None
        if wanted is None:
            swaps.append(parse_swap(text))
            continue
        from inkaccord.knowledge.asking import build_of_new  # loads all that knows of pairs

        with asked_shelf(settings, [wanted[0]]) as source:
            build, said = build_of_new(*wanted, source)
        swaps.append(parse_swap(f"{old} = {build}"))
        findings.append(said)
    return swaps, findings
