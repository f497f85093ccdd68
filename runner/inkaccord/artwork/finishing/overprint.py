"""Overprint set for some plates, where an order asks for it: all they paint overprints, or none.

Only ``gs`` operators are added, after those that choose a colour (ISO 32000-2, 8.6.7); that what
is painted stays the same is read from the file again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.artwork.content.graphics_state import NO_OVERPRINT, Overprint
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.plates import spots_of
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.entries import entry, plain, word
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.rendering import pdf_bytes
from inkaccord.pdf.writing import save_as_packed

_FILL, _STROKE = {"g", "rg", "k", "cs", "scn"}, {"G", "RG", "K", "CS", "SCN"}
_STATE = _FILL | _STROKE | {"q", "Q", "gs", "Do", "sh"}
_PLATE_SPACES = {"/Separation", "/DeviceN"}
_DEEPEST = 32
"""Forms inside each other that are gone into."""


def set_overprint(
    source: Path | bytes, plates: Mapping[str, bool]
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """Return a file in which all that is painted in a plate overprints, or none of it.

    No file where nothing was to be changed, or where what is painted would not be the same: then
    a finding says so. Raises FileError when the file can't be read or may not be changed.
    """
    before = pdf_bytes(source)
    with open_artwork(before, changing=True) as pdf:
        wrong = [it for it in _marks(pdf) if _wanted(it, plates) not in {None, it.overprint}]
        if not wrong:
            return None, ()
        writer = _Writer(pdf, plates)
        for page in pdf.pages:
            if "/Contents" in page.obj:
                page.contents_coalesce()
                writer.rewrite(page.obj.Contents, page.resources, NO_OVERPRINT)
        after = save_as_packed(pdf)
    if not _same_but_overprint(before, after, plates):
        names = ", ".join(sorted(plates))
        return None, (
            warning(
                "overprint-not-set",
                f"overprint of {names} can't be set without changing what else is painted",
                in_program="set it there, fills and lines",
            ),
        )
    return after, ()


def _wanted(mark: Mark, plates: Mapping[str, bool]) -> bool | None:
    """Return whether a mark is to overprint; None where nobody asks."""
    return next((plates[name] for name in sorted(spots_of(mark.colour)) if name in plates), None)


def _marks(pdf: pikepdf.Pdf) -> list[Mark]:
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in pdf.pages:
        reader.read_page(page, page_boxes(page))
    return marks


def _same_but_overprint(before: bytes, after: bytes, plates: Mapping[str, bool]) -> bool:
    """Whether two files paint the same, save the overprint of some plates, which is as asked."""
    with open_artwork(before) as one, open_artwork(after) as other:
        pairs = [_marks(one), _marks(other)]
    if len(pairs[0]) != len(pairs[1]):
        return False
    for was, now in zip(*pairs, strict=True):
        asked = _wanted(was, plates)
        wanted = was.overprint if asked is None else asked
        if now.overprint is not wanted or replace(was, overprint=now.overprint) != now:
            return False
    return True


@dataclass
class _State:
    """What holds at one place of a content stream."""

    own: Overprint
    """As the artwork has it."""
    fill: bool | None = None
    """Whether what is filled is to overprint; None where it is as the artwork has it."""
    stroke: bool | None = None
    set_to: Overprint = NO_OVERPRINT
    """As the rewritten stream has it."""

    @property
    def wanted(self) -> Overprint:
        """As it is to be."""
        return Overprint(
            self.own.stroke if self.stroke is None else self.stroke,
            self.own.fill if self.fill is None else self.fill,
            self.own.mode,
        )


@dataclass
class _Writer:
    pdf: pikepdf.Pdf
    plates: Mapping[str, bool]
    done: set[tuple[int, int]] = field(default_factory=set)

    def rewrite(self, stream: Any, resources: Any, begins: Overprint, depth: int = 0) -> None:
        """Rewrite one content stream and the forms that it draws, each once.

        A form that begins otherwise elsewhere is found by comparing what is painted.
        """
        if depth > _DEEPEST or (stream.is_indirect and stream.objgen in self.done):
            return
        self.done.add(stream.objgen)
        state, stack = _State(begins, set_to=begins), []
        out: list[Any] = []
        for step in pikepdf.parse_content_stream(stream):
            operator = str(step.operator)
            if operator == "Do":
                drawn = entry(entry(resources, "/XObject") or {}, word(step.operands[0]))
                if entry(drawn, "/Subtype") == "/Form":
                    out += self._switch(state, state.own, resources)
                    inner = entry(drawn, "/Resources") or resources
                    self.rewrite(drawn, inner, state.own, depth + 1)
                elif drawn is not None:
                    rule = self._rule(entry(drawn, "/ColorSpace"))
                    if rule is not None:
                        out += self._switch(state, replace(state.wanted, fill=rule), resources)
            elif operator == "sh":
                shading = entry(entry(resources, "/Shading") or {}, word(step.operands[0]))
                rule = self._rule(entry(shading, "/ColorSpace"))
                if rule is not None:
                    out += self._switch(state, replace(state.wanted, fill=rule), resources)
            out.append(step)
            if operator not in _STATE:
                continue
            if operator == "q":
                stack.append(replace(state))
            elif operator == "Q":
                state = stack.pop() if stack else state
            else:
                self._follow(state, operator, step.operands, resources)
            out += self._switch(state, state.wanted, resources)
        stream.write(pikepdf.unparse_content_stream(out))

    def _follow(self, state: _State, operator: str, operands: Any, resources: Any) -> None:
        if operator == "gs":
            settings = entry(entry(resources, "/ExtGState") or {}, word(operands[0])) or {}
            state.own = state.own.after(settings)
            state.set_to = state.set_to.after(settings)
        elif operator in _FILL:
            state.fill = self._chosen(operator, operands, resources, state.fill)
        elif operator in _STROKE:
            state.stroke = self._chosen(operator, operands, resources, state.stroke)

    def _chosen(
        self, operator: str, operands: Any, resources: Any, before: bool | None
    ) -> bool | None:
        if operator.lower() == "cs":
            return self._rule(entry(entry(resources, "/ColorSpace") or {}, word(operands[0])))
        if operator.lower() != "scn":
            return None
        if not (operands and isinstance(operands[-1], pikepdf.Name)):
            return before  # another tint of the same space
        pattern = entry(entry(resources, "/Pattern") or {}, word(operands[-1]))
        return self._rule(entry(entry(pattern, "/Shading") or {}, "/ColorSpace"))

    def _rule(self, space: Any) -> bool | None:
        """Return whether what is painted in a space is to overprint; None where nobody asks."""
        if not isinstance(space, pikepdf.Array) or word(space[0]) not in _PLATE_SPACES:
            return None
        names = [*space[1]] if isinstance(space[1], pikepdf.Array) else [space[1]]
        asked = (self.plates.get(plain(name)) for name in sorted(names, key=plain))
        return next((it for it in asked if it is not None), None)

    def _switch(self, state: _State, to: Overprint, resources: Any) -> Iterator[Any]:
        """Yield the operator that sets overprint so, where it is otherwise."""
        if state.set_to == to:
            return
        state.set_to = to
        name = f"/PlateOverprint{2 * to.stroke + to.fill}{to.mode}"
        if "/ExtGState" not in resources:
            resources["/ExtGState"] = pikepdf.Dictionary()
        resources["/ExtGState"][name] = pikepdf.Dictionary(
            Type=pikepdf.Name.ExtGState, OP=to.stroke, op=to.fill, OPM=to.mode
        )
        yield pikepdf.ContentStreamInstruction([pikepdf.Name(name)], pikepdf.Operator("gs"))
