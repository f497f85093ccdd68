"""Every place of a document that holds a colour."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pikepdf

from inkaccord.artwork.content.graphics_state import NO_OVERPRINT, ColourPen, Overprint
from inkaccord.artwork.content.reading import FillSet
from inkaccord.artwork.content.traverse import Traversal, Unit, Where
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import Mapped
from inkaccord.pdf.colours.functions import BadFunctionError
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.shadings import read_shading
from inkaccord.pdf.colours.spaces import Colour, Space, SpaceKind
from inkaccord.pdf.entries import entry, objgen
from inkaccord.pdf.page_objects import alternate_images
from inkaccord.pdf.page_source import PAGES_AT_ONCE, PageSource

__all__ = ["ColourUse", "Walk", "Where", "walk"]


@dataclass(frozen=True, slots=True)
class ColourUse:
    """One colour in one role in one content stream or object of one page."""

    page: int | None
    """From 1; None for what no page draws."""
    colour: Colour
    role: Role
    where: Where
    overprint: Overprint = NO_OVERPRINT
    object: tuple[int, int] = (0, 0)
    """Number and generation of the object that holds it."""
    count: int = 1
    """How many objects are painted so."""
    space: Space | None = None
    """The colour space as the file defines it."""
    becomes: Mapped | None = None
    """What it becomes as a step of a flight, where the walk was to look for flights."""


@dataclass(frozen=True, slots=True)
class _Found:
    colour: Colour
    role: Role
    where: Where
    overprint: Overprint
    object: tuple[int, int]
    space: Space | None
    becomes: Mapped | None = None


Flights = Callable[[Sequence[FillSet | None]], Mapping[int, Mapped]]
"""Tells which fills of a content stream are steps of a flight, and what they become."""
Tally = Counter[_Found]


class Walk(Traversal):
    """Goes through a document and tells its colours, page by page."""

    full = True

    def __init__(
        self,
        source: PageSource,
        flights: Flights | None = None,
    ) -> None:
        super().__init__(source.pdf)
        self._source = source
        self._flights = flights
        self._tallies: dict[Unit, Tally] = {}
        self._parts: dict[object, Tally] = {}
        self._met: set[tuple[str, str, int]] = set()
        self.photographs: dict[tuple[int, int], Space | None] = {}
        """Images that hold colours of their own, not a table of them."""

    def flights(self, fills: Sequence[FillSet | None]) -> Mapping[int, Mapped]:
        """Return what whoever walks takes for steps of flights."""
        return self._flights(fills) if self._flights is not None else {}

    def followed(self, unit: Unit, target: Any) -> None:
        """Let the content go of what has been followed."""
        del target
        unit.data = b""

    def pages(self) -> Iterator[tuple[int, pikepdf.Page]]:
        """Yield page numbers from 1 with the pages."""
        for number, page in self._source.pages():
            if self._source.pdf is not self.pdf:
                self.scopes.let_go()
                self.pdf = self._source.pdf
            self.page = number
            with self._keeping():
                yield number, page
        self.page = None

    @contextmanager
    def _keeping(self) -> Iterator[None]:
        """Keep open what is open now if something of it is kept."""
        before = self.spaces.made, self.scopes.held
        yield
        if before != (self.spaces.made, self.scopes.held):
            self._source.hold()

    def uses(self) -> Iterator[ColourUse]:
        """Yield every use of a colour."""
        for number, page in self.pages():
            tally: Tally = Counter()
            data = b"\n".join(chunk for _, chunk in self.page_chunks(page))
            unit = self.follow_page(page, data)
            self._add(tally, self._tally(unit), 1)
            del self._tallies[unit]  # no other page asks for it
            scope = self.page_scope(page)
            for appearance in self.appearances(page):
                one = self.enter(appearance, Where.ANNOTATION, self.start(scope), scope)
                if one is not None:
                    self._add(tally, self._tally(one), 1)
            yield from self._uses(number, tally)
        yield from self._uses(None, self._leftovers())

    @staticmethod
    def _uses(page: int | None, tally: Tally) -> Iterator[ColourUse]:
        for found, count in tally.items():
            yield ColourUse(
                page, found.colour, found.role, found.where, found.overprint, found.object,
                count, found.space, found.becomes,
            )  # fmt: skip

    @staticmethod
    def _add(into: Tally, other: Tally, times: int) -> None:
        for found, count in other.items():
            into[found] += count * times

    def _tally(self, unit: Unit) -> Tally:
        """Return what a content stream paints, everything that it calls included."""
        known = self._tallies.get(unit)
        if known is not None:
            return known
        tally = self._tallies[unit] = Counter()
        reading = unit.reading
        used = set()
        for (pen, role, overprint), count in reading.painted.items():
            used.add(pen)
            if pen.inherited and unit.where is Where.GLYPH:
                continue  # the text's own colour, counted there
            if pen.colour is not None:
                what = Role.PATTERN if pen.pattern else Role(role)
                tally[self._found(pen, pen.colour, what, unit, overprint)] += count
        for pen in reading.chosen:
            if pen not in used and not pen.inherited and pen.colour is not None:
                tally[self._found(pen, pen.colour, Role.UNUSED, unit, NO_OVERPRINT)] += 1
        for category, name in sorted(reading.named):
            self._met.add((category, name, id(unit.scope)))
            self._add(tally, self._part(category, name, unit.scope), 1)
        for header, scope in unit.images:
            self._add(tally, self._image(header, scope, unit.number, Where.IMAGE), 1)
        for called, times in unit.calls.items():
            self._add(tally, self._tally(called), times)
        return tally

    @staticmethod
    def _found(
        pen: ColourPen, colour: Colour, role: Role, unit: Unit, overprint: Overprint
    ) -> _Found:
        return _Found(colour, role, unit.where, overprint, unit.number, pen.space, pen.mapped)

    # -- resources --------------------------------------------------------------------------

    def _part(self, category: str, name: str, scope: Scope) -> Tally:
        resource = scope.entry(category, name)
        number = objgen(resource)
        key: object = (category, name, id(scope))
        if number != (0, 0) and not _takes_from(category, resource):
            key = (category, number, scope.defaults)
            if entry(resource, "/Resources") is not None:  # which may lack a name of its caller's
                key = (*key, id(self.scopes.own(resource, scope)))
        known = self._parts.get(key)
        if known is None:
            known = self._parts[key] = Counter()
            known.update(self._read_part(category, resource, scope))
        return known

    def _read_part(self, category: str, resource: Any, scope: Scope) -> Tally:
        match category:
            case "/Pattern":
                return self._pattern(resource, scope)
            case "/Shading":
                return self._shading(resource, scope, Where.SHADING)
            case "/XObject" if entry(resource, "/Subtype") == "/Image":
                tally: Tally = Counter()
                for one in (resource, *alternate_images(resource)):
                    self._add(tally, self._image(one, scope, objgen(one), Where.IMAGE), 1)
                return tally
            case "/Font":
                return self._font(resource, scope)
            case "/ExtGState":  # which can choose a typeface, too (ISO 32000-2, table 57)
                fonts = entry(resource, "/Font")
                return self._font(fonts[0] if isinstance(fonts, pikepdf.Array) else None, scope)
        return Counter()

    def _pattern(self, pattern: Any, scope: Scope) -> Tally:
        if entry(pattern, "/PatternType") == 2:
            return self._shading(entry(pattern, "/Shading"), scope, Where.PATTERN)
        if not isinstance(pattern, pikepdf.Stream) or entry(pattern, "/PaintType") == 2:
            return Counter()
        unit = self.enter(pattern, Where.PATTERN, self.start(scope), scope)
        return self._tally(unit) if unit is not None else Counter()

    def _shading(self, shading: Any, scope: Scope, where: Where) -> Tally:
        tally: Tally = Counter()
        if shading is None:
            return tally
        try:
            read = read_shading(shading, scope.resources, self.spaces, self.streams)
            colours = read.colours()
        except BadFunctionError as problem:
            self.finding("bad-shading", str(problem))
            return tally
        for colour in colours:
            tally[
                _Found(colour, Role.GRADIENT, where, NO_OVERPRINT, objgen(shading), read.space)
            ] += 1
        return tally

    def _image(self, image: Any, scope: Scope, number: tuple[int, int], where: Where) -> Tally:
        tally: Tally = Counter()
        if image.get("/ImageMask", image.get("/IM", False)):
            return tally
        definition = image.get("/ColorSpace", image.get("/CS"))
        space = scope.space(definition) if definition is not None else None
        if space is not None and space.kind is SpaceKind.INDEXED and space.base is not None:
            size = space.base.components
            if size and space.table:
                for index in range(len(space.table) // size):
                    colour = space.colour((float(index),))
                    tally[_Found(colour, Role.IMAGE, where, NO_OVERPRINT, number, space)] += 1
                return tally
        if space is not None and space.kind in (SpaceKind.SPOT, SpaceKind.DEVICEN):
            full = space.colour(_fullest(image, space.components))
            tally[_Found(full, Role.IMAGE, where, NO_OVERPRINT, number, space)] += 1
            return tally
        self.photographs[number] = space
        return tally

    def _font(self, font: Any, scope: Scope) -> Tally:
        tally: Tally = Counter()
        if entry(font, "/Subtype") != "/Type3":
            return tally
        procedures = entry(font, "/CharProcs")
        if not isinstance(procedures, pikepdf.Dictionary):
            return tally
        inner = self.scopes.own(font, scope)
        for _, glyph in sorted(procedures.items()):
            if isinstance(glyph, pikepdf.Stream):
                unit = self.enter(glyph, Where.GLYPH, self.start(inner), inner)
                if unit is not None:
                    self._add(tally, self._tally(unit), 1)
        return tally

    def _scopes_at_hand(self) -> Iterator[Scope]:
        """Yield the scopes met so far, each with its resources."""
        scopes = list(self.scopes)
        for start in range(0, len(scopes), PAGES_AT_ONCE):
            with self._source.anew() as pdf:
                if pdf is not self.pdf:
                    self.scopes.let_go()
                    self.pdf = pdf
                for scope in scopes[start : start + PAGES_AT_ONCE]:
                    scope.find(pdf)
                    with self._keeping():
                        yield scope

    def _leftovers(self) -> Tally:
        """Return the colours of resources that no content uses: a printer may still meet them."""
        tally: Tally = Counter()
        for scope in self._scopes_at_hand():
            for category in ("/Pattern", "/Shading", "/XObject"):
                table = entry(scope.resources, category)
                if not isinstance(table, pikepdf.Dictionary):
                    continue
                for name in sorted(table.keys()):
                    if (category, name, id(scope)) not in self._met:
                        self._add(tally, self._part(category, name, scope), 1)
            spaces = entry(scope.resources, "/ColorSpace")
            if isinstance(spaces, pikepdf.Dictionary):
                for name in sorted(spaces.keys()):
                    space = scope.space(name)
                    if space.kind in (SpaceKind.SPOT, SpaceKind.DEVICEN):
                        colour = space.colour((1.0,) * space.components)
                        tally[
                            _Found(
                                colour, Role.UNUSED, Where.PAGE, NO_OVERPRINT,
                                objgen(space.definition), space,
                            )
                        ] += 1  # fmt: skip
        return Counter(
            {
                _Found(
                    f.colour, Role.UNUSED, f.where, f.overprint, f.object, f.space, f.becomes
                ): count
                for f, count in tally.items()
            }
        )


def _fullest(image: Any, inks: int) -> tuple[float, ...]:
    """Return the most of each ink that a picture's samples can stand for."""
    decode = image.get("/Decode", image.get("/D"))
    try:
        ends = [float(value) for value in decode] if decode is not None else [0.0, 1.0] * inks
    except (TypeError, ValueError):
        ends = []
    if len(ends) != 2 * inks:
        return (1.0,) * inks
    return tuple(map(max, ends[::2], ends[1::2]))


def _takes_from(category: str, resource: Any) -> bool:
    """Whether a resource means what the names of its surroundings make of it."""
    if category == "/ExtGState":
        return True
    if category in ("/Pattern", "/Font") and entry(resource, "/PatternType") != 2:
        return entry(resource, "/Resources") is None
    return category == "/XObject" and isinstance(entry(resource, "/ColorSpace"), pikepdf.Name)


def walk(pdf: pikepdf.Pdf) -> Iterator[ColourUse]:
    """Yield every use of a colour in an open document, page by page.

    Soft masks are left out: they hold no colour of the print. Raises FileError when a limit is
    passed or a stream can't be unpacked.
    """
    yield from Walk(PageSource(pdf)).uses()
