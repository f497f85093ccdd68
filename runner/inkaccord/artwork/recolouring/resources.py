"""Rewriting the colours that stand in objects, not in content streams.

Colour-space definitions, colour tables and the tint transforms of spots; shadings go through
:mod:`inkaccord.artwork.recolouring.gradients`, pictures through
:mod:`inkaccord.artwork.recolouring.pictures`.
All of it happens in place: such an object means the same wherever it is used.
"""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
)
from inkaccord.artwork.recolouring.gradients import GradientRewriter
from inkaccord.artwork.recolouring.ink_spaces import InkSpaces
from inkaccord.artwork.recolouring.mixture_spaces import MixtureSpaces
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.artwork.swaps import SpotMode
from inkaccord.colour.paints import PaintKind
from inkaccord.errors import FileError
from inkaccord.pdf.colours.functions import BadFunctionError
from inkaccord.pdf.colours.ramps import numbers_array
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.shadings import read_shading
from inkaccord.pdf.colours.space_reader import index_table, ink_name
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    Space,
    SpaceKind,
    device_numbers,
)
from inkaccord.pdf.entries import entry, objgen, word


class ResourceRewriter:
    """Swaps the colours of resource objects of one document, each object once."""

    def __init__(self, work: Rewriting) -> None:
        self._work = work
        self._gradients = GradientRewriter(work)
        self.mixtures = MixtureSpaces(work)
        self._inks = InkSpaces(work)

    # -- colour spaces ----------------------------------------------------------------------

    def spaces_of(self, scope: Scope) -> None:
        """Rewrite the named colour spaces of a resource dictionary."""
        table = entry(scope.resources, "/ColorSpace")
        if not isinstance(table, pikepdf.Dictionary):
            return
        holder = objgen(table) if objgen(table) != (0, 0) else scope.place
        for name in sorted(table.keys()):
            self.space(table[name], scope, ("space", holder, name))

    def forget_spots(self, scope: Scope) -> None:
        """Take spots that have become process colour out of the named colour spaces."""
        table = entry(scope.resources, "/ColorSpace")
        if not isinstance(table, pikepdf.Dictionary) or self._work.table.spots is SpotMode.KEEP:
            return
        for name in sorted(table.keys()):
            space = self._work.spaces.read(table[name], scope.resources)
            while space.kind in (SpaceKind.PATTERN, SpaceKind.INDEXED) and space.base is not None:
                space = space.base
            stuck = self._work.results.stuck.intersection(space.colorants)
            if self._work.becomes_process(space) and not stuck:
                del table[name]

    def space(self, definition: Any, scope: Scope, otherwise: object, depth: int = 0) -> None:
        """Rewrite one colour-space definition, and what it is built on."""
        if not isinstance(definition, pikepdf.Array) or not len(definition) or depth > 8:
            return
        if not self._work.once(definition, otherwise):
            return
        try:
            match word(definition[0]):
                case "/Separation":
                    self._inks.separation(definition, ink_name(definition[1]))
                case "/DeviceN" if len(definition[1]) == 1:
                    self._inks.separation(definition, ink_name(definition[1][0]))
                case "/DeviceN":
                    self._device_n(definition, scope, otherwise, depth)
                case "/Indexed" | "/I":
                    self.space(definition[1], scope, (otherwise, 1), depth + 1)
                    self.indexed(definition, scope)
                case "/Pattern" if len(definition) > 1:
                    self.space(definition[1], scope, (otherwise, 1), depth + 1)
        except (
            AttributeError, IndexError, KeyError, TypeError, ValueError, FileError,
            pikepdf.PdfError,
        ) as problem:  # fmt: skip
            words = "the definition of a colour is damaged, and stays as it is"
            self._work.report("bad-colour-space", f"{words} ({problem})")

    def _device_n(self, definition: Any, scope: Scope, otherwise: object, depth: int) -> None:
        if len(definition) > 4:
            colorants = entry(definition[4], "/Colorants")
            if isinstance(colorants, pikepdf.Dictionary):
                for name in sorted(colorants.keys()):
                    self.space(colorants[name], scope, (otherwise, name), depth + 1)
        space = self._work.spaces.read(definition, scope.resources)
        self._inks.mixture(definition, becomes_process=self._work.becomes_process(space))

    # -- tables -----------------------------------------------------------------------------

    def indexed(self, definition: Any, scope: Scope) -> bool:
        """Swap the entries of a colour table; whether any was."""
        base = self._work.spaces.read(definition[1], scope.resources)
        table = index_table(definition)
        new = self._table_of(base, table)
        if new is None:
            return False
        if new.space.kind in DEVICE:
            definition[1] = self.mixtures.name_of(new.space.kind)
        elif new.space is not base:
            definition[1] = new.space.definition
        definition[3] = pikepdf.String(packed(new.numbers))
        return True

    def _table_of(self, base: Space, table: bytes) -> Conversion | None:
        size = base.components
        if not size or base.kind in (SpaceKind.INDEXED, SpaceKind.PATTERN, SpaceKind.UNKNOWN):
            return None
        colours = [
            base.from_bytes(table[i : i + size]) for i in range(0, len(table) - size + 1, size)
        ]
        if base.kind is SpaceKind.DEVICEN:
            swaps = self._work.table
            mapped = [swaps.of(base.colour(one)) for one in colours]
            if any(one is not None and one.inks for one in mapped):
                new = self.mixtures.table(base, colours, mapped, swaps.gone(base.colorants))
                self._work.count(new.used if new is not None else [])
                return new
        self._work.tell_of_rewritten(base.colour(one) for one in colours)
        return self._work.convert(base, colours, "a colour table")

    # -- shadings ---------------------------------------------------------------------------

    def shading(self, definition: Any, scope: Scope, otherwise: object) -> None:
        """Rewrite the colours of a shading."""
        if not isinstance(definition, (pikepdf.Dictionary, pikepdf.Stream)):
            return
        if not self._work.once(definition, otherwise):
            return
        try:
            shading = read_shading(
                definition, scope.resources, self._work.spaces, self._work.streams
            )
            if self._work.stays_by_name(definition, shading.space, "a gradient", shading.colours()):
                new = None
            elif shading.space.kind is SpaceKind.DEVICEN:
                new = self._gradients.rewrite_inks(definition, shading, self.mixtures.of)
                if new is None and self._work.becomes_process(shading.space):
                    self._work.stay(shading.space, "a gradient", "it is a mesh of several inks")
            elif shading.space.kind in (SpaceKind.INDEXED, SpaceKind.UNKNOWN):
                new = None
            else:
                self._work.tell_of_rewritten(shading.colours())
                new = self._gradients.rewrite(definition, shading)
        except MixedKindsError as problem:
            self._work.mixed("a gradient", problem)
            return
        except BadFunctionError as problem:
            self._work.report("bad-shading", str(problem))
            return
        if new is None:
            self.space(definition.get("/ColorSpace"), scope, (otherwise, "space"))
            return
        kind, moved = new.space.kind, new.space is not shading.space
        if kind in DEVICE and (moved or self._work.scopes.defaulted(PaintKind(kind.value))):
            definition["/ColorSpace"] = self.mixtures.name_of(kind)
        elif moved:
            definition["/ColorSpace"] = new.space.definition
        else:
            self.space(definition.get("/ColorSpace"), scope, (otherwise, "space"))
        self._work.count(new.used)

    # -- annotations ------------------------------------------------------------------------

    def colour_array(self, holder: Any, key: str) -> None:
        """Swap a colour given as an array of one, three or four numbers."""
        array = entry(holder, key)
        kinds = {1: SpaceKind.GRAY, 3: SpaceKind.RGB, 4: SpaceKind.CMYK}
        if not isinstance(array, pikepdf.Array) or len(array) not in kinds:
            return
        try:
            numbers = tuple(float(v) for v in array)
        except (TypeError, ValueError):
            return
        mapped = self._work.table.of(DEVICE[kinds[len(array)]].colour(numbers))
        if mapped is not None:
            holder[key] = numbers_array(device_numbers(mapped.paint))
            self._work.count([mapped])


def packed(colours: list[Numbers]) -> bytes:
    """Return colours of 0 to 1 as an 8-bit colour table."""
    return bytes(round(min(max(value, 0.0), 1.0) * 255) for colour in colours for value in colour)
