"""How much there is to compute in a file's gradients and mixtures of inks, before it is done."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import BAD_OBJECT, entry, objgen, word
from inkaccord.pdf.streams import StreamReader

_PLACES = 1_025
"""Places at which a gradient's calculator is computed."""
_OF_A_SAMPLE, _OF_A_PART, _OF_A_CORNER = 200, 3_000, 500
"""What a table's sample, a straight part and a mesh's corner cost beside a word of a calculator."""
_MIXTURES = 16_000
"""Mixtures of several inks that are computed for one space, at most."""
_WORD = re.compile(rb"[^\s{}]+")
_DEEPEST = 64
_ENDLESS = 10**15
_STITCHED = 3
_RECORDS = {4: (1, 1), 5: (1, 1), 6: (12, 4), 7: (16, 4)}
"""By the kind of mesh: the points and the colours of one record, at most."""


class Computing:
    """Adds up what one open file has us compute; a word of a calculator at a place is one step."""

    def __init__(self, pdf: pikepdf.Pdf, streams: StreamReader) -> None:
        self._pdf = pdf
        self._streams = streams
        self._words: dict[tuple[int, int], int] = {}
        self._parts: dict[tuple[int, int], int] = {}

    def steps(self) -> int:
        """Return how many steps all gradients and mixtures take together.

        Each is counted as often as it stands in the file: a function that many share is computed
        for each of them. Of functions that stand elsewhere (of tints, of a transfer) the largest
        that is made of others counts where it is more than that, once: renderers go through it.
        Raises FileError where a calculator's stream is too big.
        """
        if not any(_may_have_gradients(thing) for thing in self._pdf.objects):
            return 0  # most files: to look for one is quick, and to look into everything is not
        largest = max(map(self._stitched, self._pdf.objects))
        return max(largest, sum(self._of(thing, 0) for thing in self._pdf.objects))

    def _stitched(self, thing: Any) -> int:
        try:
            return self._gradient(thing, 0) if entry(thing, "/FunctionType") == _STITCHED else 0
        except BAD_OBJECT:
            return 0  # whoever reads it says so

    def _of(self, thing: Any, depth: int) -> int:
        if depth > _DEEPEST:
            return 0
        try:
            if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
                own = self._shading(thing) if "/ShadingType" in thing else 0
                return own + sum(self._of(one, depth + 1) for one in _direct(thing.values()))
            if isinstance(thing, pikepdf.Array):
                own = self._mixture(thing) if len(thing) > 3 and word(thing[0]) == "/DeviceN" else 0
                return own + sum(self._of(one, depth + 1) for one in _direct(thing))
        except BAD_OBJECT:
            pass  # whoever reads it says so
        return 0

    def _shading(self, shading: Any) -> int:
        function = entry(shading, "/Function")
        if function is not None or not isinstance(shading, pikepdf.Stream):
            return self._gradient(function, 0)
        points, corners = _RECORDS[int(shading["/ShadingType"])]
        colour = (len(shading["/Decode"]) - 4) // 2 * int(shading["/BitsPerComponent"])
        bits = 2 * points * int(shading["/BitsPerCoordinate"]) + corners * colour
        data = self._streams.read_or_nothing(shading)
        return 8 * len(data) * corners // max(bits, 8) * _OF_A_CORNER

    def _gradient(self, function: Any, depth: int) -> int:
        """Return what a gradient's function takes, all its parts together; each is looked at once.

        Parts that are shared are computed as often as they stand in the others.
        """
        number = objgen(function)
        if depth > _DEEPEST:
            return _ENDLESS
        if number == (0, 0) or number not in self._parts:
            self._parts[number] = 0  # one that holds itself
            self._parts[number] = self._parts_of(function, depth)
        return self._parts[number]

    def _parts_of(self, function: Any, depth: int) -> int:
        if isinstance(function, pikepdf.Array):
            return sum(self._gradient(one, depth + 1) for one in function)
        match entry(function, "/FunctionType"):
            case 0:
                return math.prod(int(size) for size in function["/Size"]) * _OF_A_SAMPLE
            case 2:
                return _OF_A_PART
            case 3:  # stitched of others
                return self._gradient(function["/Functions"], depth + 1)
            case 4:
                return self._length(function) * _PLACES
        return 0

    def _mixture(self, space: Any) -> int:
        function = space[3]
        if len(space[1]) < 2 or entry(function, "/FunctionType") != 4:
            return 0
        return self._length(function) * _MIXTURES

    def _length(self, calculator: Any) -> int:
        number = objgen(calculator)
        if number not in self._words:
            data = self._streams.read_or_nothing(calculator)
            self._words[number] = len(_WORD.findall(data))
        return self._words[number]


def _may_have_gradients(thing: Any) -> bool:
    """Whether an object is a gradient or a function, or holds one, without looking far."""
    resources = entry(thing, "/Resources")
    patterns = entry(resources, "/Pattern")
    return (
        any(entry(thing, key) is not None for key in ("/FunctionType", "/ShadingType", "/Shading"))
        or entry(resources, "/Shading") is not None
        or (
            isinstance(patterns, pikepdf.Dictionary)
            and any(True for _ in _direct(patterns.values()))
        )
    )


def _direct(things: Any) -> Iterator[Any]:
    """Yield what stands in an object itself; what is an object of its own is met by itself."""
    for thing in things:
        if isinstance(thing, pikepdf.Object) and objgen(thing) == (0, 0):
            yield thing
