"""The process inks of a gradient in several inks, judged apart from the spots beside them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from inkaccord.artwork.proof.gradient_space import CMYK, GradientSpace
from inkaccord.artwork.proof.shading_values import Numbers
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import PaintKind

PLATES = ("Cyan", "Magenta", "Yellow", "Black")


@dataclass(frozen=True, slots=True)
class InkPart:
    """How the inks of a gradient are parted, and what the copy has of them."""

    names: tuple[str, ...]
    flat: bool
    """Whether the copy has process inks alone, the spots' builds added to them."""
    table: SwapTable

    @classmethod
    def of(cls, old: GradientSpace, new: GradientSpace, table: SwapTable) -> Self | None:
        """Return the parts of a space of several inks, None where it is none or gets another."""
        if old.family != "/DeviceN":
            return None
        flat = new.kind is PaintKind.CMYK
        return cls(old.names, flat, table) if flat or new.key == old.key else None

    def process(self, numbers: Numbers) -> Numbers:
        """Return the process inks as CMYK."""
        return tuple(
            numbers[self.names.index(plate)] if plate in self.names else 0.0 for plate in PLATES
        )

    def together(self, process: Numbers, numbers: Numbers) -> Numbers:
        """Return all inks as the copy has to have them, the process inks being new."""
        if not self.flat:
            return tuple(
                process[PLATES.index(name)] if name in PLATES else before
                for name, before in zip(self.names, numbers, strict=True)
            )
        total = list(process)
        for name, tint in zip(self.names, numbers, strict=True):
            if name in PLATES or name == "None":
                continue
            swap = self.table.swaps[self.table.whole_spots[name]]
            build = CMYK.numbers(swap.build_at(100 * min(max(tint, 0.0), 1.0), self.table.tints))
            total = [a + b for a, b in zip(total, build or (), strict=True)]
        return tuple(min(max(value, 0.0), 1.0) for value in total)
