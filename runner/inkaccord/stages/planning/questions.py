"""What only a person can say: one clear question for each thing that no paper settles."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.order.colours import Prefer
from inkaccord.order.model import Order
from inkaccord.stages.bench import Bench
from inkaccord.stages.planning.answers import accept, answer, lighter_stocks, widen
from inkaccord.stages.planning.doubts import Doubt
from inkaccord.stages.planning.eye import EyeDoubts
from inkaccord.stages.planning.rounds import may_be_read
from inkaccord.stages.planning.wording import joined
from inkaccord.stages.results import (
    Acceptance,
    Agreement,
    Choice,
    NextStep,
    StepKind,
    Torn,
    Trade,
    Translations,
)

CLOSE = 0.5
"""ΔE00 about a limit within which print itself varies from sheet to sheet."""


@dataclass(frozen=True)
class Cause:
    """A pair that prints a colour apart from the others, and the distances that come of it."""

    colour: str
    pair: Pair
    pieces: tuple[str, ...]
    doubts: tuple[Doubt, ...]

    @property
    def worst(self) -> Doubt:
        """The distance that says most."""
        return max(
            self.doubts,
            key=lambda doubt: (doubt.sure, doubt.it.other is None, doubt.it.delta_e_00),
        )


@dataclass(frozen=True)
class Asker:
    """Asks about an order."""

    order: Order
    translations: Translations
    agreement: Agreement
    bench: Bench

    def eye(self, found: EyeDoubts) -> Iterator[NextStep]:
        """Ask about what was judged by eye."""
        for colour, torn in found.torn.items():
            yield self._torn(colour, torn)
        for colour in found.ended:
            yield self._ended(colour)
        if found.unread and not self.order.accept_by_eye:
            yield self._unread(found.unread)

    def _torn(self, colour: str, torn: Torn) -> NextStep:
        thing = self.order.colours[colour].aim.by_eye
        return NextStep(
            kind=StepKind.QUESTION,
            text=f"Which of the two picks is {thing}? For {colour}, {torn.one} and {torn.other} "
            f"were picked; they lie {torn.apart:.1f} ΔE00 apart, more than the eye errs.",
            colours=(colour,),
            choices=tuple(
                Choice(
                    words=f"It is {swatch.swatch} of sheet {swatch.sheet}.",
                    answers=(
                        answer(
                            self.bench, "colours", colour, "aim", "picked_on", value=str(swatch)
                        ),
                    ),
                )
                for swatch in (torn.one, torn.other)
            ),
        )

    def _ended(self, colour: str) -> NextStep:
        known = [self.bench.pair(pair) for pair in self.order.pairs_needed()]
        picked = [it for one in known if one.is_read and (it := one.picked(colour)) is not None]
        swatch = max(picked, key=lambda it: it.since).swatches[-1]
        thing = self.order.colours[colour].aim.by_eye
        field = "colours", colour, "aim", "picked_on"
        return NextStep(
            kind=StepKind.QUESTION,
            text=f"Is {swatch.swatch} of sheet {swatch.sheet} as near to {thing} as print comes? "
            f"For {colour}, the picks always stood at the rim of what was offered, and the next "
            "swatches would lie no nearer.",
            colours=(colour,),
            choices=(
                Choice(
                    words="It is near enough: take it.",
                    answers=(answer(self.bench, *field, value=str(swatch)),),
                ),
                Choice(
                    words="Another swatch on the sheets looks nearer: pick that one.",
                    command=f"inkaccord record {swatch.sheet} --pick {colour}=SWATCH",
                ),
            ),
        )

    def _unread(self, doubts: Sequence[Doubt]) -> NextStep:
        """Ask for an instrument, or for leave to trust the eye: once for all that it concerns."""
        colours = tuple(dict.fromkeys(doubt.it.colour for doubt in doubts))
        pairs = dict.fromkeys(side.pair for doubt in doubts for side in doubt.picked)
        sheets = [self.bench.pair(pair).picked_sheets[-1] for pair in pairs]
        many = len(sheets) > 1
        return NextStep(
            kind=StepKind.QUESTION,
            text=f"May the eye decide? {joined(colours)} on {joined([str(it) for it in pairs])} "
            f"{'were' if len(colours) > 1 else 'was'} picked by eye and not measured, so nobody "
            "can say in numbers that the pieces agree.",
            colours=colours,
            choices=(
                Choice(
                    words="Yes: what was picked by eye is good enough.",
                    answers=(answer(self.bench, "accept_by_eye", value=True),),
                ),
                Choice(
                    words=f"No: read {'these sheets' if many else 'the sheet'} with an instrument"
                    + (f" ({joined(sheets)})." if many else "."),
                    command=f"inkaccord record {sheets[0]} READINGS-FILE",
                ),
            ),
        )

    def causes(self, doubts: Sequence[Doubt]) -> Iterator[Cause]:
        """Find which pairs a colour's distances come from: the one in most of them first."""
        for colour in dict.fromkeys(doubt.it.colour for doubt in doubts):
            left = [doubt for doubt in doubts if doubt.it.colour == colour]
            while left:
                pair = max(self._pairs(left), key=lambda it: self._guilt(it, left))
                own = [doubt for doubt in left if pair in self._pairs([doubt])]
                left = [doubt for doubt in left if doubt not in own]
                named = {piece for doubt in own for piece in (doubt.it.piece, doubt.it.other)}
                yield Cause(
                    colour=colour,
                    pair=pair,
                    pieces=tuple(
                        name
                        for name in self.order.pieces
                        if name in named and self.order.pair_of(name) == pair
                    ),
                    doubts=tuple(own),
                )

    def _pairs(self, doubts: Sequence[Doubt]) -> list[Pair]:
        return list(
            dict.fromkeys(
                self.order.pair_of(piece)
                for doubt in doubts
                for piece in (doubt.it.piece, doubt.it.other)
                if piece is not None
            )
        )

    def _guilt(self, pair: Pair, doubts: Sequence[Doubt]) -> tuple[int, float, float]:
        """Return what orders pairs: how many others they are apart from, how far from the aim."""
        others = {
            None if doubt.it.other is None else frozenset(self._pairs([doubt]))
            for doubt in doubts
            if pair in self._pairs([doubt])
        }
        own = self.translations.of(doubts[0].it.colour, pair)
        if own is None:
            return len(others), 0.0, 0.0
        return len(others), own.delta_e_00 or 0.0, own.uncertainty

    def about(self, cause: Cause) -> NextStep:
        """Ask what shall become of a colour on the pair that is the cause."""
        order, colour = self.order, cause.colour
        choices = [
            accept(colour, cause.pieces, cause.doubts, self.bench),
            widen(order, colour, cause.doubts, self.bench),
            self._together(cause),
        ]
        own = self.translations.of(colour, cause.pair)
        if len(cause.pieces) == 1 and own is not None and not own.reachable:
            choices.append(lighter_stocks(order, cause.pieces[0], self.bench))
        choices.append(
            Choice(words=f"Leave {colour} off {joined(cause.pieces)}: change the artwork.")
        )
        return NextStep(
            kind=StepKind.QUESTION,
            text=self._text(cause),
            pair=cause.pair,
            colours=(colour,),
            pieces=cause.pieces,
            choices=tuple(choice for choice in choices if choice is not None),
        )

    def _together(self, cause: Cause) -> Choice | None:
        """Offer the other way to treat a colour out of reach, where it would keep the limits."""
        colour = cause.colour
        points = [it for it in self.translations.trades if it.colour == colour]
        kinds = {doubt.it.other is None for doubt in cause.doubts}
        if not points:
            return None
        if self.order.prefers(colour) is Prefer.EACH_CLOSEST and False in kinds:
            found = self._point(points, colour)
            words = "Print it alike on all pieces, at most {far:.1f} ΔE00 from the aim."
            value = Prefer.ALIKE
        elif self.order.prefers(colour) is Prefer.ALIKE and True in kinds:
            found = self._point(points[-1:], colour)
            words = "Print each piece as near to the aim as it can, at most {apart:.1f} apart."
            value = Prefer.EACH_CLOSEST
        else:
            return None
        if found is None:
            return None
        return Choice(
            words=words.format(far=max(found.to_aim.values()), apart=found.apart),
            answers=(answer(self.bench, "colours", colour, "prefer", value=value.value),),
        )

    def _point(self, points: Sequence[Trade], colour: str) -> Trade | None:
        """Return the point nearest to the aim that keeps all limits, if one does."""
        keeping = [
            point
            for point in points
            if all(
                far <= self.order.limit_to_aim(colour, piece)
                and all(
                    point.apart <= self.order.limit_between(colour, piece, other)
                    for other in point.to_aim
                )
                for piece, far in point.to_aim.items()
            )
        ]
        return min(keeping, key=lambda point: point.mean_to_aim, default=None)

    def _text(self, cause: Cause) -> str:
        """Put the question: what it is about, then the numbers, then why no paper helps."""
        it, colour, mine = cause.worst.it, cause.colour, joined(cause.pieces)
        other = it.other if it.piece in cause.pieces else it.piece
        if other is None:
            says = (
                "does not come out as it should" if cause.worst.sure else "may not come out right"
            )
            head = f"{colour} {says} on {mine}."
        else:
            says = "does not look" if cause.worst.sure else "may not look"
            head = f"{colour} {says} the same on {mine} as on {other}."
        own = self.translations.of(colour, cause.pair)
        lost = f" {cause.pair} prints it {own.lost}." if own is not None and own.lost else ""
        return (
            f"{head}{lost} It lies {it.delta_e_00:.1f} ΔE00 from {other or 'its aim'}, sure to "
            f"±{it.uncertainty:.1f}; the limit is {it.tolerance:g}. "
            f"{self._before(cause) or self._why_no_paper(cause)} What shall be done?"
        )

    def _why_no_paper(self, cause: Cause) -> str:
        it = cause.worst.it
        if cause.worst.sure:
            return "Sample sheets can't change that."
        if abs(it.delta_e_00 - it.tolerance) < CLOSE:
            return "That is too near the limit for a sample sheet to tell."
        pairs = [side.pair for doubt in cause.doubts for side in doubt.sides]
        if all(may_be_read(self.order, self.bench.pair(pair)) for pair in pairs):
            return "One more sample sheet would hardly settle it."
        return "The sample sheets that were read could not settle it, and one more hardly would."

    def _before(self, cause: Cause) -> str:
        """Say what was accepted, where that no longer holds."""
        lost = next((it for it in self.agreement.accepted if _lost(it, cause)), None)
        if lost is None:
            return ""
        return (
            f"It was accepted at {lost.known:.1f}, up to {lost.up_to:.1f}; now it is "
            f"{lost.now:.1f}."
        )


def _lost(it: Acceptance, cause: Cause) -> bool:
    return it.colour == cause.colour and it.piece in cause.pieces and not it.holds
