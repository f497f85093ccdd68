"""Spaces of several inks made anew: process inks and spots that stay, without those that go."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache
from itertools import product
from typing import Any

import pikepdf

from inkaccord.artwork.kept_inks import kept_of
from inkaccord.artwork.recolouring.conversion import Conversion
from inkaccord.artwork.recolouring.ink_mixtures import GRID_OF_INKS, told_in
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.artwork.swap_table import Mapped
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.functions import BadFunctionError, read_function
from inkaccord.pdf.colours.ramps import write_samples
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import DEVICE, PROCESS_INKS, Space, SpaceKind, inks_name

DEVICE_NAME = {
    SpaceKind.CMYK: pikepdf.Name.DeviceCMYK,
    SpaceKind.RGB: pikepdf.Name.DeviceRGB,
    SpaceKind.GRAY: pikepdf.Name.DeviceGray,
}


class MixtureSpaces:
    """The new spaces of one document, one for each old one and set of inks."""

    def __init__(self, work: Rewriting) -> None:
        self._work = work
        self._made: dict[tuple[Space, tuple[str, ...]], Space | None] = {}
        self._plates: Space | None = None

    def of(self, old: Space, names: tuple[str, ...]) -> Space | None:
        """Return the space of inks of these names that look as they do in an old one.

        Spots that it lacks are taken for none, and process inks that the old one lacks are added as
        what they are. None, and a finding, where that can't be told.
        """
        key = (old, names)
        if key not in self._made:
            self._made[key] = self._new(old, names)
        return self._made[key]

    def table(
        self,
        base: Space,
        colours: Sequence[Numbers],
        mapped: Sequence[Mapped | None],
        gone: Collection[str],
    ) -> Conversion | None:
        """Return a table of mixtures in which spots stay, all in the inks of all of them.

        ``gone`` are the spots that become process colour; None where that can't be told.
        """
        new = [
            dict(zip(base.colorants, old, strict=True)) if one is None else _shares(one)
            for old, one in zip(colours, mapped, strict=True)
        ]
        used = [one for one in mapped if one is not None]
        needed = {name for inks in new for name, amount in inks.items() if amount > 0}
        target: Space | None = base
        if gone or not needed <= set(base.colorants):
            own = [ink for ink in PROCESS_INKS if ink in {*needed, *base.colorants}]
            target = self.of(base, (*own, *kept_of(base.colorants, gone)))
        if target is None:
            return None
        numbers = [tuple(inks.get(name, 0.0) for name in target.colorants) for inks in new]
        return Conversion(target, numbers, used)

    def plates(self) -> Space:
        """Return the space of the device's own plates by name, whose numbers are CMYK.

        Default spaces stand in for plain CMYK alone, not for it (ISO 32000-2, 8.6.5.6).
        """
        if self._plates is None:
            same = self._work.pdf.make_stream(b"{ }")
            same["/FunctionType"] = 4
            same["/Domain"] = same["/Range"] = pikepdf.Array([0, 1] * 4)
            names = pikepdf.Array([pikepdf.Name(f"/{ink}") for ink in PROCESS_INKS])
            definition = pikepdf.Array([pikepdf.Name.DeviceN, names, pikepdf.Name.DeviceCMYK, same])
            self._plates = Space(
                SpaceKind.DEVICEN,
                4,
                inks_name(PROCESS_INKS),
                self._work.pdf.make_indirect(definition),
                base=DEVICE[SpaceKind.CMYK],
                colorants=PROCESS_INKS,
                key="plates",
            )
        return self._plates

    def name_of(self, kind: SpaceKind) -> Any:
        """Return the definition of the space in which builds of a kind are written in objects."""
        if kind is SpaceKind.CMYK and self._work.scopes.defaulted(PaintKind.CMYK):
            return self.plates().definition
        return DEVICE_NAME[kind]

    def _new(self, old: Space, names: tuple[str, ...]) -> Space | None:
        inks, added = " and ".join(old.colorants), set(names) - set(old.colorants)
        base = old.base
        if len(names) not in GRID_OF_INKS:
            words = f"{len(names)} inks would have to be mixed in one object ({inks}), more than "
            self._work.report("inks-stay", words + "can be told anew")
            return None
        if base is None or (added and base.kind is not SpaceKind.CMYK):
            told = told_in(base) if base is not None else "nothing"
            words = f"{inks} are mixed in one object, which says in {told} what they look like: "
            self._work.report("inks-stay", words + "beside a build in CMYK that has no place")
            return None
        try:
            samples, size = self._samples(old, names)
        except BadFunctionError as problem:
            self._work.report(
                "inks-stay", f"what {inks} look like together can't be read ({problem})"
            )
            return None
        function = write_samples(
            self._work.pdf, [(0.0, 1.0)] * len(names), [size] * len(names), samples
        )
        written = [pikepdf.Name(f"/{name}") for name in names]
        family = pikepdf.Name.Separation if len(names) == 1 else pikepdf.Name.DeviceN
        colorants = written[0] if len(names) == 1 else pikepdf.Array(written)
        definition = pikepdf.Array([family, colorants, old.definition[2], function])
        return Space(
            SpaceKind.SPOT if len(names) == 1 else SpaceKind.DEVICEN,
            len(names),
            names[0] if len(names) == 1 else inks_name(names),
            self._work.pdf.make_indirect(definition),
            base=base,
            colorants=names,
            key=f"mixture {len(self._made)}",
        )

    def _samples(self, old: Space, names: tuple[str, ...]) -> tuple[list[Numbers], int]:
        # Inks that the old one lacks change nothing of it: most points ask it again.
        look = cache(read_function(old.definition[3], self._work.streams))
        size = GRID_OF_INKS[len(names)]
        levels = [i / (size - 1) for i in range(size)]
        samples = []
        for point in product(levels, repeat=len(names)):
            inks = dict(zip(names, reversed(point), strict=True))
            seen = look(*(inks.get(name, 0.0) for name in old.colorants))
            if old.base is not None and old.base.kind is SpaceKind.CMYK:
                more = [0.0 if ink in old.colorants else inks.get(ink, 0.0) for ink in PROCESS_INKS]
                seen = tuple(min(a + b, 1.0) for a, b in zip(seen, more, strict=True))
            samples.append(seen)
        return samples, size


def _shares(mapped: Mapped) -> dict[str, float]:
    """Return the inks of a new colour, 0 to 1 each."""
    inks = mapped.inks or zip(PROCESS_INKS, mapped.paint.values, strict=True)
    return {name: percent / 100 for name, percent in inks}
