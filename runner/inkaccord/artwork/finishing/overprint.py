"""Overprint set for some plates, where an order asks for it: all they paint overprints, or none.

Only ``gs`` operators are added, after those that choose a colour (ISO 32000-2, 8.6.7); that what
is painted stays the same is read from the file again.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.artwork.content.graphics_state import NO_OVERPRINT, Overprint
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader, glyphs_shown
from inkaccord.artwork.plates import plates_of
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.entries import entry, plain, word
from inkaccord.pdf.inline_images import inline_entries
from inkaccord.pdf.opening import open_artwork, pdf_bytes
from inkaccord.pdf.page_objects import appearance, inherited, shown_annotations
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import joined

_FILL, _STROKE = {"g", "rg", "k", "cs", "scn"}, {"G", "RG", "K", "CS", "SCN"}
_STATE = _FILL | _STROKE | {"q", "Q", "gs", "Do", "sh", "INLINE IMAGE"}
_SHOW = {"Tj", "TJ", "'", '"'}
_PLATE_SPACES = {"/Separation", "/DeviceN"}
_DEEPEST = 32
"""Forms, patterns and glyphs inside each other that are gone into."""


def set_overprint(
    source: Path | bytes, plates: Mapping[str, bool], name: str | None = None
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """Return a file in which all that is painted in a plate overprints, or none of it.

    No file where nothing was to be changed, or where what is painted would not be the same: then
    a finding says so, and where; ``name`` is what it calls the file. Raises FileError when the file
    can't be read or may not be changed.
    """
    before = pdf_bytes(source)
    with open_artwork(before, changing=True) as pdf:
        marks = _marks(pdf)
        wrong = [it for it in marks if _wanted(it, plates) not in {None, it.overprint}]
        if not wrong:
            return None, tuple(_in_patterns(marks, plates, name))
        writer = _Writer(plates)
        for page in pdf.pages:
            resources = inherited(page.obj, "/Resources")
            if "/Contents" in page.obj:
                page.contents_coalesce()
                writer.rewrite(page.obj.Contents, resources, _State(NO_OVERPRINT))
            for annotation in shown_annotations(page.obj):
                placed = appearance(annotation)
                if placed is not None:
                    writer.inside(placed[0], resources, _State(NO_OVERPRINT))
        after = save_as_packed(pdf)
    with open_artwork(after) as written:
        otherwise = _otherwise(marks, _marks(written), plates)
    if otherwise is None:
        return after, tuple(_in_patterns(marks, plates, name))
    names = joined([f"'{it}'" for it in sorted(plates)])
    within = f", in {joined(otherwise.where)}," if otherwise.where else ""
    return None, (
        warning(
            "overprint-not-set",
            f"overprint of {names} can't be set without changing what else is painted: a "
            f"{otherwise.role}{within} would come out otherwise, so all stays as it was drawn",
            place=Place(file=name, page=otherwise.page, box_mm=otherwise.box.in_mm),
            in_program="set it there, fills and lines",
        ),
    )


def _in_patterns(
    marks: Iterable[Mark], plates: Mapping[str, bool], name: str | None
) -> Iterator[Diagnostic]:
    """Say where a plate is to overprint in the cell of a pattern: not every device heeds that.

    Ghostscript 10.00 does not, and leaves out what lies under the cell (tried).
    """
    for mark in marks:
        if "pattern" in mark.where and _wanted(mark, plates):
            yield warning(
                "overprint-in-pattern",
                f"{mark.colour} is painted by a pattern; it is set to overprint there, which not "
                "every device heeds",
                place=Place(file=name, page=mark.page, box_mm=mark.box.in_mm),
                in_program="draw it as shapes instead of a pattern",
                hint="or ask the vendor for a proof of this plate",
            )
            return


def _wanted(mark: Mark, plates: Mapping[str, bool]) -> bool | None:
    """Return whether a mark is to overprint; None where nobody asks."""
    return next((plates[name] for name in sorted(plates_of(mark)) if name in plates), None)


def _marks(pdf: pikepdf.Pdf) -> list[Mark]:
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in pdf.pages:
        reader.read_page(page, page_boxes(page))
    return marks


def _otherwise(
    before: Sequence[Mark], after: Sequence[Mark], plates: Mapping[str, bool]
) -> Mark | None:
    """Return the first mark that is not the same, save for overprint as it was asked for."""
    for was, now in zip_longest(before, after):
        if was is None or now is None:
            return was or now
        asked = _wanted(was, plates)
        wanted = was.overprint if asked is None else asked
        if now.overprint is not wanted or replace(was, overprint=now.overprint) != now:
            return was
    return None


@dataclass
class _State:
    """What holds at one place of a content stream."""

    own: Overprint
    """As the artwork has it."""
    fill: bool | None = None
    """Whether what is filled is to overprint; None where it is as the artwork has it."""
    stroke: bool | None = None
    set_to: Overprint | None = None
    """As the rewritten stream has it; None: as :attr:`own`."""
    font: Any = None

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
    plates: Mapping[str, bool]
    done: set[tuple[int, int]] = field(default_factory=set)

    def rewrite(
        self,
        stream: Any,
        resources: Any,
        begins: "_State",
        depth: int = 0,
        *,
        glyph: bool = False,
    ) -> None:
        """Rewrite one content stream and all that it draws, each once.

        ``glyph`` says whether it draws a character, which alone can say that it is a stencil,
        painted as the text that shows it (ISO 32000-2, 9.6.4).

        One that begins otherwise elsewhere is found by comparing what is painted.
        """
        if depth > _DEEPEST or stream.objgen in self.done:
            return
        self.done.add(stream.objgen)
        inside = partial(self.inside, depth=depth + 1)
        state, stack = begins, []
        out: list[Any] = [*self._switch(state, state.wanted, resources)]
        for step in pikepdf.parse_content_stream(stream):
            operator = str(step.operator)
            if operator == "Do":
                drawn = entry(entry(resources, "/XObject") or {}, word(step.operands[0]))
                if entry(drawn, "/Subtype") == "/Form":
                    out += self._switch(state, state.own, resources)
                    inside(drawn, resources, replace(state, set_to=None))
                elif drawn is not None:
                    out += self._for_fill(state, entry(drawn, "/ColorSpace"), resources)
            elif operator == "sh":
                shading = entry(entry(resources, "/Shading") or {}, word(step.operands[0]))
                out += self._for_fill(state, entry(shading, "/ColorSpace"), resources)
            elif isinstance(step, pikepdf.ContentStreamInlineImage):
                space = inline_entries(step.iimage).get("/ColorSpace")
                out += self._for_fill(state, self._space(space, resources), resources)
            elif operator in {"scn", "SCN"}:
                cell = _cell(step.operands, resources)
                if cell is not None:  # what it draws does not go on from here (8.7.3.1)
                    inside(cell, resources, _State(NO_OVERPRINT))
            elif operator in _SHOW:
                own = entry(state.font, "/Resources") or resources
                for drawn in _drawn_glyphs(state.font, step.operands):
                    self.rewrite(drawn, own, replace(state), depth + 1, glyph=True)
            elif operator == "Tf":
                state.font = entry(entry(resources, "/Font") or {}, word(step.operands[0]))
            elif operator == "d1" and glyph:
                return
            out.append(step)
            if operator not in _STATE:
                continue
            if operator == "q":
                stack.append(replace(state))
            elif operator == "Q":
                state = stack.pop() if stack else state
            elif not isinstance(step, pikepdf.ContentStreamInlineImage):
                self._follow(state, operator, step.operands, resources)
            out += self._switch(state, state.wanted, resources)
        stream.write(pikepdf.unparse_content_stream(out))

    def inside(self, stream: Any, resources: Any, begins: "_State", *, depth: int = 0) -> None:
        """Rewrite what has resources of its own, or else those of what draws it."""
        self.rewrite(stream, entry(stream, "/Resources") or resources, begins, depth)

    def _for_fill(self, state: "_State", space: Any, resources: Any) -> Iterator[Any]:
        """Yield what sets overprint for a picture or a gradient of its own colours."""
        rule = self._rule(space)
        if rule is not None:
            yield from self._switch(state, replace(state.wanted, fill=rule), resources)

    def _follow(self, state: _State, operator: str, operands: Any, resources: Any) -> None:
        if operator == "gs":
            settings = entry(entry(resources, "/ExtGState") or {}, word(operands[0])) or {}
            state.set_to = (state.set_to or state.own).after(settings)
            state.own = state.own.after(settings)
            font = entry(settings, "/Font")
            if isinstance(font, pikepdf.Array) and len(font):
                state.font = font[0]
        elif operator in _FILL:
            state.fill = self._chosen(operator, operands, resources, state.fill)
        elif operator in _STROKE:
            state.stroke = self._chosen(operator, operands, resources, state.stroke)

    def _chosen(
        self, operator: str, operands: Any, resources: Any, before: bool | None
    ) -> bool | None:
        if operator.lower() == "cs":
            return self._rule(self._space(operands[0], resources))
        if operator.lower() != "scn":
            return None
        if not (operands and isinstance(operands[-1], pikepdf.Name)):
            return before  # another tint of the same space
        pattern = entry(entry(resources, "/Pattern") or {}, word(operands[-1]))
        shading = entry(pattern, "/Shading")
        return before if shading is None else self._rule(entry(shading, "/ColorSpace"))

    def _space(self, named: Any, resources: Any) -> Any:
        """Return a colour space by its name in the resources."""
        if not isinstance(named, pikepdf.Name):
            return named
        return entry(entry(resources, "/ColorSpace") or {}, word(named))

    def _rule(self, space: Any) -> bool | None:
        """Return whether what is painted in a space is to overprint; None where nobody asks."""
        if not isinstance(space, pikepdf.Array) or len(space) < 2:
            return None
        if word(space[0]) in {"/Pattern", "/Indexed"}:  # without colours of its own, or a table
            return self._rule(space[1])
        if word(space[0]) not in _PLATE_SPACES:
            return None
        names = [*space[1]] if isinstance(space[1], pikepdf.Array) else [space[1]]
        asked = (self.plates.get(plain(name)) for name in sorted(names, key=plain))
        return next((it for it in asked if it is not None), None)

    def _switch(self, state: _State, to: Overprint, resources: Any) -> Iterator[Any]:
        """Yield the operator that sets overprint so, where it is otherwise."""
        if (state.set_to or state.own) == to:
            return
        state.set_to = to
        name = f"/PlateOverprint{2 * to.stroke + to.fill}{to.mode}"
        if "/ExtGState" not in resources:
            resources["/ExtGState"] = pikepdf.Dictionary()
        resources["/ExtGState"][name] = pikepdf.Dictionary(
            Type=pikepdf.Name.ExtGState, OP=to.stroke, op=to.fill, OPM=to.mode
        )
        yield pikepdf.ContentStreamInstruction([pikepdf.Name(name)], pikepdf.Operator("gs"))


def _cell(operands: Any, resources: Any) -> Any:
    """Return the cell of a pattern with colours of its own that is chosen; None for others."""
    if not (operands and isinstance(operands[-1], pikepdf.Name)):
        return None
    pattern = entry(entry(resources, "/Pattern") or {}, word(operands[-1]))
    coloured = isinstance(pattern, pikepdf.Stream) and entry(pattern, "/PaintType") != 2
    return pattern if coloured else None


def _drawn_glyphs(font: Any, operands: Any) -> list[pikepdf.Stream]:
    """Return the content streams of the glyphs that a text shows; none of other typefaces."""
    if not isinstance(font, pikepdf.Dictionary) or entry(font, "/Subtype") != "/Type3":
        return []
    shown = [*operands[-1]] if isinstance(operands[-1], pikepdf.Array) else [operands[-1]]
    return glyphs_shown(font, b"".join(bytes(it) for it in shown if isinstance(it, pikepdf.String)))
