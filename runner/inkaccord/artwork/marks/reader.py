"""Read a page as a renderer does, and tell every mark that it paints.

Follows ISO 32000-2 (8.4, 8.6, 9.3) through forms, patterns, Type 3 glyphs and annotation
appearances. The layers below: :mod:`~inkaccord.artwork.marks.interpreter` (state and colour),
:mod:`~inkaccord.artwork.marks.painter` (everything but text).
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

import pikepdf
from typing_extensions import override

from inkaccord.artwork.content.operators import text_paints
from inkaccord.artwork.marks.interpreter import EVERYWHERE, Handler, Operands, items
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.painter import Painter
from inkaccord.artwork.marks.state import PageState, black_ink
from inkaccord.artwork.marks.text_cursor import joined
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.geometry import (
    IDENTITY,
    Bounds,
    Matrix,
    times,
)
from inkaccord.pdf.page_objects import appearance, inherited, matrix_of, shown_annotations
from inkaccord.pdf.page_source import PageSource
from inkaccord.pdf.typefaces import Typeface, read_typeface
from inkaccord.sizes import Box


class PageReader(Painter):
    """Reads pages of one open PDF, with their text and annotations."""

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        on_mark: Callable[[Mark], None],
        *,
        strict: bool = False,
    ) -> None:
        super().__init__(pdf, on_mark, strict=strict)
        self._fonts: dict[tuple[int, int], Typeface] = {}

    @override
    def table(self) -> dict[str, Handler]:
        named = super().table() | {
            "BT": lambda _: self._text.set(IDENTITY),
            "Tm": lambda o: self._text.set(matrix_of(o)),
            "Td": lambda o: self._text.move(float(o[0]), float(o[1])),
            "TD": self._move_leading, "T*": self._next_line,
            "Tf": lambda o: self._set_font(self.resource("/Font", o[0]), float(o[1])),
            "Tj": lambda o: self._show([o[0]]), "TJ": lambda o: self._show(items(o[0])),
            "'": self._next_show, '"': self._next_show_spaced,
            "Tz": lambda o: setattr(self.state, "stretch", float(o[0]) / 100),
            "Tr": lambda o: setattr(self.state, "text_mode", int(o[0])),
        }  # fmt: skip
        for word, name in (
            ("Tc", "character_space"), ("Tw", "word_space"), ("TL", "leading"), ("Ts", "rise"),
        ):  # fmt: skip
            named[word] = partial(self._set_text_number, name)
        return named

    def read_page(self, page: pikepdf.Page, boxes: PageBoxes, number: int | None = None) -> None:
        """Read one page, by its number from 1, and its annotations' appearances."""
        self.page_number = page.index + 1 if number is None else number
        self._begin_page(boxes)
        scope = self.scopes.of(inherited(page.obj, "/Resources"), page.obj)
        self.run(self.parse(page.obj.get("/Contents")), scope)
        for at, annotation in enumerate(shown_annotations(page.obj), start=1):
            placed = appearance(annotation)
            if placed is not None:
                self._begin_page(boxes)
                self.scope = scope
                self.paint_appearance(annotation, *placed, name=f"annotation {at}")

    def _begin_page(self, boxes: PageBoxes) -> None:
        unit = boxes.user_unit
        self._base = (unit, 0.0, 0.0, unit, 0.0, 0.0)
        self.state = PageState(self._base, boxes.media, black_ink(), black_ink())
        self.stack, self.where, self._marked, self._open = [], (), [], []
        self.colours_locked = False
        self.scope = Scope(None, self.spaces)

    def paint_appearance(
        self, annotation: pikepdf.Dictionary, form: pikepdf.Stream, onto: Matrix, *, name: str
    ) -> None:
        """Follow an annotation's appearance."""
        self.state.ctm = times(onto, self.state.ctm)
        with self._in_layer(annotation):
            self.paint_form(form, name)

    # text

    @override
    def _extended(self, operands: Operands) -> None:
        super()._extended(operands)
        settings = self.resource("/ExtGState", operands[-1])
        font = settings.get("/Font") if isinstance(settings, pikepdf.Dictionary) else None
        if isinstance(font, pikepdf.Array) and len(font) == 2:
            self._set_font(font[0], float(font[1]))

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
        fills, strokes = text_paints(self.state.text_mode)
        if fills:
            self.paint_fill(bounds, Role.TEXT, **facts)
        if strokes:
            self.paint_stroke(bounds, Role.TEXT, **facts)

    def paint_type3(self, text: bytes, matrix: Matrix, bounds: Bounds, size: float) -> None:
        """Tell text whose glyphs are content streams: their own colours, or the current fill."""
        state, font = self.state, self.state.font_object
        if font is None:
            return
        for glyph in glyphs_shown(font, text):
            with self.nested(glyph, "glyph") as entered:
                if not entered:
                    continue
                found: list[Mark] = []
                tell, self.on_mark = self.on_mark, found.append
                text_size = (state.size * state.stretch, 0.0, 0.0, state.size, 0.0, state.rise)
                to_text = times(matrix_of(font.get("/FontMatrix")), text_size)
                self.state.ctm = times(times(to_text, matrix), state.ctm)
                self.state.clip = EVERYWHERE
                try:
                    self.run(self.parse(glyph), self.scopes.own(font, self.scope))
                finally:
                    self.on_mark = tell
                box = Box.of(bounds)
                for mark in found:
                    tell(mark.as_text(box, text, size, state.font))


class SourceReader:
    """Reads pages of a file that may be open in parts, each part with a reader of its own.

    Attributes
    ----------
    findings
        What was odd.
    """

    def __init__(
        self,
        source: PageSource,
        on_mark: Callable[[Mark], None],
        *,
        strict: bool = False,
    ) -> None:
        self.findings: list[Diagnostic] = []
        self._source = source
        self._begin = partial(PageReader, on_mark=on_mark, strict=strict)
        self._reader: PageReader | None = None

    def read_page(self, page: pikepdf.Page, boxes: PageBoxes, number: int) -> None:
        """Read the page that came last of the source, by its number from 1."""
        if self._reader is None or self._reader.pdf is not self._source.pdf:
            self._reader = self._begin(self._source.pdf)
            self._reader.findings = self.findings
        self._reader.read_page(page, boxes, number)


def marks_of(pdf: pikepdf.Pdf) -> Iterator[Mark]:
    """Yield every mark on every page that has a size, in the order of painting."""
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in pdf.pages:
        with contextlib.suppress(FileError):  # a page without a size
            reader.read_page(page, page_boxes(page))
        yield from marks
        marks.clear()


def glyphs_shown(font: pikepdf.Dictionary, text: bytes) -> list[pikepdf.Stream]:
    """Return the glyph streams of a Type 3 font that a string shows, each once."""
    names: dict[int, str] = {}
    encoding = font.get("/Encoding")
    if isinstance(encoding, pikepdf.Dictionary):
        code = 0
        for item in items(encoding.get("/Differences", [])):
            if isinstance(item, pikepdf.Name):
                names[code] = str(item)
                code += 1
            else:
                code = int(item)
    procedures = font.get("/CharProcs", pikepdf.Dictionary())
    found = (procedures.get(names[code]) for code in dict.fromkeys(text) if code in names)
    return [glyph for glyph in found if isinstance(glyph, pikepdf.Stream)]
