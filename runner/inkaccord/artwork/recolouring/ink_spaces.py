"""The definitions of inks whose plates stay: what a swapped spot looks like, alone or among others.

All of it happens in place, as in :mod:`inkaccord.artwork.recolouring.resources`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from inkaccord.artwork.recolouring.ink_mixtures import (
    GRID_OF_INKS,
    OWN_INKS,
    forget_inks,
    mixed_inks,
    own_inks,
    why_not,
)
from inkaccord.artwork.recolouring.mixture_spaces import DEVICE_NAME
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.artwork.swaps import SpotMode
from inkaccord.pdf.colours.functions import read_function
from inkaccord.pdf.colours.ramps import write_ramp, write_samples
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.space_reader import ink_name
from inkaccord.pdf.colours.spaces import PROCESS_INKS, SpaceKind, device_numbers

SPOT_STEPS = 64
"""Pieces of a tint transform that follows a tint table."""


class InkSpaces:
    """Rewrites what Separation and DeviceN spaces of one document say of swapped spots."""

    def __init__(self, work: Rewriting) -> None:
        self._work = work
        self._table = work.table
        self._transforms: dict[int, Any] = {}

    def separation(self, definition: Any, name: str) -> None:
        """Give a spot that keeps its plate the look of its new build."""
        swap = self._table.whole_spots.get(name)
        if swap is None or self._table.spots is not SpotMode.KEEP:
            return
        definition[2] = DEVICE_NAME[SpaceKind(self._table.swaps[swap].new.kind.value)]
        definition[3] = self._transform(swap)
        self._work.results.swapped[swap, 100.0] += 1

    def _transform(self, swap: int) -> Any:
        """Return the tint transform that makes a spot its new build; one object per swap."""
        found = self._transforms.get(swap)
        if found is None:
            one = self._table.swaps[swap]
            steps = SPOT_STEPS if one.tints is not None else 1
            stops = [i / steps for i in range(steps + 1)]
            colours = [device_numbers(one.build_at(100 * t, self._table.tints)) for t in stops]
            run = list(zip(stops, colours, strict=True))
            found = self._transforms[swap] = write_ramp(self._work.pdf, [run])
        return found

    def mixture(self, definition: Any, *, becomes_process: bool) -> None:
        """Give inks of which some were swapped the look of the new builds among the others."""
        names = [ink_name(name) for name in definition[1]]
        swaps = {
            position: self._table.whole_spots[name]
            for position, name in enumerate(names)
            if name in self._table.whole_spots
        }
        process = self._table.spots is SpotMode.PROCESS
        if process and len(definition) > 4:
            forget_inks(definition[4], self._table.whole_spots)
        if not swaps or becomes_process:
            return
        self._work.results.stuck.update(names)
        if any(names[position] in PROCESS_INKS for position in swaps):
            self._work.report(
                "inks-not-rewritten",
                f"in the space of the inks {', '.join(names)} the plates themselves are named, "
                "which print as they are",
            )
            return
        new_kinds = {self._table.swaps[swap].new.kind for swap in swaps.values()}
        kind = SpaceKind(min(new_kinds).value)
        base = self._work.spaces.read(definition[2], None)
        strangers = [n for n in names if n not in self._table.whole_spots and n not in OWN_INKS]
        refusal = why_not(names, strangers, base, new_kinds)
        if refusal:
            self._work.report("inks-not-rewritten", refusal)
            return
        others: Callable[..., Numbers] = own_inks(names)
        if kind is base.kind:
            others = read_function(definition[3], self._work.streams)
        definition[2] = DEVICE_NAME[kind]
        size = GRID_OF_INKS[len(names)]
        samples = list(mixed_inks(self._table, names, others, swaps))
        definition[3] = write_samples(
            self._work.pdf, [(0.0, 1.0)] * len(names), [size] * len(names), samples
        )
        for swap in swaps.values():
            self._work.results.swapped[swap, 100.0] += 1
        if process:
            self._work.report(
                "inks-stay", f"{' and '.join(names)} are mixed in one object, and their plates stay"
            )
