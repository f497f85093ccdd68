"""Reading colour-space definitions (ISO 32000-2, 8.6)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.errors import FileError
from inkaccord.pdf.colours.profiles import ColourProfile, calibrated_profile, icc_profile
from inkaccord.pdf.colours.spaces import (
    DEFAULT_SPACES,
    DEVICE,
    DEVICE_COMPONENTS,
    FAMILY,
    PLAIN_PATTERN,
    Space,
    SpaceKind,
    inks_name,
)
from inkaccord.pdf.entries import entry, objgen, plain, word
from inkaccord.pdf.streams import StreamReader

MAX_DEPTH = 12
MAX_COLORANTS = 32
_DEVICE_NAMES = {
    "/DeviceCMYK": SpaceKind.CMYK,
    "/CMYK": SpaceKind.CMYK,
    "/CalCMYK": SpaceKind.CMYK,
    "/DeviceRGB": SpaceKind.RGB,
    "/RGB": SpaceKind.RGB,
    "/DeviceGray": SpaceKind.GRAY,
    "/G": SpaceKind.GRAY,
}
_FREE_STANDING = frozenset(
    {SpaceKind.LAB, SpaceKind.SPOT, SpaceKind.DEVICEN, SpaceKind.ICC, SpaceKind.CALIBRATED}
)
"""Spaces that are the same in every setting; the others can mean a default space."""


MISSING = Space(SpaceKind.UNKNOWN, 0, "missing space", key="missing")
"""What a name means that no resources hold: a choice of it is passed over, and the colour before
goes on (Ghostscript 10.00, poppler and PDFium, tried)."""


class SpaceReader:
    """Reads colour-space definitions, each indirect one once.

    ``unknown`` collects the definitions that make no sense, in words, and what becomes of them;
    ``made`` counts the spaces that know the object that defines them.
    """

    def __init__(self) -> None:
        self._by_object: dict[tuple[int, int], Space] = {}
        self._profiles: dict[tuple[int, int], ColourProfile] = {}
        self.unknown: list[str] = []
        self.made = 0

    def read(self, definition: Any, resources: Any = None, depth: int = 0) -> Space:
        """Return the space that a name or an array defines.

        A name is looked up in ``resources`` (a ``/Resources`` dictionary) unless it names a
        device space. Default colour spaces in ``resources`` turn device spaces into profiled
        ones.
        """
        if depth > MAX_DEPTH:
            return self._bad("a colour space nested too deep")
        if isinstance(definition, (pikepdf.Name, str)):
            return self._named(word(definition), resources, depth)
        key = objgen(definition)
        if key != (0, 0) and key in self._by_object:
            return self._by_object[key]
        try:
            space = self._array(definition, resources, depth)
            self.made += space.definition is not None
        except (
            AttributeError, IndexError, KeyError, TypeError, ValueError, FileError,
            pikepdf.PdfError,
        ):  # fmt: skip
            space = self._bad("a colour space that does not follow the standard")
        if key != (0, 0) and space.kind in _FREE_STANDING:
            self._by_object[key] = space
        return space

    def _bad(self, words: str) -> Space:
        self.unknown.append(f"{words}: what is painted in it stays as it is")
        return Space(SpaceKind.UNKNOWN, 0, "unknown space", key="unknown")

    def _named(self, name: str, resources: Any, depth: int) -> Space:
        kind = _DEVICE_NAMES.get(name)
        if kind is not None:
            return self.device(kind, resources, depth)
        if name == "/Pattern":
            return PLAIN_PATTERN
        found = entry(entry(resources, "/ColorSpace"), name)
        if found is None:
            self.unknown.append(
                f"the colour space {name} is not in the resources, and is passed over"
            )
            return MISSING
        if isinstance(found, pikepdf.Name) and word(found) == name:
            return self._bad(f"the colour space {name} names itself")
        return self.read(found, resources, depth + 1)

    def misnamed(self, resources: Any) -> Iterator[str]:
        """Yield the names of spaces in resources that are short for a device's own as well.

        Ghostscript 10.00 takes the device's, poppler and PDFium what the resources hold (tried);
        the standard has such short names in pictures in the content alone (ISO 32000-2, 8.9.7).
        """
        for name, kind in _DEVICE_NAMES.items():
            if name.startswith("/Device"):
                continue  # the device's by the standard, and for both but poppler
            found = entry(entry(resources, "/ColorSpace"), name)
            if found is not None and self.read(found, resources).kind is not kind:
                yield name

    def device(
        self, kind: SpaceKind, resources: Any, depth: int = 0, otherwise: Space | None = None
    ) -> Space:
        """Return a device space, or the profiled one that stands in for it in ``resources``.

        ``otherwise`` is what it is where ``resources`` say nothing.
        """
        fallback = otherwise or DEVICE[kind]
        default = entry(entry(resources, "/ColorSpace"), DEFAULT_SPACES[kind])
        if default is None or depth > MAX_DEPTH or isinstance(default, pikepdf.Name):
            return fallback
        space = self.read(default, None, depth + 1)
        if space.kind is SpaceKind.UNKNOWN or space.components != DEVICE_COMPONENTS[kind]:
            return fallback
        return space

    def _array(self, array: Any, resources: Any, depth: int) -> Space:
        if not isinstance(array, pikepdf.Array):
            return self._bad("a colour space that is neither a name nor an array")
        family = word(array[0])
        if family in _DEVICE_NAMES or len(array) == 1:
            return self._named(family, resources, depth + 1)
        match family:
            case "/ICCBased":
                return self._icc(array)
            case "/CalRGB" | "/CalGray":
                components = 3 if family == "/CalRGB" else 1
                return Space(
                    SpaceKind.CALIBRATED,
                    components,
                    "calibrated rgb" if family == "/CalRGB" else "calibrated gray",
                    array,
                    profile=calibrated_profile(array[1], components),
                    key=f"{family} {objgen(array)} {_digest(array[1])}",
                )
            case "/Lab":
                given = array[1].get("/Range", [-100, 100, -100, 100])
                a0, a1, b0, b1 = (float(v) for v in given)
                return Space(
                    SpaceKind.LAB,
                    3,
                    "lab",
                    array,
                    ranges=(
                        (0.0, 100.0),
                        (max(a0, -128), min(a1, 127)),
                        (max(b0, -128), min(b1, 127)),
                    ),
                    key=f"lab {_digest(array[1])}",
                )
            case "/Separation":
                return self._spot(ink_name(array[1]), array, resources, depth)
            case "/DeviceN":
                names = tuple(map(ink_name, array[1]))
                if not 0 < len(names) <= MAX_COLORANTS:
                    raise ValueError(f"{len(names)} colorants")
                if len(names) == 1:  # the same as a Separation (ISO 32000-2, 8.6.6.5)
                    return self._spot(names[0], array, resources, depth)
                return Space(
                    SpaceKind.DEVICEN,
                    len(names),
                    inks_name(names),
                    array,
                    base=self.read(array[2], resources, depth + 1),
                    colorants=names,
                    key=f"devicen {names}",
                )
            case "/Indexed" | "/I":
                base = self.read(array[1], resources, depth + 1)
                table = index_table(array)
                return Space(
                    SpaceKind.INDEXED,
                    1,
                    f"indexed {base.name}",
                    array,
                    base=base,
                    table=table,
                    key=f"indexed {base.key} {hashlib.sha256(table).hexdigest()}",
                )
            case "/Pattern":
                base = self.read(array[1], resources, depth + 1)
                return Space(
                    SpaceKind.PATTERN,
                    base.components,
                    "pattern",
                    array,
                    base=base,
                    key=f"pattern {base.key}",
                )
        return self._bad(f"the colour space family {family} is not known")

    def _icc(self, array: Any) -> Space:
        profile = array[1]
        components, number = int(profile["/N"]), objgen(profile)
        if components not in FAMILY:
            words = f"a profile for {components} numbers (object {number[0]}), not 1, 3 or 4"
            return self._bad(words)
        given = [float(v) for v in profile.get("/Range", [0, 1] * components)]
        if number not in self._profiles:
            self._profiles[number] = icc_profile(profile, components)
        return Space(
            SpaceKind.ICC,
            components,
            f"profiled {FAMILY[components]}",
            array,
            ranges=tuple(zip(given[::2], given[1::2], strict=True)),
            profile=self._profiles[number],
            key=f"icc {components} {number}",
        )

    def _spot(self, name: str, array: Any, resources: Any, depth: int) -> Space:
        base = self.read(array[2], resources, depth + 1)
        return Space(
            SpaceKind.SPOT, 1, name, array, base=base, colorants=(name,), key=f"spot {name}"
        )


def ink_name(name: Any) -> str:
    """Return an ink's name. Raises TypeError for what is none: devices leave such a space out."""
    if not isinstance(name, pikepdf.Name):
        raise TypeError("an ink's name must be a name")
    return plain(name)


def is_family(name: str) -> bool:
    """Whether a name stands for a colour space by itself, not for one in the resources."""
    return name in _DEVICE_NAMES or name == "/Pattern"


def index_table(array: Any) -> bytes:
    """Return the colour table of an ``[/Indexed base hival table]`` array."""
    table = array[3]
    if isinstance(table, pikepdf.Stream):
        return StreamReader(most_mib=1).read(table)
    return bytes(table)


def _digest(dictionary: Any) -> str:
    return str(pikepdf.Object.unparse(dictionary, resolved=False))
