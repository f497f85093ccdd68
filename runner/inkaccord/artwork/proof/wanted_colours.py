"""What the colours of a gradient are to become, worked out for the proof from the swaps alone."""

from __future__ import annotations

from collections.abc import Sequence

from inkaccord.artwork.proof.gradient_space import WHITES, GradientSpace
from inkaccord.artwork.proof.gradient_stops import apart, share_of
from inkaccord.artwork.proof.shading_values import Numbers
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.colour.paints import PaintKind


class WantedColours:
    """What becomes of the colours of one space, as numbers of another."""

    def __init__(self, table: SwapTable, old: GradientSpace, new: GradientSpace) -> None:
        self.table, self._from, self._to = table, old, new
        self._known: dict[Numbers, Mapped | None] = {}

    def mapped(self, numbers: Numbers) -> Mapped | None:
        """Return what a colour becomes by itself, None where it stays."""
        if numbers not in self._known:
            colour = self._from.colour(numbers)
            mapped = None if colour is None else self.table.becomes(colour, self._to.kind)
            if mapped is not None and self._same and not self.table.leads([mapped]):
                mapped = None  # a grey may stay; whether it had to go is judged of the whole
            self._known[numbers] = mapped
        return self._known[numbers]

    def all_grey(self, colours: Sequence[Numbers]) -> bool:
        """Whether colours are blacks, greys and white alone, that are to go and did not."""
        found = [self._from.colour(one) for one in colours]
        mapped = [self.table.of(colour) for colour in found if colour is not None]
        known = [one for one in mapped if one is not None]
        whole = bool(known) and len(known) == len(colours)
        return whole and self._same and not self.table.leads(known)

    def off(self, numbers: Numbers, swap: int) -> float:
        """Return how far a swapped colour is off the one that its swap names."""
        colour = self._from.colour(numbers)
        return self.table.off(colour, swap) if colour is not None else 0.0

    def solid(self, numbers: Numbers) -> Mapped | None:
        """Return what a colour becomes that is swapped itself, not as a tint."""
        mapped = self.mapped(numbers)
        return mapped if mapped is not None and mapped.tint == 100 else None

    def becomes(self, numbers: Numbers) -> Numbers | None:
        """Return what a colour alone becomes; None where that can't stand in the new space."""
        mapped = self.mapped(numbers)
        return self.kept(numbers) if mapped is None else self._to.numbers(mapped.paint)

    def kept(self, numbers: Numbers) -> Numbers | None:
        """Return a colour that stays, as the new space has it; None where it has it not."""
        if self._stays or self._to.kind is None:
            return numbers if self._stays else None
        if self._white(numbers):
            return WHITES[self._to.kind]
        colour = self._from.colour(numbers)
        paint = self.table.meant(colour) if colour is not None else None
        beside = self.table.beside_of(paint, self._to.kind) if paint is not None else None
        return self._to.numbers(beside) if beside is not None else None

    @property
    def _same(self) -> bool:
        return self._to.key == self._from.key

    @property
    def _stays(self) -> bool:
        """Whether both spaces are one, so that a colour can stay what it is."""
        return self._same or (self._from.profiled and self._to.kind is self._from.kind)

    def _white(self, numbers: Numbers) -> bool:
        if self._from.kind is PaintKind.SPOT:
            return numbers[0] <= 0
        colour = self._from.colour(numbers)
        plain = colour.as_device() if colour is not None else None
        white = WHITES.get(plain.kind) if plain is not None else None
        return white is not None and apart(numbers, white) < 1e-4

    def mixture(self, ends: tuple[Numbers, Numbers], numbers: Numbers) -> Numbers | None:
        """Return what a colour between two stops becomes."""
        mapped = [self.mapped(end) for end in ends]
        if mapped == [None, None] and self._stays:
            return self.kept(numbers)
        share = share_of(numbers, *ends)
        tints = self.tints(ends, mapped)
        if tints is not None:
            swap, first, last = tints
            tint = first + share * (last - first)
            return self._to.numbers(self.table.swaps[swap].build_at(tint, self.table.tints))
        first_new, last_new = (self.becomes(end) for end in ends)
        if first_new is None or last_new is None:
            return None
        return tuple(a + share * (b - a) for a, b in zip(first_new, last_new, strict=True))

    def tints(
        self, ends: tuple[Numbers, Numbers], mapped: Sequence[Mapped | None]
    ) -> tuple[int, float, float] | None:
        """Return which swap both ends are tints of, bare paper being one, and which tints."""
        swaps = {one.swap for one in mapped if one is not None and one.tint > 0}
        if len(swaps) != 1:
            return None
        if any(m is None and not self._white(end) for m, end in zip(mapped, ends, strict=True)):
            return None
        first, last = (one.tint if one is not None else 0.0 for one in mapped)
        return swaps.pop(), first, last
