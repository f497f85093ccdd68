"""Go through a document in the order of its use: pages, forms, patterns, glyphs, annotations.

Every content stream is followed in the colour state and with the resources with which it is
called. What is done with the colours is up to the two users of this class: the inventory
(:mod:`inkaccord.artwork.content.walk`) and the recolouring
(:mod:`inkaccord.artwork.recolouring.recolour`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import pikepdf

from inkaccord.artwork.content.graphics_state import ColourState, first_state
from inkaccord.artwork.content.interpreter import ColourInterpreter
from inkaccord.artwork.content.reading import AGAIN, FILL, OVERPRINT, STROKE, ColourReading, FillSet
from inkaccord.artwork.content.scan import InlineImage
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.diagnostics import Place, error
from inkaccord.errors import FileError
from inkaccord.pdf.colours.scope import Scope, Scopes
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.double_entries import doubles_in_line
from inkaccord.pdf.entries import objgen
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.page_objects import content_streams, inherited
from inkaccord.pdf.streams import StreamReader


class Where(StrEnum):
    """What kind of content stream or object a colour stands in."""

    PAGE = "page"
    FORM = "form"
    PATTERN = "pattern"
    GLYPH = "glyph"
    ANNOTATION = "annotation"
    IMAGE = "image"
    SHADING = "shading"
    FIELD = "field"


Key = tuple[object, ...]
InlinePlace = tuple[tuple[int, int], int]
"""The object whose content an inline image stands in, and where in its bytes."""


@dataclass(eq=False, slots=True)
class Unit:
    """One content stream as it was followed in one setting."""

    where: Where
    number: tuple[int, int]
    scope: Scope
    data: bytes = b""
    reading: ColourReading = field(default_factory=ColourReading)
    calls: Counter[Unit] = field(default_factory=Counter)
    """Forms that it calls, how often."""
    images: list[tuple[Any, Scope]] = field(default_factory=list)
    """Headers of its inline images."""


class Traversal:
    """Follows all content streams of one document; the base of what is done with them."""

    full = False

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        table: SwapTable | None = None,
        *,
        mute_overprint: bool = False,
    ) -> None:
        self.pdf = pdf
        self.table = table
        self.spaces = SpaceReader()
        self.streams = StreamReader()
        self.odd: Counter[tuple[str, str, int | None]] = Counter()
        """Code, detail, page: how often something odd was met."""
        self.page: int | None = None
        self._interpreter = ColourInterpreter(table, full=self.full, mute_overprint=mute_overprint)
        self.scopes = Scopes(self.spaces)
        self._forms: dict[tuple[object, int], list[tuple[frozenset[str], Key, Unit]]] = {}
        self._active: list[object] = []
        self._calls = 0
        self._current: list[Unit] = []

    # -- what subclasses do -----------------------------------------------------------------

    def name_for(self, unit: Unit, target: Any, scope: Scope) -> str | None:
        """Return another name by which a form must be called after rewriting, or None."""
        del unit, target, scope
        return None

    def followed(self, unit: Unit, target: Any) -> None:
        """Take a content stream that has just been followed (not a page's)."""

    def new_entries(self, header: Any, scope: Scope, place: InlinePlace) -> bytes | None:
        """Return the rewritten entries of an inline image, or None."""
        del header, scope, place
        return None

    def mixture(self, space: Space, names: tuple[str, ...]) -> Space | None:
        """Return the space of other inks that a mixture needs after rewriting, or None."""
        del space, names
        return None

    def flights(self, fills: Sequence[FillSet | None]) -> Mapping[int, Mapped]:
        """Return which fills of a content stream are steps of a flight, and what they become."""
        del fills
        return {}

    # -- pages ------------------------------------------------------------------------------

    def pages(self) -> Iterator[tuple[int, pikepdf.Page]]:
        """Yield page numbers from 1 with the pages."""
        for number, page in enumerate(self.pdf.pages, start=1):
            self.page = number
            yield number, page
        self.page = None

    def page_scope(self, page: pikepdf.Page) -> Scope:
        """Return a page's resources, own or inherited."""
        return self.scopes.of(inherited(page.obj, "/Resources"), page.obj)

    def page_chunks(self, page: pikepdf.Page) -> list[tuple[Any, bytes]]:
        """Return a page's content streams with their bytes."""
        streams = content_streams(page.obj.get("/Contents"))
        return [(stream, self.read(stream)) for stream in streams]

    def follow_page(self, page: pikepdf.Page, data: bytes) -> Unit:
        """Follow a page's joined content."""
        scope = self.page_scope(page)
        unit = Unit(Where.PAGE, objgen(page.obj), scope, data)
        self._follow(unit, self.start(scope))
        if unit.reading.open_states:
            self.finding("unbalanced-states", "q and Q do not pair up in the page's content")
        return unit

    def appearances(self, page: pikepdf.Page) -> Iterator[Any]:
        """Yield the appearance streams of a page's annotations."""
        for annotation in self.annotations(page):
            look = annotation.get("/AP")
            if not isinstance(look, pikepdf.Dictionary):
                continue
            for _, one in sorted(look.items()):
                if isinstance(one, pikepdf.Stream):
                    yield one
                elif isinstance(one, pikepdf.Dictionary):
                    yield from (s for _, s in sorted(one.items()) if isinstance(s, pikepdf.Stream))

    def annotations(self, page: pikepdf.Page) -> Iterator[Any]:
        """Yield a page's annotation dictionaries."""
        found = page.obj.get("/Annots")
        if isinstance(found, pikepdf.Array):
            yield from (one for one in found if isinstance(one, pikepdf.Dictionary))

    def start(self, scope: Scope) -> ColourState:
        """Return the state in which a page, pattern or appearance begins."""
        return first_state(self.table, scope.device[SpaceKind.GRAY])

    # -- streams ----------------------------------------------------------------------------

    def read(self, stream: Any) -> bytes:
        """Return a stream's bytes; one that can't be unpacked is a finding and counts as empty."""
        try:
            return self.streams.read(stream)
        except FileError as problem:
            if problem.findings[0].code == "too-big-unpacked":
                raise
            self.finding(problem.findings[0].code, problem.findings[0].message)
            return b""

    def enter(self, stream: Any, where: Where, state: ColourState, caller: Scope) -> Unit | None:
        """Follow a form, pattern, glyph or appearance; None if it is inside itself."""
        number = objgen(stream)
        identity: object = number if number != (0, 0) else id(stream)
        if identity in self._active:
            self.finding("content-loop", "a form, pattern or glyph draws itself")
            return None
        if len(self._active) >= FileLimits.nesting:
            raise FileError(
                error(
                    "nested-too-deep",
                    f"forms lie more than {FileLimits.nesting} deep inside each other",
                    place=Place(page=self.page),
                )
            )
        scope = self.scopes.own(stream, caller)
        known = self._forms.setdefault((identity, id(scope)), [])
        for consulted, key, unit in known:
            if key == _key(state, consulted, self.full):
                return unit
        unit = Unit(where, number, scope, self.read(stream))
        self._active.append(identity)
        try:
            self._follow(unit, state)
        finally:
            self._active.pop()
        consulted = frozenset(unit.reading.consulted)
        known.append((consulted, _key(state, consulted, self.full), unit))
        self.followed(unit, stream)
        return unit

    def _follow(self, unit: Unit, state: ColourState) -> None:
        self._calls += 1
        most = FileLimits.calls * FileLimits.pages_full
        if self._calls > most:
            raise FileError.of(
                "too-many-streams",
                f"more than {most:,} content streams are drawn",
                place=Place(page=self.page),
                in_program="expand forms and symbols, and merge what is painted alike",
            )
        self._current.append(unit)
        glyph = unit.where is Where.GLYPH
        follow = self._interpreter.follow
        try:
            unit.reading = follow(unit.data, unit.scope, state, self, glyph=glyph)
            flights = self.flights(unit.reading.fills)
            if flights:
                unit.calls.clear()
                unit.images.clear()
                unit.reading = follow(unit.data, unit.scope, state, self, flights, glyph=glyph)
            for _, step in filter(None, unit.reading.fills):
                if step.remark is not None and not step.told:
                    self.finding(step.remark.code, step.remark.detail)
                    step.told = True
            unit.reading.fills = []
        finally:
            self._current.pop()

    # -- the guide of the interpreter -------------------------------------------------------

    def call(
        self, target: Any, state: ColourState, scope: Scope, reading: ColourReading
    ) -> tuple[str | None, frozenset[str]]:
        """Follow ``Do`` of a form; see :class:`inkaccord.artwork.content.reading.Guide`."""
        del reading
        unit = self.enter(target, Where.FORM, state, scope)
        if unit is None:
            return None, frozenset()
        self._current[-1].calls[unit] += 1
        return self.name_for(unit, target, scope), frozenset(unit.reading.consulted)

    def inline(
        self, data: bytes, image: InlineImage, scope: Scope, reading: ColourReading
    ) -> bytes | None:
        """Look at an inline image; see :class:`inkaccord.artwork.content.reading.Guide`."""
        del reading
        for double in doubles_in_line(data[slice(*image.header)]):
            self.finding("double-entry", double.spoken)
        try:
            header = pikepdf.Object.parse(b"<<" + data[slice(*image.header)] + b">>")
        except (pikepdf.PdfError, ValueError):
            self.finding("bad-inline-image", "the entries of an inline image cannot be read")
            return None
        self._current[-1].images.append((header, scope))
        return self.new_entries(header, scope, (self._current[-1].number, image.header[0]))

    def finding(self, code: str, detail: str) -> None:
        """Take note of something odd."""
        self.odd[code, detail, self.page] += 1


def _key(state: ColourState, consulted: frozenset[str], full: bool) -> Key:
    parts: list[object] = []
    for part, pen in ((FILL, state.fill), (STROKE, state.stroke)):
        if part in consulted:
            parts += [part, pen.space.key, pen.out.key]
            if full or consulted & {OVERPRINT, AGAIN}:
                parts += [pen.colour, pen.pattern]
    if OVERPRINT in consulted:
        parts += [OVERPRINT, state.overprint, state.muted]
    return tuple(parts)
