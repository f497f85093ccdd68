"""Read a page's content as a renderer does, and tell every mark that it paints.

Follows the graphics state of ISO 32000-2 (8.4, 8.6, 9.3) through forms, patterns, Type 3
glyphs and annotation appearances. What makes no sense is passed over, as renderers do, and
reported.
"""

from __future__ import annotations

import copy
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from typing import Any

import pikepdf

from inkaccord.artwork.boxes import Box, PageBoxes
from inkaccord.artwork.colours import ArtworkColour, colour_in, initial_colour, space_name
from inkaccord.artwork.limits import Limits
from inkaccord.artwork.marks.geometry import (
    IDENTITY,
    NOWHERE,
    Bounds,
    Matrix,
    axes_of,
    bounds_of,
    scale_of,
    shared,
    times,
)
from inkaccord.artwork.marks.many_colours import gradient_colour, image_colour
from inkaccord.artwork.marks.mark import Mark, Picture, Role
from inkaccord.artwork.marks.page_objects import (
    BAD_OBJECT,
    Layers,
    appearance,
    inherited_resources,
    inline_entries,
    matrix_of,
    own_resources,
    rectangle_of,
    shown_annotations,
)
from inkaccord.artwork.marks.state import Ink, State, black_ink
from inkaccord.artwork.marks.text_cursor import TextCursor, joined
from inkaccord.artwork.marks.typefaces import Typeface, read_typeface
from inkaccord.artwork.spaces import DEVICE, DEVICE_GRAY, Space, SpaceKind, SpaceReader
from inkaccord.artwork.streams import StreamReader
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import FileError

Operands = Sequence[Any]
"""Numbers arrive as int and Decimal, the rest as pikepdf objects; nonsense raises and is told."""
Instruction = pikepdf.ContentStreamInstruction | pikepdf.ContentStreamInlineImage
_EVERYWHERE: Bounds = (-1e7, -1e7, 1e7, 1e7)
_FILLS_TEXT, _STROKES_TEXT = {0, 2, 4, 6}, {1, 2, 5, 6}


