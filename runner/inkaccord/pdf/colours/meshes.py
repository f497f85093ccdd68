"""The packed vertex data of mesh shadings, types 4 to 7 (ISO 32000-2, 8.7.4.5.5 to 8.7.4.5.8)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from inkaccord.pdf.colours.sections import Numbers

_CORNERS = {6: (12, 8), 7: (16, 12)}
"""Control points of a patch that stands alone, and of one that continues another."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """Vertex data that can be read again and written with other colours."""

    data: bytes
    kind: int
    flag_bits: int
    coordinate_bits: int
    component_bits: int
    ranges: tuple[tuple[float, float], ...]
    """Of the colour components."""

    def colours(self) -> Iterator[Numbers]:
        """Yield the colour of every vertex or corner, in the order of the data."""
        top = (1 << self.component_bits) - 1
        for position, _ in self._places():
            reader = _Bits(self.data, position)
            yield tuple(
                low + reader.take(self.component_bits) * (high - low) / top
                for low, high in self.ranges
            )

    def rewritten(self, convert: Callable[[Numbers], Numbers], components: int) -> bytes:
        """Return the data with every colour converted.

        The new components are written with 16 bits, to be decoded from 0 to 1.
        """
        writer = _Writer()
        reader = _Bits(self.data, 0)
        top = (1 << self.component_bits) - 1
        for position, record_end in self._places():
            writer.copy(reader, position - reader.position)
            colour = convert(
                tuple(
                    low + reader.take(self.component_bits) * (high - low) / top
                    for low, high in self.ranges
                )
            )
            for value in colour[:components]:
                writer.put(round(min(max(value, 0.0), 1.0) * 65535), 16)
            if record_end is not None:
                writer.copy(reader, record_end[0] - reader.position)
                reader.position = record_end[1]
                writer.align()
        return writer.finish()

    def _places(self) -> Iterator[tuple[int, tuple[int, int] | None]]:
        """Yield the bit position of each colour; after a record's last, its end and the next.

        Records are padded to whole bytes, vertices of type 5 each, patches as a whole.
        """
        size = self.component_bits * len(self.ranges)
        total = len(self.data) * 8
        position = 0
        if self.kind in (4, 5):
            lead = (self.flag_bits if self.kind == 4 else 0) + 2 * self.coordinate_bits
            while position + lead + size <= total:
                start = position + lead
                end = start + size
                position = (end + 7) // 8 * 8
                yield start, (end, position)
            return
        alone, continued = _CORNERS[self.kind]
        reader = _Bits(self.data, 0)
        while position + self.flag_bits <= total:
            reader.position = position
            fresh = reader.take(self.flag_bits) & 3 == 0
            points, corners = (alone, 4) if fresh else (continued, 2)
            start = position + self.flag_bits + 2 * self.coordinate_bits * points
            end = start + corners * size
            if end > total:
                return
            position = (end + 7) // 8 * 8
            for corner in range(corners):
                last = (end, position) if corner == corners - 1 else None
                yield start + corner * size, last


class _Bits:
    def __init__(self, data: bytes, position: int) -> None:
        self._data = data
        self.position = position

    def take(self, count: int) -> int:
        start, end = self.position, self.position + count
        first, last = start // 8, (end + 7) // 8
        value = int.from_bytes(self._data[first:last], "big")
        self.position = end
        return value >> (last * 8 - end) & ((1 << count) - 1)


class _Writer:
    def __init__(self) -> None:
        self._out = bytearray()
        self._value = 0
        self._held = 0

    def put(self, value: int, count: int) -> None:
        self._value = self._value << count | value
        self._held += count
        while self._held >= 8:
            self._held -= 8
            self._out.append(self._value >> self._held & 0xFF)
        self._value &= (1 << self._held) - 1

    def copy(self, reader: _Bits, count: int) -> None:
        while count > 0:
            step = min(count, 32)
            self.put(reader.take(step), step)
            count -= step

    def align(self) -> None:
        if self._held:
            self.put(0, 8 - self._held)

    def finish(self) -> bytes:
        self.align()
        return bytes(self._out)


def read_mesh(definition: Any, kind: int, components: int, data: bytes) -> Mesh:
    """Return the mesh of a shading stream. Raises ValueError, KeyError."""
    decode = [float(v) for v in definition["/Decode"]]
    ranges = tuple(zip(decode[4::2], decode[5::2], strict=True))
    if len(ranges) != components:
        raise ValueError(f"a mesh with {len(ranges)} components for {components}")
    flag = int(definition["/BitsPerFlag"]) if kind != 5 else 0
    coordinate = int(definition["/BitsPerCoordinate"])
    component = int(definition["/BitsPerComponent"])
    if flag not in (0, 2, 4, 8) or component not in (1, 2, 4, 8, 12, 16):
        raise ValueError("a mesh with odd bit counts")
    if coordinate not in (1, 2, 4, 8, 12, 16, 24, 32):
        raise ValueError("a mesh with odd bit counts")
    return Mesh(data, kind, flag, coordinate, component, ranges)
