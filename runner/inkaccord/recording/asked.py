"""What is asked of the shelf without an order: which pairs there are, and what is known of each."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from inkaccord.colour.builds import Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.knowledge.asking import AskedColour, PairAnswer, Surer, answer, resolve_colour
from inkaccord.knowledge.distances import Apart, apart_as_asked, apart_on_pairs, on_one_pair
from inkaccord.knowledge.holdings import gather
from inkaccord.knowledge.pairs import PairKnowledge, learn_pair
from inkaccord.knowledge.swatch_set import know_pair, with_told
from inkaccord.knowledge.values import Evidence
from inkaccord.order.book import BookColour
from inkaccord.order.colours import Aim
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.wanted import Wanted
from inkaccord.recall.recall import Recall, computed
from inkaccord.recording.intake import device_of
from inkaccord.sheets.model import SampleSheet
from inkaccord.shelf.store import Shelf
from inkaccord.words import quoted


@dataclass(frozen=True)
class Answers:
    """What was asked for, and what the shelf says of it.

    Attributes
    ----------
    asked
        The colours.
    on_pairs
        Of one colour, what it is on each pair.
    between
        How far apart every two lie: of these, or of several colours.
    """

    asked: tuple[AskedColour, ...]
    on_pairs: tuple[PairAnswer, ...] = ()
    between: tuple[Apart, ...] = ()

    @property
    def told_between(self) -> list[Apart]:
        """Those of ``between`` that are worth telling: what is only estimated tells of none."""
        unread = {str(it.pair) for it in self.on_pairs if it.evidence is Evidence.ESTIMATED}
        return [it for it in self.between if not {it.one, it.other} & unread]


@dataclass(frozen=True)
class AskedShelf:
    """An open shelf and the named order, as :class:`inkaccord.knowledge.asking.Asks` wants them.

    ``same_place`` is what a command on the screen adds to be about the same shelf; ``recall`` may
    know what the pairs print.
    """

    shelf: Shelf
    order: Order | None = None
    same_place: str = ""
    recall: Recall = computed
    _known: dict[Pair, PairKnowledge] = field(default_factory=dict)

    def pairs(self) -> tuple[Pair, ...]:
        """Return the pairs that the shelf has sheets of, and those of the named order."""
        return tuple(sorted({*self.shelf.pairs(), *self.pairs_in_order()}, key=str))

    def know(self, pair: Pair) -> PairKnowledge:
        """Return what is known of a pair. Raises OrderError ``unknown-pair``, with near names."""
        if pair not in self._known:
            self._known[pair] = self._learned(pair)
        return self._known[pair]

    def entry(self, name: str) -> BookColour:
        """Return a colour of the book. Raises OrderError ``no-such-colour``."""
        return self.shelf.book.colour(name).colour

    def aim_in_order(self, name: str) -> Aim:
        """Return the aim of the named order's colour. Raises OrderError ``no-such-colour``."""
        if self.order is None:
            raise OrderError.of(
                "no-such-colour",
                f"'order {name}' is a colour of an order, and none is named",
                hint="name it: --order ORDER",
            )
        if name not in self.order.colours:
            raise OrderError.of(
                "no-such-colour",
                f"the order has no colour {name!r}",
                hint=suggest(name, self.order.colours),
            )
        return self.order.colours[name].aim

    def pairs_in_order(self) -> tuple[Pair, ...]:
        """Return the pairs of the named order, whose looks alone count in it."""
        return () if self.order is None else self.order.pairs_needed()

    def sheet(self, sheet_id: str) -> SampleSheet:
        """Return a sheet. Raises OrderError ``no-such-sheet``."""
        return self.shelf.sheet(sheet_id)

    def to_type(self, surer: Surer) -> str:
        """Return the command that makes an answer surer, as it can be pasted."""
        return quoted("inkaccord", *surer.command) + self.same_place

    def ask(self, wanted: Sequence[Wanted], pairs: Sequence[Pair] = ()) -> Answers:
        """Answer for one colour, on each pair that is named or known; or hold several together.

        Raises OrderError for what nobody knows, and where several can't be held together.
        """
        if len(wanted) > 1:
            asked = tuple(resolve_colour(it, self) for it in on_one_pair(wanted, pairs))
            return Answers(asked, between=apart_as_asked(asked))
        one = resolve_colour(wanted[0], self)
        answers = self.answers(one, pairs)
        return Answers((one,), answers, apart_on_pairs(answers))

    def answers(self, asked: AskedColour, pairs: Sequence[Pair] = ()) -> tuple[PairAnswer, ...]:
        """Return a colour on every pair that is asked for; of a build, on those driven so.

        Raises OrderError ``no-pairs`` where there is none.
        """
        known = [self.know(pair) for pair in pairs or self.pairs()]
        if not pairs and asked.lab is None and asked.build is not None:
            known = [it for it in known if it.drive is asked.build.drive]
        if not known:
            raise OrderError.of(
                "no-pairs",
                "the shelf knows no pair that this can be asked of",
                hint="name the shelf with --shelf, or an order with --order; the first sheet of a "
                "pair: 'inkaccord swatches device@stock --count 40'",
            )
        if asked.picked_as and asked.lab is None:
            # Known by picks alone, so on the pairs that have one; else it is said who must look.
            known = [it for it in known if it.picked(asked.picked_as)] or known
        return tuple(answer(asked, it) for it in known)

    def _learned(self, pair: Pair) -> PairKnowledge:
        known = learned(self.shelf, pair, self.order, recall=self.recall)
        others = [str(it) for it in self.pairs()]
        if str(known.pair) not in others:
            first = quoted("inkaccord", "swatches", str(pair), "--count", "40")
            near = f"{suggest(str(pair), others)}; if" if others else "if"
            raise OrderError.of(
                "unknown-pair",
                f"the shelf has nothing of {pair}",
                hint=f"{near} it is a new pair, print its first sheet: {first}{self.same_place}",
            )
        return known


def learned(
    shelf: Shelf,
    pair: Pair,
    order: Order | None,
    *,
    drive: Drive | None = None,
    ink_limit: float | None = None,
    paper: Lab | None = None,
    recall: Recall = computed,
) -> PairKnowledge:
    """Return what is known of a pair: by the shelf, by an order that has its device, as told.

    ``ink_limit`` is total ink in percent, ``paper`` the CIELAB of a stock that is not read. Raises
    OrderError ``wrong-drive`` for another way of driving than is known.
    """
    if order is not None and device_of(pair, order) is not None:
        pair = order.pair(pair)
        known = learn_pair(order, gather(shelf, order, [pair]), pair, recall)
        return with_told(known, drive=drive, ink_limit=ink_limit, paper=paper)
    evidence = shelf.evidence_of([pair])[pair]
    return know_pair(evidence, pair, drive=drive, ink_limit=ink_limit, paper=paper, recall=recall)
