"""Follow the operators of content streams: graphics state, colours, nesting, layers.

What is painted is for subclasses. What makes no sense is passed over, as renderers do, and
reported.
"""

from __future__ import annotations

import copy
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from typing import Any

import pikepdf

from inkaccord.artwork.content.operators import DEVICE_OPERATORS
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.state import Ink, PageState, black_ink
from inkaccord.artwork.marks.text_cursor import TextCursor
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import FileError
from inkaccord.pdf.colours.colours import colour_in, initial_colour
from inkaccord.pdf.colours.scope import Scope, Scopes
from inkaccord.pdf.colours.space_reader import MISSING, SpaceReader
from inkaccord.pdf.colours.spaces import DEVICE_GRAY, SpaceKind
from inkaccord.pdf.entries import BAD_OBJECT, word
from inkaccord.pdf.geometry import (
    IDENTITY,
    NOWHERE,
    Bounds,
    Matrix,
    times,
)
from inkaccord.pdf.layers import Layers
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.page_objects import content_streams, matrix_of
from inkaccord.pdf.streams import ContentParser, StreamReader

Operands = Sequence[Any]
"""Numbers arrive as int and Decimal, the rest as pikepdf objects; nonsense raises and is told."""
Handler = Callable[[Operands], None]
Instruction = pikepdf.ContentStreamInstruction | pikepdf.ContentStreamInlineImage
EVERYWHERE: Bounds = (-1e7, -1e7, 1e7, 1e7)


class PageInterpreter:
    """Follows the content of one open PDF.

    A subclass adds operators to :meth:`table`, and may override :meth:`keep`, called with each
    operator after it was followed.
    """

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        on_mark: Callable[[Mark], None],
        *,
        strict: bool = False,
    ) -> None:
        self.pdf = pdf
        self.on_mark = on_mark
        self.layers = Layers(pdf)
        self.spaces = SpaceReader()
        self._streams = StreamReader()
        self._parser = ContentParser()
        self.findings: list[Diagnostic] = []
        self.page_number = 0
        self._told: set[tuple[str, int]] = set()
        self._calls = 0
        # What belongs to the content stream being read; kept aside while a nested one is.
        self.state = PageState(IDENTITY, EVERYWHERE, black_ink(), black_ink())
        self.stack: list[PageState] = []
        self.scopes = Scopes(self.spaces, strict=strict)
        self.scope = Scope(None, self.spaces)
        self.where: tuple[str, ...] = ()
        self.colours_locked = False
        self._open: list[tuple[int, int]] = []
        self._base: Matrix = IDENTITY
        self._path: Bounds = NOWHERE
        self._clip_next = False
        self._text = TextCursor()
        self._marked: list[str | None] = []
        self._operators = self.table()

    def parse(self, contents: object) -> list[Instruction]:
        """Return the operators of a content stream, or of an array of them joined."""
        streams = content_streams(contents)
        if not streams:
            return []
        try:
            data = b"\n".join(self._streams.read(stream) for stream in streams)
            with warnings.catch_warnings(record=True) as odd:
                warnings.simplefilter("always")
                found = self._parser.instructions(data)
        except (*BAD_OBJECT, FileError) as problem:
            self.tell("unreadable-content", f"content cannot be read: {problem}")
            return []
        if odd:
            self.tell("odd-content", f"content is odd: {str(odd[0].message).lower()}")
        return found

    def run(self, instructions: Iterable[Instruction], scope: Scope) -> None:
        """Follow the operators of one content stream under its resources."""
        outer = self.scope, self._path, self._clip_next, self._text, self._marked
        self.scope, self._path, self._clip_next = scope, NOWHERE, False
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
        self.scope, self._path, self._clip_next, self._text, self._marked = outer

    def _follow(self, instruction: Instruction, word: str) -> None:
        handler = self._operators.get(word)
        if handler is None:
            return
        if isinstance(instruction, pikepdf.ContentStreamInlineImage):
            handler([instruction.iimage])
        else:
            handler(list(instruction.operands))

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
        most = FileLimits.calls * FileLimits.pages_full
        if len(self._open) >= FileLimits.nesting or self._calls > most:
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
            self.findings.append(warning(code, message, place=place))

    def resource(self, category: str, name: object) -> pikepdf.Object | None:
        """Return a named resource of the stream being read, or None."""
        found: pikepdf.Object | None = self.scope.entry(category, word(name))
        return found

    # the operators

    def table(self) -> dict[str, Handler]:
        """Return what follows each operator."""
        named: dict[str, Handler] = {
            "q": self._save, "Q": self._restore, "cm": self._concat, "w": self._width,
            "gs": self._extended, "d1": self._lock,
            "BDC": self._begin_marked, "BMC": self._begin_marked, "EMC": self._end_marked,
            "cs": lambda o: self._set_space(o[-1], stroke=False),
            "CS": lambda o: self._set_space(o[-1], stroke=True),
        }  # fmt: skip
        for operator, (kind, _, fill) in DEVICE_OPERATORS.items():
            named[operator.decode()] = partial(self._device, SpaceKind(kind), not fill)
        for setter, stroke in (("sc", False), ("scn", False), ("SC", True), ("SCN", True)):
            named[setter] = partial(self._numbers, stroke)
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

    def _begin_marked(self, operands: Operands) -> None:
        group = operands[1] if len(operands) > 1 and operands[0] == "/OC" else None
        found = self.resource("/Properties", group) if isinstance(group, pikepdf.Name) else group
        self._marked.append(self.layers.of(found))

    def _end_marked(self, _: Operands) -> None:
        if self._marked:
            self._marked.pop()

    # colours

    def _set(self, ink: Ink, *, stroke: bool) -> None:
        if self.colours_locked:
            return
        if stroke:
            self.state.stroke = ink
        else:
            self.state.fill = ink

    def _device(self, kind: SpaceKind, stroke: bool, operands: Operands) -> None:
        space = self.scope.device[kind]
        self._set(Ink(space, colour_in(space, [float(n) for n in operands])), stroke=stroke)

    def _set_space(self, name: object, *, stroke: bool) -> None:
        space = self.scope.space(name)
        if space is not MISSING:
            self._set(Ink(space, initial_colour(space)), stroke=stroke)

    def _numbers(self, stroke: bool, operands: Operands) -> None:
        space = (self.state.stroke if stroke else self.state.fill).space
        if operands and isinstance(operands[-1], pikepdf.Name):
            pattern = self.resource("/Pattern", operands[-1])
            under = space.base if space.base is not None else DEVICE_GRAY
            colour = colour_in(under, [float(number) for number in operands[:-1]])
            self._set(Ink(space, colour, pattern), stroke=stroke)
        elif space.kind is not SpaceKind.PATTERN:  # which takes a name
            self._set(Ink(space, colour_in(space, [float(n) for n in operands])), stroke=stroke)

    def _lock(self, _: Operands) -> None:
        if self.where[-1:] == ("glyph",):  # nothing else can be a stencil (9.6.4)
            self.colours_locked = True


def items(array: Any) -> list[Any]:
    """Return an array's objects."""
    return list(array)
