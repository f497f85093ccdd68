"""Rewriting the colours of shadings: functions, meshes and backgrounds (ISO 32000-2, 8.7.4.5)."""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    convert,
    convert_ramp,
    convert_surface,
    kept_as,
)
from inkaccord.artwork.recolouring.fields import rewrite_field
from inkaccord.artwork.recolouring.ink_gradients import Mixtures, convert_inks, process_part
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.ramps import numbers_array, write_ramp
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.shadings import Shading
from inkaccord.pdf.colours.spaces import DEVICE, SpaceKind, device_numbers
from inkaccord.pdf.streams import deflate


class GradientRewriter:
    """Swaps the colours of shadings of one document."""

    def __init__(self, work: Rewriting) -> None:
        self._work = work
        self._table = work.table

    def rewrite(self, definition: Any, shading: Shading) -> Conversion | None:
        """Rewrite a shading's functions, samples and background; None where nothing changes.

        The colour space is for the caller to set. Raises MixedKindsError.
        """
        new: Conversion | None
        function, mesh = shading.function, shading.mesh
        changes: dict[str, Any] = {}
        data: bytes | None = None
        if function is not None and shading.kind == 1:
            field = rewrite_field(
                self._work.pdf, self._table, shading.space, function,
                definition["/Function"], self._work.streams,
            )  # fmt: skip
            new = field[0] if field is not None else None
            if field is not None:
                changes["/Function"] = field[1]
        elif function is not None:
            ramp = convert_ramp(self._table, shading.space, shading.sections())
            new = ramp.conversion if ramp is not None else None
            if ramp is not None:
                changes["/Function"] = write_ramp(self._work.pdf, ramp.runs)
        elif mesh is not None:
            colours = list(mesh.colours())
            new = convert_surface(self._table, shading.space, colours)
            if new is not None:
                queue = iter(new.numbers)
                data = mesh.rewritten(lambda _: next(queue), new.space.components)
        else:  # pragma: no cover - reading has refused it
            return None
        ground = shading.background
        if ground is not None:
            new, changes = self._background(shading, ground, new, changes)
        if new is None:
            return None
        if self._work.scopes.bars(PaintKind(new.space.kind.value)):
            self._work.report("default-space", f"a gradient should become {new.space.kind}")
            return None
        for key, value in changes.items():
            definition[key] = value
        if data is not None:
            self._write_mesh(definition, data, new.space.components)
        return new

    def rewrite_inks(
        self, definition: Any, shading: Shading, mixtures: Mixtures
    ) -> Conversion | None:
        """Rewrite a shading in several inks; None where nothing changes.

        The colour space is for the caller to set. Raises MixedKindsError.
        """
        if shading.function is None or shading.kind == 1 or shading.background is not None:
            parts = [process_part(shading.space, one) for one in shading.stops()]
            if convert(self._table, DEVICE[SpaceKind.CMYK], parts) is not None:
                raise MixedKindsError("it mixes several inks in a mesh, a field or a background")
            return None
        ramp = convert_inks(self._table, shading.space, shading.sections(), mixtures)
        if ramp is None:
            return None
        definition["/Function"] = write_ramp(self._work.pdf, ramp.runs)
        return ramp.conversion

    def _background(
        self,
        shading: Shading,
        ground: Numbers,
        new: Conversion | None,
        changes: dict[str, Any],
    ) -> tuple[Conversion | None, dict[str, Any]]:
        alone = convert(self._table, shading.space, [ground])
        if new is None and (alone is None or not self._table.leads(alone.used)):
            return None, changes
        if new is None and alone is not None and alone.space is not shading.space:
            raise MixedKindsError(
                "its background would have to become another kind of colour than its stops"
            )
        target = new.space if new is not None else shading.space
        if alone is None:
            if target is not shading.space:
                kept = kept_as(self._table, shading.space, ground, PaintKind(target.kind.value))
                changes["/Background"] = numbers_array(device_numbers(kept))
            return new, changes
        if alone.space is not target:
            raise MixedKindsError("its background becomes a build of another kind")
        changes["/Background"] = numbers_array(alone.numbers[0])
        if new is None:
            return alone, changes
        return Conversion(new.space, new.numbers, new.used + alone.used), changes

    def _write_mesh(self, definition: Any, data: bytes, components: int) -> None:
        decode = [float(v) for v in definition["/Decode"]][:4]
        definition["/Decode"] = numbers_array((*decode, *((0.0, 1.0) * components)))
        definition["/BitsPerComponent"] = 16
        definition.write(deflate(data), filter=pikepdf.Name.FlateDecode)
