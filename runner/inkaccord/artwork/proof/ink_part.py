"""The process inks of a gradient in several inks, judged apart from the spots beside them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from inkaccord.artwork.proof.gradient_space import CMYK, PLATES, GradientSpace
from inkaccord.artwork.proof.gradient_stops import CLOSE
from inkaccord.artwork.proof.shading_values import Numbers
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import PaintKind


@dataclass(frozen=True, slots=True)
class InkPart:
    """How the inks of a gradient are parted, and what the copy has of them."""

    names: tuple[str, ...]
    new_names: tuple[str, ...]
    """The inks that the copy has, the builds of spots that it lacks added to its process inks."""
    gone: frozenset[str]
    table: SwapTable

    @classmethod
    def of(cls, old: GradientSpace, new: GradientSpace, table: SwapTable) -> Self | None:
        """Return the parts of a space of several inks, None where it is none or gets another."""
        if old.family != "/DeviceN":
            return None
        new_names = PLATES if new.kind is PaintKind.CMYK else new.names
        gone = frozenset(table.gone(old.names)) - set(new_names if new.key == old.key else ())
        kept = set(old.names) - gone - {*PLATES, "None"}
        if new.key != old.key and set(new_names) - set(PLATES) != kept:
            return None
        return cls(old.names, new_names, gone, table)

    def process(self, numbers: Numbers) -> Numbers:
        """Return the process inks as CMYK."""
        return tuple(
            numbers[self.names.index(plate)] if plate in self.names else 0.0 for plate in PLATES
        )

    def together(self, process: Numbers, numbers: Numbers) -> Numbers | None:
        """Return all inks as the copy has to have them, the process inks being new.

        None where it lacks a plate that is needed.
        """
        total = list(process)
        old = dict(zip(self.names, numbers, strict=True))
        for name in self.gone:
            swap = self.table.swaps[self.table.whole_spots[name]]
            build = swap.build_at(100 * min(max(old[name], 0.0), 1.0), self.table.tints)
            more = CMYK.numbers(build) or ()
            total = [a + b for a, b in zip(total, more, strict=True)]
        plates = {n: min(max(v, 0.0), 1.0) for n, v in zip(PLATES, total, strict=True)}
        if any(value > CLOSE for name, value in plates.items() if name not in self.new_names):
            return None
        return tuple({**old, **plates}[name] for name in self.new_names)
