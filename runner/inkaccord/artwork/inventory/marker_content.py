"""Writing the content streams of a marker copy: the same operators, other paints."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pikepdf
from typing_extensions import override

from inkaccord.artwork.content.operators import COLOUR_WORDS, PAINT_OPERATORS
from inkaccord.artwork.inventory.marker_codes import marker_rgb
from inkaccord.artwork.marks.interpreter import Instruction
from inkaccord.artwork.marks.reader import PageReader

_TEXT_WORDS = frozenset(word.decode() for word, (_, _, text) in PAINT_OPERATORS.items() if text)
_PATH_WORDS = frozenset(word.decode() for word in PAINT_OPERATORS) - _TEXT_WORDS | {"n"}
_CONSTRUCTION = frozenset(("m", "l", "c", "v", "y", "re", "h", "W", "W*"))
_ONLY_FILL = {"B": "f", "B*": "f*", "b": "f", "b*": "f*"}
_ONLY_STROKE = {"B": "S", "B*": "S", "b": "s", "b*": "s"}
_PLAIN_STATE = ("/LW", "/LC", "/LJ", "/ML", "/D", "/Font", "/SA", "/FL")


@dataclass(slots=True)
class Output:
    """A content stream being written, with its resources."""

    instructions: list[Any] = field(default_factory=list)
    resources: dict[str, dict[str, Any]] = field(default_factory=dict)
    path_start: int | None = None

    def add(self, word: str, *operands: Any) -> None:
        """Write an operator."""
        self.instructions.append((list(operands), pikepdf.Operator(word)))

    def name(self, category: str, thing: Any) -> pikepdf.Name:
        """Return the name of a resource, added under a new one."""
        entries = self.resources.setdefault(category, {})
        name = f"/Mark{len(entries)}"
        entries[name] = thing
        return pikepdf.Name(name)


class MarkerContent(PageReader):
    """Writes each operator that was followed into :attr:`out`, with markers for its paints.

    Attributes
    ----------
    said
        What the mark just told is to be painted with, by side: a label, or a pattern's name.
    replacement
        The operator that stands for the object just told, with its operand.
    show_font
        The marker copy of the Type 3 font that shows the next text.
    """

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        super().__init__(pdf, lambda _: None)
        self.out = Output()
        self.said: dict[str, int | pikepdf.Name | None] = {}
        self.replacement: tuple[str, pikepdf.Name] | None = None
        self.show_font: pikepdf.Name | None = None

    @contextmanager
    def output(self) -> Iterator[Output]:
        """Write into a new stream for a while."""
        with self.onto(Output()) as out:
            yield out

    @contextmanager
    def onto(self, out: Output) -> Iterator[Output]:
        """Write into a given stream for a while."""
        kept = self.out, self.said, self.replacement, self.show_font
        self.out, self.said, self.replacement, self.show_font = out, {}, None, None
        try:
            yield out
        finally:
            self.out, self.said, self.replacement, self.show_font = kept

    def stream(self, out: Output) -> pikepdf.Stream:
        """Return what was written as a stream with its resources."""
        stream = self.pdf.make_stream(pikepdf.unparse_content_stream(out.instructions))
        stream["/Resources"] = dictionary(out.resources)
        return stream

    @override
    def keep(self, instruction: Instruction, word: str) -> None:
        """Write the operator's marker form."""
        out = self.out
        if word in COLOUR_WORDS:
            return
        if word in _CONSTRUCTION:
            if out.path_start is None:
                out.path_start = len(out.instructions)
            out.instructions.append(instruction)
        elif word in _PATH_WORDS:
            self._keep_path(word)
        elif word in _TEXT_WORDS:
            self._keep_text(instruction)
        elif word in {"Do", "sh", "INLINE IMAGE"}:
            self._keep_object(instruction)
        elif word == "gs":
            self._keep_state(instruction)
        else:
            if word in {"Tf", "BDC"}:
                self._carry(instruction.operands, word)
            out.instructions.append(instruction)

    def _carry(self, operands: Any, word: str) -> None:
        category = "/Font" if word == "Tf" else "/Properties"
        for operand in operands:
            if isinstance(operand, pikepdf.Name):
                found = self.resource(category, operand)
                if found is not None:
                    self.out.resources.setdefault(category, {})[str(operand)] = found

    def _set_markers(self, at: int) -> None:
        ops: list[Any] = []
        for side, space, number, plain in (
            ("fill", "cs", "scn", "rg"),
            ("stroke", "CS", "SCN", "RG"),
        ):
            said = self.said.get(side)
            if isinstance(said, int):
                rgb = [channel / 255 for channel in marker_rgb(said)]
                ops.append((rgb, pikepdf.Operator(plain)))
            elif said is not None:
                ops.append(([pikepdf.Name.Pattern], pikepdf.Operator(space)))
                ops.append(([said], pikepdf.Operator(number)))
        self.out.instructions[at:at] = ops

    def _keep_path(self, word: str) -> None:
        out = self.out
        fills = self.said.get("fill") is not None
        strokes = self.said.get("stroke") is not None
        if not fills and not strokes:
            word = "n"
        elif not strokes:
            word = _ONLY_FILL.get(word, word)
        elif not fills:
            word = _ONLY_STROKE.get(word, word)
        start = out.path_start if out.path_start is not None else len(out.instructions)
        self._set_markers(start)
        out.add(word)
        out.path_start = None
        self.said = {}

    def _keep_text(self, instruction: Instruction) -> None:
        out = self.out
        mode = self.state.text_mode
        fills = self.said.get("fill") is not None
        strokes = self.said.get("stroke") is not None
        clip = 4 if mode >= 4 else 0
        seen = clip + (2 if fills and strokes else 0 if fills else 1 if strokes else 3)
        self._set_markers(len(out.instructions))
        if self.show_font is not None:
            out.add("Tf", self.show_font, self.state.size)
        if seen != mode:
            out.add("Tr", seen)
        out.instructions.append(instruction)
        if seen != mode:
            out.add("Tr", mode)
        self.said, self.show_font = {}, None

    def _keep_object(self, instruction: Instruction) -> None:
        out = self.out
        if self.replacement is not None:
            out.add(self.replacement[0], self.replacement[1])
        elif self.said.get("fill") is not None:  # a stencil: the shape stays, the colour is new
            self._set_markers(len(out.instructions))
            if isinstance(instruction, pikepdf.ContentStreamInlineImage):
                out.instructions.append(instruction)
            else:
                found = self.resource("/XObject", instruction.operands[-1])
                out.add("Do", out.name("/XObject", found))
        self.replacement, self.said = None, {}

    def _keep_state(self, instruction: Instruction) -> None:
        name = instruction.operands[-1]
        found = self.resource("/ExtGState", name)
        if isinstance(found, pikepdf.Dictionary):
            plain = {key: found[key] for key in _PLAIN_STATE if key in found}
            self.out.resources.setdefault("/ExtGState", {})[str(name)] = pikepdf.Dictionary(plain)
            self.out.instructions.append(instruction)


def dictionary(resources: dict[str, dict[str, Any]]) -> pikepdf.Dictionary:
    """Return resources by category and name as the dictionary that a stream holds."""
    return pikepdf.Dictionary(
        {category: pikepdf.Dictionary(entries) for category, entries in resources.items()}
    )
