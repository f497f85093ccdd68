"""Rewriting the colours of one open document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pikepdf

from inkaccord.artwork.content.reading import FILL, STROKE, FillSet
from inkaccord.artwork.content.traverse import InlinePlace, Traversal, Unit, Where
from inkaccord.artwork.recolouring import unhandled
from inkaccord.artwork.recolouring.conversion import MixedKindsError, mixtures
from inkaccord.artwork.recolouring.edits import applied, split_edits
from inkaccord.artwork.recolouring.flights import find_flights
from inkaccord.artwork.recolouring.leftovers import plates_named
from inkaccord.artwork.recolouring.masks import (
    Number,
    give_resources,
    isolate,
    masks_in,
    names_in,
    reachable,
)
from inkaccord.artwork.recolouring.pictures import PictureRewriter
from inkaccord.artwork.recolouring.resources import ResourceRewriter
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.artwork.recolouring.variants import Variants
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.artwork.swaps import SpotMode
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.spaces import DEVICE, DEVICE_GRAY, Space, write_paint
from inkaccord.pdf.entries import entry, objgen
from inkaccord.pdf.signatures import form_fields, is_signed

_SHARED = {
    Where.PATTERN: "a pattern",
    Where.GLYPH: "a drawn character",
    Where.ANNOTATION: "the look of a comment or form field",
}
"""What has no name by which content calls it, so that no copy of it can be called instead."""


class Recolourer(Traversal):
    """Rewrites one open document."""

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        table: SwapTable,
        *,
        mute_overprint: bool = False,
    ) -> None:
        # Only a swap of the initial black needs to know whether anything is painted with it.
        self.full = table.of(DEVICE_GRAY.colour((0.0,))) is not None
        super().__init__(pdf, table, mute_overprint=mute_overprint)
        self.work = Rewriting(pdf, table, self.spaces, self.streams, self.scopes, self.finding)
        self.resources = ResourceRewriter(self.work)
        self.pictures = PictureRewriter(self.work, self.resources)
        self._variants = Variants(pdf, self.streams)
        self._variant_of: dict[Unit, int] = {}
        self._visited: set[int] = set()
        self._entries_met: set[tuple[Number, str]] = set()
        self._nameless: dict[Scope, set[str]] = {}
        """What typefaces without resources name, by the scope in which they stand."""
        self._page_of: dict[int, int | None] = {}
        """The first page on which a scope is used, by the scope's id."""

    def run(self) -> None:
        """Rewrite everything."""
        for _, page in self.pages():
            self._page(page)
            scope = self.page_scope(page)
            for appearance in self.appearances(page):
                self.enter(appearance, Where.ANNOTATION, self.start(scope), scope)
            for annotation in self.annotations(page):
                self._entries(annotation)
            self._look_at(page)
        self._form_fields()
        self._uncalled_forms()
        self._look_for_names_of_two()
        self._look_around()
        self._isolate_masks()
        # Definitions last: until now every content stream had to meet them as they were.
        for scope in self.scopes:
            self.page = self._page_of.get(id(scope))
            self._definitions(scope)
        self.page = None
        for scope in self.scopes:
            self.resources.forget_spots(scope)
        for scope in self.scopes:
            scope.keep_borrowed()
        self._variants.write()
        self._look_for_plates()

    def _look_for_plates(self) -> None:
        """Report the plates of spots that are to be process colour and are still named."""
        if self.table is None or self.table.spots is not SpotMode.PROCESS:
            return
        told = set(self.work.results.stuck)
        for name, where in plates_named(self.pdf, set(self.table.whole_spots)):
            if name not in told:
                told.add(name)
                self.finding("plate-left", f"spot {name} is still named {where}")

    def _look_at(self, page: pikepdf.Page) -> None:
        """Report what stands on a page but is left alone."""
        for code in set(unhandled.on_page(page.obj, self.annotations(page))):
            self.finding("left-alone", unhandled.LEFT_ALONE[code])

    def _look_around(self) -> None:
        """Report what stands in the document or its resources but is left alone."""
        if is_signed(self.pdf):
            self.finding("signed-file", "the file is signed, and any change breaks the signature")
        codes = set(unhandled.in_document(self.pdf))
        spots: set[str] = set()
        if self.table is not None:
            spots = {name or "" for name in self.table.whole_spots}
            spots -= self.table.gone(spots)  # pictures that lose their inks are mixed anew
        for scope in self.scopes:
            codes.update(unhandled.in_resources(scope, self.spaces, spots))
            for name in self.spaces.misnamed(scope.resources):
                self.finding(
                    "named-space",
                    f"a colour space of the resources is called {name}, which is also short for a "
                    "colour of the device, and devices differ in which of them they take",
                )
        for code in sorted(codes):
            self.finding("left-alone", unhandled.LEFT_ALONE[code])

    # -- content ----------------------------------------------------------------------------

    def _page(self, page: pikepdf.Page) -> None:
        chunks = self.page_chunks(page)
        data = b"\n".join(chunk for _, chunk in chunks)
        unit = self.follow_page(page, data)
        self.work.results.swapped.update(unit.reading.swapped)
        edits = list(unit.reading.edits)
        start = self._initial_colours(unit)
        if start:
            edits.insert(0, (0, 0, start))
        self._visit(unit.scope)
        unit.data = b""
        pieces = split_edits(edits, [len(chunk) for _, chunk in chunks])
        new_streams = []
        for (stream, chunk), changes in zip(chunks, pieces, strict=True):
            new = applied(chunk, changes) if changes else None
            new_streams.append(self._variants.stream(stream, self._variants.add(stream, new)))
        if any(new is not stream for new, (stream, _) in zip(new_streams, chunks, strict=True)):
            page.obj["/Contents"] = pikepdf.Array(new_streams)

    def _initial_colours(self, unit: Unit) -> bytes:
        """Return the operators that swap the initial black, if anything is painted with it."""
        text = b""
        start = self.start(unit.scope)
        for part, pen, fill in ((FILL, start.fill, True), (STROKE, start.stroke, False)):
            if pen.mapped is not None and part in unit.reading.consulted:
                kind = pen.mapped.paint.kind
                if unit.scope.bars(kind):
                    words = f"the black that nothing sets should become {pen.mapped.paint.spoken}"
                    self.finding("default-space", words)
                    continue
                name = ""
                if unit.scope.defaulted(kind):
                    name = unit.scope.add_space(self.resources.mixtures.plates())
                text += write_paint(pen.mapped.paint, fill=fill, name=name) + b"\n"
                self.work.results.swapped[pen.mapped.swap, pen.mapped.tint] += 1
        return text

    def flights(self, fills: Sequence[FillSet | None]) -> Mapping[int, Mapped]:
        """Return what the steps of flights become, by their places in the content."""
        found: dict[int, Mapped] = {}
        if self.table is None:
            return found
        for flight in find_flights(self.table, fills):
            ends = [str(flight.space.colour(end)) for end in flight.climb.ends]
            words = f"{len(flight.indices)} flat fills make a gradient from {' to '.join(ends)}"
            try:
                becomes = mixtures(self.table, flight.space, flight.climb)
            except MixedKindsError as problem:
                self.work.results.without_build |= problem.without_build
                self.finding("mixed-kinds", f"{words}, which cannot be recoloured: {problem}")
                continue
            self.finding("stepped-gradient", words)
            for index, mapped in zip(flight.indices, becomes, strict=True):
                fill = fills[index]
                if fill is not None and mapped is not None:
                    found.setdefault(fill[0], mapped)
        return found

    def followed(self, unit: Unit, target: Any) -> None:
        """Keep what a form, pattern, glyph or appearance becomes."""
        reading = unit.reading
        if unit.where in (Where.PATTERN, Where.ANNOTATION):
            start = self._initial_colours(unit)
            if start:
                reading.edits.insert(0, (0, 0, start))
        if unit.where is Where.GLYPH and reading.consulted & {FILL, STROKE} and reading.uses_caller:
            self.finding(
                "glyph-state", "a glyph sets a colour in the colour space of the text around it"
            )
        new = reading.rewritten(unit.data) if reading.edits else None
        self.work.results.swapped.update(reading.swapped)
        index = self._variant_of[unit] = self._variants.add(target, new)
        if index and unit.where is not Where.FORM:
            self.finding("drawn-two-ways", f"{_SHARED[unit.where]} is used on several pages")
        unit.data = b""
        reading.edits = []
        self._visit(unit.scope)

    def name_for(self, unit: Unit, target: Any, scope: Scope) -> str | None:
        """Return the name of the fork that a call in this colour state needs."""
        index = self._variant_of.get(unit, 0)
        if index == 0:
            return None
        copy = self._variants.stream(target, index)
        return scope.add("/XObject", ("fork", objgen(target), index), lambda: copy)

    # -- resources --------------------------------------------------------------------------

    def _visit(self, scope: Scope) -> None:
        """Follow the content streams that stand in resources: patterns and glyphs."""
        if id(scope) in self._visited:
            return
        self._visited.add(id(scope))
        self._page_of[id(scope)] = self.page
        for _, pattern in _items(scope, "/Pattern"):
            if isinstance(pattern, pikepdf.Stream) and pattern.get("/PaintType") != 2:
                self.enter(pattern, Where.PATTERN, self.start(scope), scope)
        for _, font in _items(scope, "/Font"):
            self._glyphs(font, scope)
        for _, state in _items(scope, "/ExtGState"):
            font = entry(state, "/Font")
            if isinstance(font, pikepdf.Array) and len(font):
                self._glyphs(font[0], scope)

    def _glyphs(self, font: Any, scope: Scope) -> None:
        procedures = entry(font, "/CharProcs")
        if entry(font, "/Subtype") != "/Type3" or not isinstance(procedures, pikepdf.Dictionary):
            return
        inner = self.scopes.own(font, scope)
        drawn = [it for _, it in sorted(procedures.items()) if isinstance(it, pikepdf.Stream)]
        if inner is scope:
            names = {name for glyph in drawn for name in names_in(self.read(glyph))}
            self._nameless.setdefault(scope, set()).update(names)
        for glyph in drawn:
            self.enter(glyph, Where.GLYPH, self.start(inner), inner)
        self._visit(inner)

    def _look_for_names_of_two(self) -> None:
        """Report names of characters that a page and the form around them have each their own.

        A typeface without resources is to take the page's (ISO 32000-2, 9.6.4), as Ghostscript
        10.00 does; PDFium and poppler take the form's (tried).
        """
        if not any(self._nameless.values()):
            return
        for _, page in self.pages():
            outer = self.page_scope(page)
            drawn = reachable((outer.resources, *self.appearances(page)))
            for scope, names in self._nameless.items():
                if scope is outer or scope.home not in drawn | {(0, 0)}:
                    continue
                for name in scope.clashing(outer, names):
                    self.finding(
                        "drawn-two-ways",
                        f"a drawn character takes {name} from the page on some devices and from "
                        "the form around it on others,",
                    )

    def _uncalled_forms(self) -> None:
        """Rewrite forms that stand in resources but that no content calls."""
        done: set[int] = set()
        while True:
            waiting = [s for s in self.scopes if id(s) not in done]
            if not waiting:
                return
            for scope in waiting:
                done.add(id(scope))
                for _, form in _items(scope, "/XObject"):
                    if not isinstance(form, pikepdf.Stream):
                        continue  # and can't be drawn
                    if entry(form, "/Subtype") == "/Form" and form not in self._variants:
                        self.enter(form, Where.FORM, self.start(scope), scope)

    def _isolate_masks(self) -> None:
        masks: list[Any] = []
        printed = [page.obj.get("/Contents") for page in self.pdf.pages]
        for scope in self.scopes:
            if scope.resources is None:
                continue
            for mask in masks_in(entry(scope.resources, "/ExtGState")):
                give_resources(self.pdf, mask, scope.resources, self.read)
                masks.append(mask)
            printed.append(scope.resources)
        if masks:
            isolate(self.pdf, sorted(masks, key=lambda mask: objgen(mask["/G"])), printed)

    def _definitions(self, scope: Scope) -> None:
        resources = self.resources
        resources.spaces_of(scope)
        for name, shading in _items(scope, "/Shading"):
            resources.shading(shading, scope, ("shading", scope.place, name))
        for name, pattern in _items(scope, "/Pattern"):
            if entry(pattern, "/PatternType") == 2:
                inner = entry(pattern, "/Shading")
                resources.shading(inner, scope, ("pattern", scope.place, name))
        for _, image in _items(scope, "/XObject"):
            if entry(image, "/Subtype") == "/Image":
                self.pictures.image(image, scope)

    def mixture(self, space: Space, names: tuple[str, ...]) -> Space | None:
        """Return the space in which a build stands beside spots that stay."""
        mixtures = self.resources.mixtures
        return mixtures.plates() if space.kind in DEVICE else mixtures.of(space, names)

    def new_entries(self, header: Any, scope: Scope, place: InlinePlace) -> bytes | None:
        """Return the rewritten entries of an inline image."""
        return self.pictures.inline_image(header, scope, place)

    # -- annotations and form fields ---------------------------------------------------------

    def _entries(self, annotation: Any) -> None:
        look = entry(annotation, "/MK")
        for holder, key in ((annotation, "/C"), (annotation, "/IC"), (look, "/BG"), (look, "/BC")):
            if self._is_first(holder, key):
                self.resources.colour_array(holder, key)
        self._default_appearance(annotation)

    def _is_first(self, holder: Any, key: str) -> bool:
        """Whether an entry was not met yet: annotations share objects, and stand on two pages."""
        place = objgen(holder), key
        met = place in self._entries_met
        if place[0] != (0, 0):
            self._entries_met.add(place)
        return not met

    def _form_fields(self) -> None:
        form = entry(self.pdf.Root, "/AcroForm")
        if not isinstance(form, pikepdf.Dictionary):
            return
        self._default_appearance(form)
        for field in form_fields(self.pdf):  # some may stand on no page
            self._entries(field)

    def _default_appearance(self, holder: Any) -> None:
        text = holder.get("/DA")
        if not isinstance(text, pikepdf.String) or not self._is_first(holder, "/DA"):
            return
        scope = Scope(None, self.spaces)
        unit = Unit(Where.FIELD, objgen(holder), scope, bytes(text))
        self._follow(unit, self.start(scope))
        if unit.reading.edits:
            self.work.results.swapped.update(unit.reading.swapped)
            holder["/DA"] = pikepdf.String(unit.reading.rewritten(unit.data))


def _items(scope: Scope, category: str) -> list[tuple[str, Any]]:
    table = entry(scope.resources, category)
    return sorted(table.items()) if isinstance(table, pikepdf.Dictionary) else []
