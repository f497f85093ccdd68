"""What only a person can say of a colour on a pair: one question, with the lines that answer it."""

from collections.abc import Sequence
from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.planning.answers import (
    accept,
    alike_or_true,
    lighter_stocks,
    print_more,
    widen,
)
from inkaccord.planning.causes import Cause, causes_of
from inkaccord.planning.doubts import Doubt
from inkaccord.planning.rounds import may_be_read
from inkaccord.run.agreement import Acceptance, Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.plan import Choice, NextStep, StepKind
from inkaccord.words import joined

CLOSE = 0.5
"""ΔE00 about a limit within which print itself varies from sheet to sheet."""


@dataclass(frozen=True)
class Asker:
    """Asks about an order."""

    order: Order
    translations: Translations
    agreement: Agreement
    bench: Bench

    def about(self, pair: Pair, causes: Sequence[Cause]) -> NextStep:
        """Ask what shall become of the colours that a pair prints apart from the others."""
        colours = tuple(cause.colour for cause in causes)
        named = {piece for cause in causes for piece in cause.pieces}
        pieces = tuple(piece for piece in self.order.pieces if piece in named)
        choices: list[Choice | None] = [
            accept(self.order, causes, self.agreement.distances, self.bench),
            widen(self.order, causes, self.bench),
        ]
        if len(causes) == 1:
            choices.append(alike_or_true(self.order, causes[0], self.translations, self.bench))
        if len(pieces) == 1 and any(cause.out_of_reach for cause in causes):
            choices.append(lighter_stocks(self.order, pieces[0], self.bench))
        choices.append(Choice(words=f"Leave {joined(colours)} off: change the artwork."))
        return NextStep(
            kind=StepKind.QUESTION,
            text=self._text(pair, pieces, causes),
            pair=pair,
            colours=colours,
            pieces=pieces,
            choices=tuple(choice for choice in choices if choice is not None),
        )

    def accepting(self, doubts: Sequence[Doubt]) -> Choice | None:
        """Offer to accept all that doubts hold, as it is; None where there are none."""
        causes = causes_of(self.order, self.translations, doubts)
        every = [cause for of_pair in causes.values() for cause in of_pair]
        if not every:
            return None
        return accept(self.order, every, self.agreement.distances, self.bench)

    def about_likely(self, causes: Sequence[Cause], spared: float | None) -> NextStep:
        """Ask about colours that probably agree, on all pairs at once."""
        colours = tuple(dict.fromkeys(cause.colour for cause in causes))
        named = {piece for cause in causes for piece in cause.pieces}
        said = " ".join(self._numbers(cause, f" on {joined(cause.pieces)}") for cause in causes)
        # Rounded down: never more than it is.
        odds = int(20.0 * min(cause.chance for cause in causes))
        each = "each is" if len(causes) > 1 else "it is"
        choices = [accept(self.order, causes, self.agreement.distances, self.bench)]
        choices += [] if spared is None else [print_more(spared, self.bench)]
        paper = "hardly settle it" if spared is None else "cost another round"
        return NextStep(
            kind=StepKind.QUESTION,
            text=f"{joined(colours)} probably come{'' if colours[1:] else 's'} out as wanted, "
            f"but not surely. {said} The chance that {each} within its limit is {odds} in 20 or "
            f"better. Sample sheets would {paper}. Is it good enough?",
            colours=colours,
            pieces=tuple(piece for piece in self.order.pieces if piece in named),
            choices=tuple(choices),
        )

    def _text(self, pair: Pair, pieces: Sequence[str], causes: Sequence[Cause]) -> str:
        """Put the question: what it is about, then the numbers, then why no paper helps."""
        colours = [cause.colour for cause in causes]
        sure = all(cause.worst.sure for cause in causes)
        others = {cause.other_of(cause.worst) for cause in causes}
        verb = ("do not" if colours[1:] else "does not") if sure else "may not"
        if others == {None}:
            head = f"{joined(colours)} {verb} come out as wanted on {joined(pieces)}"
        else:
            (other,) = others - {None} if len(others - {None}) == 1 else {"the other pieces"}
            head = f"{joined(colours)} {verb} look the same on {joined(pieces)} as on {other}"
        said = " ".join(self._numbers(cause) for cause in causes)
        return f"{head} ({pair}). {said} {self._why_no_paper(causes)} What shall be done?"

    def _numbers(self, cause: Cause, where: str = "") -> str:
        distance, own = cause.worst.distance, cause.own
        lost = f", {own.lost}" if own is not None and own.lost else ""
        before = next((it for it in self.agreement.accepted if _lost(it, cause)), None)
        then = (
            f" It was accepted at {before.known:.1f}, up to {before.up_to:.1f}." if before else ""
        )
        return (
            f"{cause.colour}{where} lies {distance.delta_e_00:.1f} ΔE00 from "
            f"{cause.other_of(cause.worst) or 'its aim'}{lost} "
            f"(sure to ±{distance.uncertainty:.1f}, limit {distance.tolerance:g}).{then}"
        )

    def _why_no_paper(self, causes: Sequence[Cause]) -> str:
        worst = [cause.worst for cause in causes]
        if all(doubt.sure for doubt in worst):
            return "Sample sheets can't change that."
        if all(
            abs(doubt.distance.delta_e_00 - doubt.distance.tolerance) < CLOSE for doubt in worst
        ):
            return "That is too near the limit for a sample sheet to tell."
        pairs = (self.bench.pair(pair) for pair in self.order.pairs_needed())
        if may_be_read(self.order, pairs):
            return "One more sample sheet would hardly settle it."
        return "The sample sheets that were read could not settle it, and one more hardly would."


def _lost(acceptance: Acceptance, cause: Cause) -> bool:
    """Tell whether an acceptance was meant for a cause's colour, and covers it no more."""
    return (
        acceptance.colour == cause.colour
        and acceptance.piece in cause.pieces
        and not acceptance.holds
    )
