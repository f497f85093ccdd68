"""Follow the colour state through one content stream, and rewrite its colours.

The interpreter knows what the graphics state says about colour at every operator (ISO 32000-2,
8.4): the two current colours and their spaces, the overprint switches, the stack. Recolouring and
the proof's search for old colours run through it; the inventory reads pages with the interpreter of
`marks`, which knows no swaps.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pikepdf

from inkaccord.artwork.content.graphics_state import (
    NOT_MUTED,
    STALE,
    ColourPen,
    ColourState,
    Muted,
    Overprint,
    inherited,
)
from inkaccord.artwork.content.operators import FULL_OPERATORS, LEAN_OPERATORS, text_paints
from inkaccord.artwork.content.pens import Pens
from inkaccord.artwork.content.reading import AGAIN, FILL, OVERPRINT, STROKE, ColourReading, Guide
from inkaccord.artwork.content.scan import (
    InlineImage,
    after_construct,
    inline_image,
    pattern_for,
)
from inkaccord.artwork.content.steps import (
    BAD,
    CALL,
    DEVICE_SET,
    FONT,
    INLINE,
    PAINT,
    RESTORE,
    SAVE,
    SET,
    SHADE,
    SPACE,
    STATE,
    TEXT_MODE,
    UNCOLOURED,
    ColourStep,
    Lexicon,
    StepMemory,
)
from inkaccord.artwork.content.switches import Switches
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.pdf.colours.scope import Scope


class ColourInterpreter:
    """Follows content streams; one for a whole document, so that it learns operands once."""

    def __init__(
        self, table: SwapTable | None, *, full: bool = False, mute_overprint: bool = False
    ) -> None:
        self._table = table
        self._full = full
        self._mute = mute_overprint
        self._pattern = pattern_for(FULL_OPERATORS if full else LEAN_OPERATORS)
        self._memory = StepMemory()

    def follow(
        self,
        data: bytes,
        scope: Scope,
        state: ColourState,
        guide: Guide,
        flights: Mapping[int, Mapped] | None = None,
        *,
        glyph: bool = False,
    ) -> ColourReading:
        """Follow one content stream from a starting state.

        ``flights`` says, by their places, which fills are steps of a flight and what they become;
        ``glyph`` whether it draws a character, which alone can say that it is a stencil.
        """
        # Operands mean the same in every stream, unless default spaces say otherwise here.
        memory = self._memory if scope.plain else StepMemory()
        lexicon = Lexicon(self._table, scope, guide, memory, full=self._full)
        run = _Run(lexicon, scope, guide, full=self._full, mute=self._mute)
        return run.follow(self._pattern, data, state, flights or {}, glyph=glyph)


class _Run:
    """One pass over one stream."""

    def __init__(
        self, lexicon: Lexicon, scope: Scope, guide: Guide, *, full: bool, mute: bool
    ) -> None:
        self._lexicon = lexicon
        self._full = full
        self._scope = scope
        self._guide = guide
        self._used: list[ColourStep] = []
        self.reading = ColourReading()
        self._pens = Pens(lexicon, scope, guide, self.reading)
        self._switches = Switches(scope, guide, self.reading, mute=mute)

    # One long loop on purpose: a call for every operator would halve the speed.
    def follow(  # noqa: PLR0915
        self,
        pattern: re.Pattern[bytes],
        data: bytes,
        state: ColourState,
        flights: Mapping[int, Mapped],
        *,
        glyph: bool,
    ) -> ColourReading:
        """Follow the stream; see :class:`ColourInterpreter`."""
        steps, learn, reading = self._lexicon.steps, self._lexicon.learn, self.reading
        edits, fills = reading.edits, reading.fills
        fill = inherited(state.fill)
        stroke = inherited(state.stroke)
        overprint, muted, text_mode = state.overprint, state.muted, state.text_mode
        inherited_overprint = True
        stack: list[tuple[ColourPen, ColourPen, Overprint, Muted, int]] = []
        full, chosen = self._full, reading.chosen
        finditer = pattern.finditer
        position = 0
        while position >= 0:
            start, position = position, -1
            for match in finditer(data, start):
                token = match[1]
                if token is None:
                    if match[5] is not None:
                        position = after_construct(data, match.start(5))
                    break
                step = steps.get(token)
                if step is None:
                    step = learn(token, match[2], match[3], match[4])
                code = step.code
                if code == DEVICE_SET:
                    if step.fill:
                        if flights and match.start(1) in flights:
                            step = self._lexicon.flight_step(step, flights[match.start(1)])
                        fills.append((match.start(1), step))
                    if step.replacement is not None:
                        edits.append((match.start(1), match.end(), step.replacement))
                        step.hits += 1
                        if step.hits == 1:
                            self._used.append(step)
                    if step.fill:
                        fill = step.pen  # type: ignore[assignment]  # a set step has a pen
                    else:
                        stroke = step.pen  # type: ignore[assignment]  # a set step has a pen
                elif code == SAVE:
                    stack.append((fill, stroke, overprint, muted, text_mode))
                    continue
                elif code == RESTORE:
                    if stack:
                        fill, stroke, overprint, muted, text_mode = stack.pop()
                    else:
                        reading.open_states -= 1
                    continue
                elif code == PAINT:
                    if inherited_overprint:
                        reading.consulted.add(OVERPRINT)
                    self._paint(step, fill, stroke, overprint, text_mode)
                    continue
                elif code == SET:
                    fills.append(None)
                    pen = fill if step.fill else stroke
                    pen = self._pens.set(step, pen, match.start(1), match.end())
                    if step.fill:
                        fill = pen
                    else:
                        stroke = pen
                elif code == SPACE:
                    fills.append(None)
                    before = fill if step.fill else stroke
                    pen = self._pens.select(step, before, match.start(1), match.end())
                    if pen is before:
                        continue
                    if pen.mapped is not None and (
                        before.inherited or before.space.key == pen.space.key
                    ):
                        self._pens.chosen_again(data, match.end(), before, pen, fill=step.fill)
                    if step.fill:
                        fill = pen
                    else:
                        stroke = pen
                elif code == STATE:
                    changed = self._graphics_state(step.name, overprint)
                    if changed is not None:
                        muted = muted if muted is NOT_MUTED else STALE
                        overprint, inherited_overprint = changed, False
                elif code == CALL:
                    fills.append(None)
                    if inherited_overprint:
                        reading.consulted.add(OVERPRINT)
                    self._call(step, ColourState(fill, stroke, overprint, muted, text_mode), match)
                    continue
                elif code == INLINE:
                    fills.append(None)
                    image = inline_image(data, match.end())
                    if image is None:
                        self._guide.finding("bad-inline-image", "an inline image never ends")
                        break
                    if inherited_overprint:
                        reading.consulted.add(OVERPRINT)
                    place = match.start(1), image
                    self._inline(data, place, fill, overprint, muted)
                    position = image.end
                    break
                elif code == TEXT_MODE:
                    text_mode = int(step.numbers[-1]) if step.numbers else text_mode
                    continue
                elif code in (SHADE, FONT):
                    reading.named.add(("/Shading" if code == SHADE else "/Font", step.name))
                    if code == SHADE:
                        if inherited_overprint:
                            reading.consulted.add(OVERPRINT)
                        self._switches.around(overprint, muted, match.start(1), match.end())
                    continue
                elif code == UNCOLOURED:
                    if not glyph:
                        continue
                    # A d1 glyph is a stencil: its colour operators are ignored (9.6.4).
                    for used in self._used:
                        used.hits = 0
                    return ColourReading()
                elif code == BAD:
                    self._pens.misspelt(token, step, fill if step.fill else stroke)
                    continue
                else:
                    continue
                # The colour or the overprint switches have changed.
                if full and code in (DEVICE_SET, SET):
                    chosen.setdefault(fill if step.fill else stroke, step.fill)
                if inherited_overprint and (fill.mapped or stroke.mapped):
                    reading.consulted.add(OVERPRINT)
                if overprint.fill or overprint.stroke or muted is not NOT_MUTED:
                    if inherited_overprint:
                        reading.consulted.add(OVERPRINT)
                    muted = self._switches.settle(fill, stroke, overprint, muted, match.end())
        reading.open_states += len(stack)
        for step in self._used:
            mapped = step.pen.mapped if step.pen else None
            if mapped is not None:
                reading.swapped[mapped.swap, mapped.tint] += step.hits
            step.hits = 0
        return reading

    # -- operators --------------------------------------------------------------------------

    def _graphics_state(self, name: str, before: Overprint) -> Overprint | None:
        state = self._scope.entry("/ExtGState", name)
        if not isinstance(state, pikepdf.Dictionary):
            self._guide.finding("missing-resource", f"the graphics state {name} is not there")
            return None
        if "/Font" in state:
            self.reading.named.add(("/ExtGState", name))
        after = before.after(state)
        return None if after == before and "/OP" not in state and "/op" not in state else after

    def _call(self, step: ColourStep, state: ColourState, match: Any) -> None:
        target = self._scope.entry("/XObject", step.name)
        if not isinstance(target, pikepdf.Stream):
            self._guide.finding("missing-resource", f"the object {step.name} is not there")
            return
        kind = target.get("/Subtype")
        if kind == "/Image":
            self.reading.named.add(("/XObject", step.name))
            if not target.get("/ImageMask", False):
                start, end = match.start(1), match.end()
                self._switches.around(state.overprint, state.muted, start, end)
            elif self._full:
                self._count(state.fill, "mask", state.overprint, FILL)
            return
        if kind == "/Form":
            new, consulted = self._guide.call(target, state, self._scope, self.reading)
            if FILL in consulted and state.fill.inherited:
                self.reading.consulted.add(FILL)
            if STROKE in consulted and state.stroke.inherited:
                self.reading.consulted.add(STROKE)
            self.reading.consulted |= consulted & {OVERPRINT, AGAIN}
            if new is not None:
                text = step.lead + new.encode() + b" Do"
                self.reading.edits.append((match.start(1), match.end(), text))

    def _inline(
        self,
        data: bytes,
        place: tuple[int, InlineImage],
        fill: ColourPen,
        overprint: Overprint,
        muted: Muted,
    ) -> None:
        start, image = place
        if self._full and image.is_mask:
            self._count(fill, "mask", overprint, FILL)
        new = self._guide.inline(data, image, self._scope, self.reading)
        edits = [(*image.header, new)] if new is not None else []
        off = NOT_MUTED if image.is_mask else muted
        self._switches.around(overprint, off, start, image.end, edits)

    # -- what is painted --------------------------------------------------------------------

    def _paint(
        self,
        step: ColourStep,
        fill: ColourPen,
        stroke: ColourPen,
        overprint: Overprint,
        text_mode: int,
    ) -> None:
        fills, strokes, text = step.paints
        if text:
            fills, strokes = text_paints(text_mode)
        if fills:
            self._count(fill, "text" if text else "fill", overprint, FILL)
        if strokes:
            self._count(stroke, "text" if text else "stroke", overprint, STROKE)

    def _count(self, pen: ColourPen, role: str, overprint: Overprint, part: str) -> None:
        if pen.inherited:
            self.reading.consulted.add(part)
        self.reading.painted[pen, role, overprint] += 1