class PageReader:
    """Reads pages of one open PDF; every mark goes to ``on_mark``.

    A subclass may override :meth:`keep`, called with each operator after it was followed, and
    the ``paint_…`` methods.
    """

    def __init__(
        self, pdf: pikepdf.Pdf, on_mark: Callable[[Mark], None], limits: Limits | None = None
    ) -> None:
        self.pdf = pdf
        self.on_mark = on_mark
        self.limits = limits or Limits()
        self.layers = Layers(pdf)
        self.spaces = SpaceReader()
        self._streams = StreamReader(self.limits)
        self.findings: list[Diagnostic] = []
        self.page_number = 0
        self._told: set[tuple[str, int]] = set()
        self._calls = 0
        self._fonts: dict[tuple[int, int], Typeface] = {}
        # What belongs to the content stream being read; kept aside while a nested one is.
        self.state = State(IDENTITY, _EVERYWHERE, black_ink(), black_ink())
        self.stack: list[State] = []
        self.resources: pikepdf.Dictionary | None = None
        self.where: tuple[str, ...] = ()
        self.colours_locked = False
        self._open: list[tuple[int, int]] = []
        self._base: Matrix = IDENTITY
        self._path: Bounds = NOWHERE
        self._clip_next = False
        self._text = TextCursor()
        self._marked: list[str | None] = []
        self._device_spaces = dict(DEVICE)
        self._operators = self._table()

    # --- pages and streams -----------------------------------------------------------------

    def read_page(self, page: pikepdf.Page, boxes: PageBoxes) -> None:
        """Read one page and its annotations' appearances."""
        self.page_number = page.index + 1
        self._begin_page(boxes)
        resources = inherited_resources(page.obj)
        self.run(self.parse(page.obj.get("/Contents")), resources)
        for number, annotation in enumerate(shown_annotations(page.obj), start=1):
            placed = appearance(annotation)
            if placed is not None:
                self._begin_page(boxes)
                self._device_spaces = self._spaces_under(resources)
                self.paint_appearance(annotation, *placed, name=f"annotation {number}")

    def _begin_page(self, boxes: PageBoxes) -> None:
        unit = boxes.user_unit
        self._base = (unit, 0.0, 0.0, unit, 0.0, 0.0)
        self.state = State(self._base, boxes.media.corners_pt, black_ink(), black_ink())
        self.stack, self.where, self._marked, self._open = [], (), [], []
        self.colours_locked = False
        self._device_spaces = dict(DEVICE)

    def paint_appearance(
        self, annotation: pikepdf.Dictionary, form: pikepdf.Stream, onto: Matrix, *, name: str
    ) -> None:
        """Follow an annotation's appearance."""
        self.state.ctm = times(onto, self.state.ctm)
        with self._in_layer(annotation):
            self.paint_form(form, name)

    def parse(self, contents: object) -> list[Instruction]:
        """Return the operators of a content stream, or of an array of them joined."""
        streams: list[pikepdf.Stream] = []
        if isinstance(contents, pikepdf.Stream):
            streams = [contents]
        elif isinstance(contents, pikepdf.Array):
            streams = [part for part in _items(contents) if isinstance(part, pikepdf.Stream)]
        if not streams:
            return []
        try:
            data = b"\n".join(self._streams.read(stream) for stream in streams)
            with warnings.catch_warnings(record=True) as odd:
                warnings.simplefilter("always")
                found = list(pikepdf.parse_content_stream(self.pdf.make_stream(data)))
        except (*BAD_OBJECT, FileError) as problem:
            self.tell("unreadable-content", f"content cannot be read: {problem}")
            return []
        if odd:
            self.tell("odd-content", f"content is odd: {str(odd[0].message).lower()}")
        return found

    def run(
        self, instructions: Iterable[Instruction], resources: pikepdf.Dictionary | None
    ) -> None:
        """Follow the operators of one content stream under its resources."""
        outer = self.resources, self._path, self._clip_next, self._text, self._marked
        outer_spaces, self._device_spaces = self._device_spaces, self._spaces_under(resources)
        self.resources, self._path, self._clip_next = resources, NOWHERE, False
        self._text, self._marked = TextCursor(), list(self._marked)
        depth = len(self.stack)
        for instruction in instructions:
            word = str(instruction.operator)
            for follow in (self._follow, self.keep):  # one may fail where the other does not
                try:
                    follow(instruction, word)
                except BAD_OBJECT as problem:
                    self.tell("odd-operator", f"the operator {word} makes no sense: {problem}")
        if len(self.stack) > depth:
            self.state = self.stack[depth]
            del self.stack[depth:]
        self.resources, self._path, self._clip_next, self._text, self._marked = outer
        self._device_spaces = outer_spaces

    def _follow(self, instruction: Instruction, word: str) -> None:
        handler = self._operators.get(word)
        if handler is None:
            return
        if isinstance(instruction, pikepdf.ContentStreamInlineImage):
            handler([instruction.iimage])
        else:
            handler(list(instruction.operands))

    def _spaces_under(self, resources: pikepdf.Dictionary | None) -> dict[SpaceKind, Space]:
        """Return what device colour means under these resources.

        The standard looks in the current resources only; renderers let a page's default spaces
        hold in what lies within it.
        """
        own = {kind: self.spaces.device(kind, resources) for kind in DEVICE}
        return {
            kind: self._device_spaces[kind] if space is DEVICE[kind] else space
            for kind, space in own.items()
        }

    def _space(self, definition: object) -> Space:
        """Return the colour space in force under a name, or of an array."""
        found = self.spaces.read(definition, self.resources)
        return self._device_spaces[found.kind] if found is DEVICE.get(found.kind) else found

    @contextmanager
    def nested(self, stream: pikepdf.Stream, name: str) -> Iterator[bool]:
        """Enter a stream inside the current one; gives False where that must not be.

        The graphics state, the way (``where``) and the lock on colours come back afterwards.
        """
        self._calls += 1
        if stream.objgen in self._open and stream.objgen != (0, 0):
            self.tell("nested-in-itself", f"{name} calls itself")
            yield False
            return
        if len(self._open) >= self.limits.nesting or self._calls > self.limits.calls:
            self.tell("too-deep", f"{name} lies too deep, or too much is drawn, to follow it all")
            yield False
            return
        self._open.append(stream.objgen)
        kept = self.state, self.stack, self.where, self.colours_locked
        self.state, self.stack = copy.copy(self.state), []
        self.where = (*self.where, name)
        try:
            yield True
        finally:
            self.state, self.stack, self.where, self.colours_locked = kept
            self._open.pop()

    @contextmanager
    def _in_layer(self, holder: pikepdf.Object) -> Iterator[None]:
        self._marked.append(self.layers.of(holder.get("/OC")))
        try:
            yield
        finally:
            self._marked.pop()

    def keep(self, instruction: Instruction, word: str) -> None:
        """Do something with an operator that was just followed; nothing here."""

    def tell(self, code: str, message: str) -> None:
        """Report a finding, each kind once a page."""
        if (code, self.page_number) not in self._told:
            self._told.add((code, self.page_number))
            place = Place(page=self.page_number)
            self.findings.append(warning(code, message, place=place, hint="export the file again"))

    def resource(self, category: str, name: object) -> pikepdf.Object | None:
        """Return a named resource of the stream being read, or None."""
        holder = self.resources.get(category) if self.resources is not None else None
        return holder.get(str(name)) if isinstance(holder, pikepdf.Dictionary) else None

    # --- the operators ---------------------------------------------------------------------

    def _table(self) -> Mapping[str, Callable[[Operands], None]]:
        named: dict[str, Callable[[Operands], None]] = {
            "q": self._save, "Q": self._restore, "cm": self._concat, "w": self._width,
            "gs": self._extended, "m": self._point, "l": self._point, "c": self._points,
            "v": self._points, "y": self._points, "re": self._rectangle, "W": self._clip,
            "W*": self._clip, "Do": self._do, "INLINE IMAGE": self._inline,
            "sh": lambda o: self.paint_shading(self.resource("/Shading", o[-1])),
            "BDC": self._begin_marked, "BMC": self._begin_marked, "EMC": self._end_marked,
            "cs": lambda o: self._set_space(o[-1], stroke=False),
            "CS": lambda o: self._set_space(o[-1], stroke=True),
            "d1": self._lock,
            "BT": lambda _: self._text.set(IDENTITY),
            "Tm": lambda o: self._text.set(matrix_of(o)),
            "Td": lambda o: self._text.move(float(o[0]), float(o[1])),
            "TD": self._move_leading, "T*": self._next_line,
            "Tf": lambda o: self._set_font(self.resource("/Font", o[0]), float(o[1])),
            "Tj": lambda o: self._show([o[0]]), "TJ": lambda o: self._show(_items(o[0])),
            "'": self._next_show, '"': self._next_show_spaced,
            "Tz": lambda o: setattr(self.state, "stretch", float(o[0]) / 100),
            "Tr": lambda o: setattr(self.state, "text_mode", int(o[0])),
        }  # fmt: skip
        for words, fill, stroke in (
            (("f", "F", "f*"), True, False), (("S", "s"), False, True),
            (("B", "B*", "b", "b*"), True, True), (("n",), False, False),
        ):  # fmt: skip
            for word in words:
                named[word] = partial(self._paint_path, fill, stroke)
        for word, kind, stroke in (
            ("g", SpaceKind.GRAY, False), ("G", SpaceKind.GRAY, True),
            ("rg", SpaceKind.RGB, False), ("RG", SpaceKind.RGB, True),
            ("k", SpaceKind.CMYK, False), ("K", SpaceKind.CMYK, True),
        ):  # fmt: skip
            named[word] = partial(self._device, kind, stroke)
        for word, stroke in (("sc", False), ("scn", False), ("SC", True), ("SCN", True)):
            named[word] = partial(self._numbers, stroke)
        for word, name in (
            ("Tc", "character_space"), ("Tw", "word_space"), ("TL", "leading"), ("Ts", "rise"),
        ):  # fmt: skip
            named[word] = partial(self._set_text_number, name)
        return named

    def _save(self, _: Operands) -> None:
        if len(self.stack) < 10_000:
            self.stack.append(copy.copy(self.state))

    def _restore(self, _: Operands) -> None:
        if self.stack:
            self.state = self.stack.pop()

    def _concat(self, operands: Operands) -> None:
        self.state.ctm = times(matrix_of(operands), self.state.ctm)

    def _width(self, operands: Operands) -> None:
        self.state.line_width = abs(float(operands[0]))

    def _extended(self, operands: Operands) -> None:
        settings = self.resource("/ExtGState", operands[-1])
        if isinstance(settings, pikepdf.Dictionary):
            self.state.take(settings)
            font = settings.get("/Font")
            if isinstance(font, pikepdf.Array) and len(font) == 2:
                self._set_font(font[0], float(font[1]))

    def _begin_marked(self, operands: Operands) -> None:
        group = operands[1] if len(operands) > 1 and operands[0] == "/OC" else None
        found = self.resource("/Properties", group) if isinstance(group, pikepdf.Name) else group
        self._marked.append(self.layers.of(found))

    def _end_marked(self, _: Operands) -> None:
        if self._marked:
            self._marked.pop()

    # paths

    def _point(self, operands: Operands) -> None:
        x, y = float(operands[0]), float(operands[1])
        x0, y0, x1, y1 = self._path
        self._path = min(x0, x), min(y0, y), max(x1, x), max(y1, y)

    def _points(self, operands: Operands) -> None:
        for at in range(0, len(operands) - 1, 2):
            self._point(operands[at : at + 2])

    def _rectangle(self, operands: Operands) -> None:
        x, y, w, h = (float(number) for number in operands)
        self._point((x, y))
        self._point((x + w, y + h))

    def _clip(self, _: Operands) -> None:
        self._clip_next = True

    def _paint_path(self, fill: bool, stroke: bool, _: Operands) -> None:
        bounds = bounds_of(self._path, self.state.ctm)
        try:
            if fill and bounds[0] <= bounds[2]:
                self.paint_fill(bounds, Role.FILL)
            if stroke and bounds[0] <= bounds[2]:
                self.paint_stroke(bounds, Role.STROKE)
        finally:
            if self._clip_next:
                self.state.clip = shared(self.state.clip, bounds)
            self._path, self._clip_next = NOWHERE, False

    def paint_fill(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Tell a fill within bounds in the current fill colour."""
        facts["overprint"] = self.state.overprint_fill
        self._tell_ink(self.state.fill, bounds, role, facts)

    def paint_stroke(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Tell a stroke along a path within bounds in the current stroke colour."""
        width = self.state.line_width * scale_of(self.state.ctm)
        half = width / 2
        wide = bounds[0] - half, bounds[1] - half, bounds[2] + half, bounds[3] + half
        facts |= {"line_width_pt": width, "overprint": self.state.overprint_stroke}
        self._tell_ink(self.state.stroke, wide, role, facts)

    def _tell_ink(self, ink: Ink, bounds: Bounds, role: Role, facts: dict[str, Any]) -> None:
        if ink.pattern is not None:
            self.paint_pattern(ink, bounds, role, facts)
        else:
            self.tell_mark(ink.colour, bounds, role, **facts)

    def tell_mark(self, colour: ArtworkColour, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Make the mark and hand it on, unless it is clipped away or paints nothing."""
        left, bottom, right, top = shared(bounds, self.state.clip)
        if right < left or top < bottom or colour.paints_nothing:
            return
        self.on_mark(
            Mark(
                page=self.page_number,
                role=role,
                colour=colour,
                box=Box.model_construct(left_pt=left, bottom_pt=bottom, right_pt=right, top_pt=top),
                where=self.where,
                overprint_mode=self.state.overprint_mode,
                see_through=self.state.see_through or self.state.group_see_through,
                layer=next((name for name in reversed(self._marked) if name), None),
                layer_shown=not any(name in self.layers.hidden for name in self._marked),
                **facts,
            )
        )

    # colours

    def _set(self, ink: Ink, *, stroke: bool) -> None:
        if self.colours_locked:
            return
        if stroke:
            self.state.stroke = ink
        else:
            self.state.fill = ink

    def _device(self, kind: SpaceKind, stroke: bool, operands: Operands) -> None:
        space = self._device_spaces[kind]
        self._set(Ink(space, colour_in(space, [float(n) for n in operands])), stroke=stroke)

    def _set_space(self, name: object, *, stroke: bool) -> None:
        space = self._space(name)
        self._set(Ink(space, initial_colour(space)), stroke=stroke)

    def _numbers(self, stroke: bool, operands: Operands) -> None:
        space = (self.state.stroke if stroke else self.state.fill).space
        if operands and isinstance(operands[-1], pikepdf.Name):
            pattern = self.resource("/Pattern", operands[-1])
            under = space.base if space.base is not None else DEVICE_GRAY
            colour = colour_in(under, [float(number) for number in operands[:-1]])
            self._set(Ink(space, colour, pattern), stroke=stroke)
        else:
            self._set(Ink(space, colour_in(space, [float(n) for n in operands])), stroke=stroke)

    def _lock(self, _: Operands) -> None:
        self.colours_locked = True

    # patterns, forms, images, shadings

    def paint_pattern(self, ink: Ink, bounds: Bounds, role: Role, facts: dict[str, Any]) -> None:
        """Tell what a pattern paints within bounds."""
        pattern = ink.pattern
        if not isinstance(pattern, pikepdf.Dictionary | pikepdf.Stream):
            return
        if int(pattern.get("/PatternType", 0)) == 2:
            colour = self.shading_colour(pattern.get("/Shading"))
            self.tell_mark(colour, bounds, Role.GRADIENT, **facts)
        elif isinstance(pattern, pikepdf.Stream) and int(pattern.get("/PaintType", 1)) == 2:
            self.tell_mark(ink.colour, bounds, role, **facts)
        elif isinstance(pattern, pikepdf.Stream):
            self._read_cell(pattern, shared(bounds, self.state.clip))

    def _read_cell(self, pattern: pikepdf.Stream, onto: Bounds) -> None:
        """Read a coloured tiling pattern once; its marks get the box of what it fills."""
        with self.nested(pattern, "pattern") as entered:
            if not entered:
                return
            tell = self.on_mark

            def tell_spread(mark: Mark) -> None:
                left, bottom, right, top = onto
                box = Box.model_construct(
                    left_pt=left, bottom_pt=bottom, right_pt=right, top_pt=top
                )
                tell(mark.at(box))

            outer = self.state
            matrix = times(matrix_of(pattern.get("/Matrix")), self._base)
            self.state = State(matrix, _EVERYWHERE, black_ink(), black_ink())
            self.state.group_see_through = outer.see_through or outer.group_see_through
            self.colours_locked = False
            self.on_mark = tell_spread
            try:
                self.run(self.parse(pattern), own_resources(pattern, self.resources))
            finally:
                self.on_mark = tell

    def _do(self, operands: Operands) -> None:
        found = self.resource("/XObject", operands[-1])
        if not isinstance(found, pikepdf.Stream):
            return
        with self._in_layer(found):
            if found.get("/Subtype") == "/Form":
                self.paint_form(found, f"form {operands[-1]}")
            elif found.get("/Subtype") == "/Image":
                self.paint_image(found)

    def paint_form(self, form: pikepdf.Stream, name: str) -> None:
        """Follow a form XObject from the current state."""
        with self.nested(form, name) as entered:
            if not entered:
                return
            state = self.state
            state.ctm = times(matrix_of(form.get("/Matrix")), state.ctm)
            bbox = rectangle_of(form.get("/BBox"))
            if bbox is not None:
                state.clip = shared(state.clip, bounds_of(bbox, state.ctm))
            if "/Group" in form:
                state.group_see_through = state.group_see_through or state.see_through
                state.see_through = False
            outer, self._base = self._base, state.ctm
            try:
                self.run(self.parse(form), own_resources(form, self.resources))
            finally:
                self._base = outer

    def paint_image(self, image: pikepdf.Stream) -> None:
        """Tell an image XObject painted on the unit square."""
        self._tell_image(image, image.objgen, inline=False)

    def paint_inline_image(self, image: Any) -> None:
        """Tell an inline image painted on the unit square."""
        self._tell_image(inline_entries(image), (0, 0), inline=True)

    def _inline(self, operands: Operands) -> None:
        self.paint_inline_image(operands[0])

    def _tell_image(self, image: Any, key: tuple[int, int], *, inline: bool) -> None:
        bounds = bounds_of((0.0, 0.0, 1.0, 1.0), self.state.ctm)
        if bool(image.get("/ImageMask", False)):
            self.paint_fill(bounds, Role.FILL)
            return
        space = self._space(image.get("/ColorSpace"))
        picture = self._picture(image, space, key, inline=inline)
        overprint = self.state.overprint_fill
        self.tell_mark(
            image_colour(picture, space), bounds, Role.IMAGE, picture=picture, overprint=overprint
        )

    def _picture(self, image: Any, space: Space, key: tuple[int, int], *, inline: bool) -> Picture:
        width, height = int(image.get("/Width", 0)), int(image.get("/Height", 0))
        along, across = axes_of(self.state.ctm)
        found = image.get("/Filter", [])
        filters = [
            str(f)[1:] for f in (_items(found) if not isinstance(found, pikepdf.Name) else [found])
        ]
        own = "JPXDecode" in filters and space.kind is SpaceKind.UNKNOWN
        return Picture(
            width_px=width,
            height_px=height,
            bits=int(image.get("/BitsPerComponent", 8)),
            space="its own colours" if own else space_name(space),
            filters=tuple(filters),
            ppi=(width / along * 72 if along else 0.0, height / across * 72 if across else 0.0),
            masked="/SMask" in image or "/Mask" in image,
            soft_mask="/SMask" in image or int(image.get("/SMaskInData", 0)) > 0,
            inline=inline,
            key=key,
        )

    def paint_shading(self, shading: object) -> None:
        """Tell a shading painted over the clip."""
        self.tell_mark(self.shading_colour(shading), self.state.clip, Role.GRADIENT)

    def shading_colour(self, shading: Any) -> ArtworkColour:
        """Return the entry that stands for all the colours of a shading."""
        return gradient_colour(shading, self.resources, self.spaces, self._streams)

    # text

    def _set_text_number(self, name: str, operands: Operands) -> None:
        setattr(self.state, name, float(operands[0]))

    def _set_font(self, font: object, size: float) -> None:
        self.state.size = size
        if not isinstance(font, pikepdf.Dictionary):
            self.state.font, self.state.font_object = read_typeface(font), None
            return
        key = font.objgen
        face = self._fonts.get(key) if key != (0, 0) else None
        if face is None:
            face = self._fonts[key] = read_typeface(font)
        self.state.font, self.state.font_object = face, font

    def _move_leading(self, operands: Operands) -> None:
        self.state.leading = -float(operands[1])
        self._text.move(float(operands[0]), float(operands[1]))

    def _next_line(self, _: Operands) -> None:
        self._text.move(0.0, -self.state.leading)

    def _next_show(self, operands: Operands) -> None:
        self._next_line(operands)
        self._show([operands[-1]])

    def _next_show_spaced(self, operands: Operands) -> None:
        self.state.word_space, self.state.character_space = float(operands[0]), float(operands[1])
        self._next_show(operands)

    def _show(self, parts: Sequence[Any]) -> None:
        state = self.state
        if state.font is None:
            self._set_font(None, state.size)
        boxes: list[Bounds] = []
        shown = b""
        before = self._text.matrix
        size = self._text.size_on_page(state)
        for part in parts:
            if isinstance(part, pikepdf.String | bytes | str):
                text = bytes(part)  # type: ignore[arg-type]  # a String gives its bytes
                box = self._text.show(state, text)
                if state.font is not None and not state.font.is_blank(text):
                    boxes.append(box)
                shown += text
            else:
                self._text.shift(state, float(part))
        if not boxes or state.size == 0:
            return
        if state.font is not None and state.font.kind == "Type3":
            self.paint_type3(shown, before, joined(boxes), size)
        else:
            self.paint_text(joined(boxes), text=shown, text_size_pt=size, typeface=state.font)

    def paint_text(self, bounds: Bounds, **facts: Any) -> None:
        """Tell shown text: filled, stroked or both, as the text mode says."""
        mode = self.state.text_mode
        if mode in _FILLS_TEXT:
            self.paint_fill(bounds, Role.TEXT, **facts)
        if mode in _STROKES_TEXT:
            self.paint_stroke(bounds, Role.TEXT, **facts)

    def paint_type3(self, text: bytes, matrix: Matrix, bounds: Bounds, size: float) -> None:
        """Tell text whose glyphs are content streams: their own colours, or the current fill."""
        state, font = self.state, self.state.font_object
        if font is None:
            return
        for glyph in _glyphs(font, text):
            with self.nested(glyph, "glyph") as entered:
                if not entered:
                    continue
                found: list[Mark] = []
                tell, self.on_mark = self.on_mark, found.append
                text_size = (state.size * state.stretch, 0.0, 0.0, state.size, 0.0, state.rise)
                to_text = times(matrix_of(font.get("/FontMatrix")), text_size)
                self.state.ctm = times(times(to_text, matrix), state.ctm)
                self.state.clip = _EVERYWHERE
                try:
                    self.run(self.parse(glyph), own_resources(font, self.resources))
                finally:
                    self.on_mark = tell
                box = Box.of(bounds)
                for mark in found:
                    tell(mark.as_text(box, text, size, state.font))


def _items(array: Any) -> list[Any]:
    return list(array)


def _glyphs(font: pikepdf.Dictionary, text: bytes) -> list[pikepdf.Stream]:
    """Return the glyph streams of a Type 3 font that a string shows, each once."""
    names: dict[int, str] = {}
    encoding = font.get("/Encoding")
    if isinstance(encoding, pikepdf.Dictionary):
        code = 0
        for item in _items(encoding.get("/Differences", [])):
            if isinstance(item, pikepdf.Name):
                names[code] = str(item)
                code += 1
            else:
                code = int(item)
    procedures = font.get("/CharProcs", pikepdf.Dictionary())
    found = (procedures.get(names[code]) for code in dict.fromkeys(text) if code in names)
    return [glyph for glyph in found if isinstance(glyph, pikepdf.Stream)]
