"""Shadings: which colours they hold, and rewriting them (ISO 32000-2, 8.7.4.5)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pikepdf

from inkaccord.pdf.colours.functions import BadFunctionError, Function, read_function
from inkaccord.pdf.colours.meshes import Mesh, read_mesh
from inkaccord.pdf.colours.sections import Numbers, Section, clipped
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import Colour, Space
from inkaccord.pdf.streams import StreamReader

GRID = 17
"""Samples per direction of a function-based shading, when its function isn't a table."""


@dataclass(frozen=True, slots=True)
class Shading:
    """A shading, read."""

    kind: int
    space: Space
    function: Function | None
    span: tuple[float, float]
    """The inputs of the function from one end of the gradient to the other."""
    mesh: Mesh | None = None
    background: Numbers | None = None

    @property
    def inputs(self) -> tuple[float, float]:
        """The least and the greatest input that a function of one variable is asked for."""
        return self.mesh.ranges[0] if self.mesh is not None else self.span

    def sections(self) -> list[Section]:
        """Return the sections of a function of one variable; numbers out of range bend them."""
        if self.function is None:
            return []
        return list(clipped(self.function.sections(*self.inputs), self.space.inside))

    def stops(self) -> Iterator[Numbers]:
        """Yield the colours at the gradient's stops, corners or samples, and the background."""
        if self.background is not None:
            yield self.background
        if self.kind == 1 and self.function is not None:
            for point in grid_of(self.function):
                yield self.function(*point)
        elif self.function is not None:
            for section in self.sections():
                yield from (section(section.low), section(section.high))
        elif self.mesh is not None:
            yield from self.mesh.colours()

    def colours(self) -> list[Colour]:
        """Return each colour that :meth:`stops` names, once."""
        numbers = dict.fromkeys(one for one in self.stops() if len(one) == self.space.components)
        return list(dict.fromkeys(self.space.colour(one) for one in numbers))


def grid_of(function: Function) -> Iterator[Numbers]:
    """Yield the points at which a function of two variables is looked at."""
    size = function.grid if len(function.grid) == 2 else (GRID, GRID)
    (x0, x1), (y0, y1) = function.domain
    for j in range(size[1]):
        for i in range(size[0]):
            yield (
                x0 + (x1 - x0) * i / max(size[0] - 1, 1),
                y0 + (y1 - y0) * j / max(size[1] - 1, 1),
            )


def read_shading(
    definition: Any, resources: Any, spaces: SpaceReader, streams: StreamReader
) -> Shading:
    """Return a shading. Raises BadFunctionError for one that does not follow the standard."""
    try:
        shading = _read(definition, resources, spaces, streams)
    except (AttributeError, KeyError, IndexError, TypeError, ValueError, pikepdf.PdfError) as bad:
        words = str(bad) if isinstance(bad, BadFunctionError) else ""
        raise BadFunctionError(words or "a shading that does not follow the standard") from bad
    function, space, kind = shading.function, shading.space, shading.kind
    if kind in (1, 2, 3) and function is None:
        raise BadFunctionError("a shading without a function")
    if function is not None and function.outputs != space.components:
        raise BadFunctionError("a shading whose function does not fit its colour space")
    if function is not None and len(function.domain) != (2 if kind == 1 else 1):
        raise BadFunctionError("a shading whose function takes other inputs")
    return shading


def _read(definition: Any, resources: Any, spaces: SpaceReader, streams: StreamReader) -> Shading:
    kind = int(definition["/ShadingType"])
    space = spaces.read(definition["/ColorSpace"], resources)
    function = None
    if "/Function" in definition:
        function = read_function(definition["/Function"], streams)
    span = (0.0, 1.0)
    mesh = None
    if kind in (2, 3):
        if "/Domain" in definition:
            span = (float(definition["/Domain"][0]), float(definition["/Domain"][1]))
    elif kind in (4, 5, 6, 7):
        if not isinstance(definition, pikepdf.Stream):
            raise BadFunctionError("a mesh without its data")
        components = 1 if function is not None else space.components
        mesh = read_mesh(definition, kind, components, streams.read(definition))
    elif kind != 1:
        raise BadFunctionError(f"a shading of type {kind}")
    background = definition.get("/Background")
    ground = tuple(float(v) for v in background) if background is not None else None
    return Shading(kind, space, function, span, mesh, ground)
