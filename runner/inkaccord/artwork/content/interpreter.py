"""Follow the colour state through one content stream, and rewrite its colours.

The interpreter knows what the graphics state says about colour at every operator (ISO 32000-2,
8.4): the two current colours and their spaces, the overprint switches, the stack. It is the one
place that does; the inventory, the recolouring and the proof all run through it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any, Protocol

import pikepdf

from inkaccord.artwork.content.graphics_state import (
    NOT_MUTED,
    Overprint,
    Pen,
    State,
    inherited,
    overprint_changes,
)
from inkaccord.artwork.content.scan import (
    DEVICE_OPERATORS,
    FULL_OPERATORS,
    LEAN_OPERATORS,
    PAINT_OPERATORS,
    InlineImage,
    after_construct,
    inline_image,
    name_in,
    numbers_in,
    pattern_for,
)
from inkaccord.artwork.objects.scope import Scope
from inkaccord.artwork.objects.spaces import (
    DEVICE,
    Colour,
    Space,
    SpaceKind,
    entry,
    write_paint,
)
from inkaccord.artwork.paints import PaintKind
from inkaccord.artwork.swaps import Mapped, SwapTable

MEMO_SIZE = 200_000
_BLANKS = b"\x00\t\n\x0c\r "

(
    SAVE,
    RESTORE,
    DEVICE_SET,
    SET,
    SPACE,
    STATE,
    CALL,
    SHADE,
    INLINE,
    UNCOLOURED,
    PAINT,
    TEXT_MODE,
    FONT,
    BAD,
) = range(14)

_CODES: dict[bytes, int] = {
    b"q": SAVE,
    b"Q": RESTORE,
    b"sc": SET,
    b"scn": SET,
    b"SC": SET,
    b"SCN": SET,
    b"cs": SPACE,
    b"CS": SPACE,
    b"gs": STATE,
    b"Do": CALL,
    b"sh": SHADE,
    b"BI": INLINE,
    b"d1": UNCOLOURED,
    b"Tr": TEXT_MODE,
    b"Tf": FONT,
} | dict.fromkeys(PAINT_OPERATORS, PAINT)
_KINDS = {kind.value: (kind, PaintKind(kind.value)) for kind in DEVICE}
_FILL_WORDS = frozenset((b"sc", b"scn", b"cs"))


@dataclass(slots=True)
class _Step:
    """What one operator with these very operands does; found once, used for every repeat."""

    code: int
    fill: bool = True
    pen: Pen | None = None
    replacement: bytes | None = None
    numbers: tuple[float, ...] = ()
    name: str = ""
    lead: bytes = b""
    paints: tuple[bool, bool, bool] = (False, False, False)
    hits: int = 0


class Guide(Protocol):
    """What a content stream needs from the document around it."""

    def call(
        self, target: Any, state: State, scope: Scope, reading: Reading
    ) -> tuple[str | None, frozenset[str]]:
        """Follow ``Do`` of a form.

        Return the name by which the rewritten stream has to call it, if another, and which
        parts of the state made a difference inside.
        """

    def inline(
        self, data: bytes, image: InlineImage, scope: Scope, reading: Reading
    ) -> bytes | None:
        """Look at an inline image; return its new entries (between BI and ID) if they change."""

    def finding(self, code: str, detail: str) -> None:
        """Take note of something odd in the current stream."""


FILL, STROKE, OVERPRINT = "fill", "stroke", "overprint"


@dataclass(slots=True)
class Reading:
    """What came of following one content stream."""

    edits: list[tuple[int, int, bytes]] = field(default_factory=list)
    painted: Counter[tuple[Pen, str, Overprint]] = field(default_factory=Counter)
    """Pen, role, overprint: how many objects."""
    chosen: dict[Pen, bool] = field(default_factory=dict)
    """Every colour that was set, and whether for filling; painted with or not."""
    swapped: Counter[tuple[int, float]] = field(default_factory=Counter)
    named: set[tuple[str, str]] = field(default_factory=set)
    """Category and name of the patterns, shadings, images and fonts that are used."""
    consulted: set[str] = field(default_factory=set)
    """Which parts of the state it was called with made a difference."""
    uses_caller: bool = False
    """Whether a colour was set in a colour space that the caller had chosen."""
    open_states: int = 0
    """Missing ``Q`` (positive) or ``q`` (negative)."""

    def rewritten(self, data: bytes) -> bytes:
        """Return ``data`` with the edits made."""
        if not self.edits:
            return data
        parts: list[bytes] = []
        last = 0
        for start, end, new in self.edits:
            parts.append(data[last:start])
            parts.append(new)
            last = end
        parts.append(data[last:])
        return b"".join(parts)


class Interpreter:
    """Follows content streams; one for a whole document, so that it learns operands once."""

    def __init__(
        self, table: SwapTable | None, *, full: bool = False, mute_overprint: bool = False
    ) -> None:
        self._table = table
        self._full = full
        self._mute = mute_overprint
        self._pattern = pattern_for(FULL_OPERATORS if full else LEAN_OPERATORS)
        self._memo: dict[bytes, _Step] = {}
        self._pens: dict[tuple[Space, tuple[float, ...] | None], Pen] = {}

    def follow(self, data: bytes, scope: Scope, state: State, guide: Guide) -> Reading:
        """Follow one content stream from a starting state."""
        return _Run(self, scope, guide).run(data, state)


class _Run:
    """One pass over one stream."""

    def __init__(self, interpreter: Interpreter, scope: Scope, guide: Guide) -> None:
        self._table = interpreter._table  # noqa: SLF001 - one object, split for its state
        self._full = interpreter._full  # noqa: SLF001
        self._mute = interpreter._mute  # noqa: SLF001
        self._pattern = interpreter._pattern  # noqa: SLF001
        # Operands mean the same in every stream, unless default spaces say otherwise here.
        self._memo = interpreter._memo if scope.plain else {}  # noqa: SLF001
        self._pens = interpreter._pens if scope.plain else {}  # noqa: SLF001
        self._scope = scope
        self._guide = guide
        self._used: list[_Step] = []
        self.reading = Reading()

    # One long loop on purpose: a call for every operator would halve the speed.
    def run(self, data: bytes, state: State) -> Reading:  # noqa: PLR0915
        """Follow the stream; see :class:`Interpreter`."""
        memo, reading = self._memo, self.reading
        edits = reading.edits
        fill = inherited(state.fill)
        stroke = inherited(state.stroke)
        overprint, muted, text_mode = state.overprint, state.muted, state.text_mode
        inherited_overprint = True
        stack: list[tuple[Pen, Pen, Overprint, tuple[bool, bool], int]] = []
        full, chosen = self._full, reading.chosen
        finditer = self._pattern.finditer
        position = 0
        while position >= 0:
            start, position = position, -1
            for match in finditer(data, start):
                token = match[1]
                if token is None:
                    if match[5] is not None:
                        position = after_construct(data, match.start(5))
                    break
                step = memo.get(token)
                if step is None:
                    step = self._learn(token, match[2], match[3], match[4])
                code = step.code
                if code == DEVICE_SET:
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
                    self._paint(step, fill, stroke, overprint, text_mode)
                    continue
                elif code == SET:
                    pen = fill if step.fill else stroke
                    pen = self._set(step, pen, match.start(1), match.end())
                    if step.fill:
                        fill = pen
                    else:
                        stroke = pen
                elif code == SPACE:
                    pen = self._select(step, match.start(1), match.end())
                    if step.fill:
                        fill = pen
                    else:
                        stroke = pen
                elif code == STATE:
                    changed = self._graphics_state(step.name, overprint)
                    if changed is not None:
                        overprint, muted, inherited_overprint = changed, NOT_MUTED, False
                elif code == CALL:
                    self._call(step, State(fill, stroke, overprint, muted, text_mode), match)
                    continue
                elif code == INLINE:
                    image = inline_image(data, match.end())
                    if image is None:
                        self._guide.finding("bad-inline-image", "an inline image never ends")
                        break
                    self._inline(data, image, fill, overprint)
                    position = image.end
                    break
                elif code == TEXT_MODE:
                    text_mode = int(step.numbers[-1]) if step.numbers else text_mode
                    continue
                elif code in (SHADE, FONT):
                    reading.named.add(("/Shading" if code == SHADE else "/Font", step.name))
                    continue
                elif code == UNCOLOURED:
                    # A d1 glyph is a stencil: its colour operators are ignored (9.6.4).
                    for used in self._used:
                        used.hits = 0
                    return Reading()
                elif code == BAD:
                    self._guide.finding(
                        "bad-operands",
                        f"{token.strip(_BLANKS).decode('latin-1')[:60]!r} is not a valid operator",
                    )
                    continue
                else:
                    continue
                # The colour or the overprint switches have changed.
                if full and code in (DEVICE_SET, SET):
                    chosen.setdefault(fill if step.fill else stroke, step.fill)
                if overprint.fill or overprint.stroke or muted is not NOT_MUTED:
                    if inherited_overprint:
                        reading.consulted.add(OVERPRINT)
                    muted = self._check_overprint(fill, stroke, overprint, muted, match.end())
        reading.open_states += len(stack)
        for step in self._used:
            mapped = step.pen.mapped if step.pen else None
            if mapped is not None:
                reading.swapped[mapped.swap, mapped.tint] += step.hits
            step.hits = 0
        return reading

    # -- learning what operands mean --------------------------------------------------------

    def _learn(self, token: bytes, digits: bytes, name: bytes | None, word: bytes) -> _Step:
        lead = token[: len(token) - len(token.lstrip(_BLANKS))]
        numbers = numbers_in(digits)
        device = DEVICE_OPERATORS.get(word)
        if device is not None:
            step = self._learn_device(device, numbers, lead)
        else:
            code = _CODES[word]
            step = _Step(code, fill=word in _FILL_WORDS, lead=lead)
            if name is not None:
                step.name = name_in(name)
            step.numbers = numbers or ()
            if code == PAINT:
                step.paints = PAINT_OPERATORS[word]
            elif (code in (SPACE, STATE, CALL, SHADE) and name is None) or (
                code == SET and (numbers is None or not (numbers or name))
            ):
                step.code = BAD
        if len(self._memo) >= MEMO_SIZE:
            self._memo.clear()
        self._memo[token] = step
        return step

    def _learn_device(
        self, device: tuple[str, int, bool], numbers: tuple[float, ...] | None, lead: bytes
    ) -> _Step:
        kind, count, fill = device
        if numbers is None or len(numbers) < count:
            return _Step(BAD)
        space_kind, paint_kind = _KINDS[kind]
        space = self._scope.device[space_kind]
        # Extra operands: renderers take the last ones.
        numbers = numbers[-count:]
        if (
            self._table is not None
            and not self._full
            and space.kind in DEVICE
            and self._table.passes_by(paint_kind, numbers)
        ):
            return _Step(DEVICE_SET, fill, self._plain_pen(space))
        colour = space.colour(numbers)
        mapped = self._map(colour)
        # Without a default space the rewritten stream is in the device space after k, rg, g.
        pen = Pen(space, colour, space, mapped)
        if mapped is None:
            return _Step(DEVICE_SET, fill, pen)
        pen.out = DEVICE[SpaceKind(mapped.paint.kind.value)]
        return _Step(DEVICE_SET, fill, pen, lead + write_paint(mapped.paint, fill=fill))

    def _plain_pen(self, space: Space) -> Pen:
        """Return the one pen for all colours of a space that no swap is near to."""
        return self._pens.setdefault((space, ()), Pen(space, None, space))

    def _map(self, colour: Colour) -> Mapped | None:
        table = self._table
        if table is None:
            return None
        mapped = table.of(colour)
        if mapped is None:
            self._remark(table, colour)
            return None
        if self._scope.defaulted(mapped.paint.kind):
            self._guide.finding("default-space", f"{colour} should become {mapped.paint}")
            return None
        return mapped

    def _remark(self, table: SwapTable, colour: Colour) -> None:
        """Report a colour that stays, but that may have been meant."""
        plain = colour.as_device() if colour.paint is None else None
        meant = table.of_paint(plain) if plain is not None else None
        if meant is not None and meant.tint == 100:
            old = table.swaps[meant.swap].old
            self._guide.finding(
                "profiled-colour",
                f"{colour} has the numbers of {old}, but prints through a profile, so it stays",
            )
            return
        near = table.near_miss(colour) if colour.paint is not None else None
        if near is not None:
            old = table.swaps[near.swap].old
            self._guide.finding(
                "near-miss", f"{colour} is {near.distance:.3g} off {old}, which is swapped"
            )

    # -- operators --------------------------------------------------------------------------

    def _set(self, step: _Step, pen: Pen, start: int, end: int) -> Pen:
        if pen.inherited:
            self.reading.consulted.add(FILL if step.fill else STROKE)
            self.reading.uses_caller = True
        space = pen.space
        if space.kind is SpaceKind.PATTERN:
            return self._set_pattern(step, pen, start, end)
        if step.name or len(step.numbers) < space.components or space.kind is SpaceKind.UNKNOWN:
            if space.kind is not SpaceKind.UNKNOWN:
                self._guide.finding(
                    "bad-operands", f"sc or scn with wrong operands for {space.name}"
                )
            return self._keep_set(Pen(space, None, pen.out), step, pen, start)
        numbers = step.numbers[len(step.numbers) - space.components :]
        known = self._pens.get((space, numbers))
        if known is None:
            known = self._pens[space, numbers] = self._pen(space, space.colour(numbers))
        if known.mapped is None:
            return self._keep_set(known, step, pen, start)
        self._swap(known.mapped, step, start, end)
        return known

    def _pen(self, space: Space, colour: Colour | None) -> Pen:
        mapped = self._map(colour) if colour is not None else None
        out = DEVICE[SpaceKind(mapped.paint.kind.value)] if mapped else space
        return Pen(space, colour, out, mapped)

    def _keep_set(self, new: Pen, step: _Step, before: Pen, start: int) -> Pen:
        """Leave the operands; if the rewritten stream has left the space, select it again."""
        if before.out.key != new.space.key and new.space.kind is not SpaceKind.UNKNOWN:
            word = b" cs" if step.fill else b" CS"
            text = step.lead + self._name_of(new.space) + word
            self.reading.edits.append((start, start, text if step.lead else text + b" "))
        new.out = new.space
        return new

    def _name_of(self, space: Space) -> bytes:
        if space.kind in DEVICE:
            return f"/Device{_DEVICE_SUFFIX[space.kind]}".encode()
        name = self._scope.add("/ColorSpace", space.key, lambda: space.definition)
        return name.encode()

    def _swap(self, mapped: Mapped, step: _Step, start: int, end: int) -> None:
        new = step.lead + write_paint(mapped.paint, fill=step.fill)
        self.reading.edits.append((start, end, new))
        self.reading.swapped[mapped.swap, mapped.tint] += 1

    def _set_pattern(self, step: _Step, pen: Pen, start: int, end: int) -> Pen:
        space = pen.space
        base = space.base
        new = Pen(space, None, space, pattern=step.name)
        if step.name:
            self.reading.named.add(("/Pattern", step.name))
        if base is None or not step.numbers:
            return self._keep_set(new, step, pen, start)
        if len(step.numbers) < base.components:
            self._guide.finding("bad-operands", "scn with too few operands for a pattern")
            return self._keep_set(new, step, pen, start)
        new.colour = base.colour(step.numbers[-base.components :])
        new.mapped = self._map(new.colour)
        if new.mapped is None:
            return self._keep_set(new, step, pen, start)
        target = DEVICE[SpaceKind(new.mapped.paint.kind.value)]
        word = b"scn" if step.fill else b"SCN"
        digits = _operands(new.mapped)
        text = digits + b" " + _write_name(step.name) + b" " + word
        if target.key != base.key or pen.out.key != space.key:
            pdf_name = pikepdf.Name("/Device" + _DEVICE_SUFFIX[target.kind])
            name = self._scope.add(
                "/ColorSpace",
                f"pattern {target.key}",
                lambda: pikepdf.Array([pikepdf.Name.Pattern, pdf_name]),
            )
            text = name.encode() + (b" cs " if step.fill else b" CS ") + text
            new.out = Space(
                SpaceKind.PATTERN,
                target.components,
                "pattern",
                base=target,
                key=f"pattern {target.key}",
            )
        self.reading.edits.append((start, end, step.lead + text))
        self.reading.swapped[new.mapped.swap, new.mapped.tint] += 1
        return new

    def _select(self, step: _Step, start: int, end: int) -> Pen:
        space = self._scope.space(step.name)
        known = self._pens.get((space, None))
        if known is None:
            numbers = space.initial() if space.kind is not SpaceKind.UNKNOWN else None
            known = self._pen(space, space.colour(numbers) if numbers is not None else None)
            self._pens[space, None] = known
        # Its own object each time: a colour chosen by cs alone may never be painted with.
        pen = Pen(space, known.colour, known.out, known.mapped)
        if known.mapped is not None:
            self._swap(known.mapped, step, start, end)
        return pen

    def _graphics_state(self, name: str, before: Overprint) -> Overprint | None:
        state = self._scope.entry("/ExtGState", name)
        if not isinstance(state, pikepdf.Dictionary):
            self._guide.finding("missing-resource", f"the graphics state {name} is not there")
            return None
        stroke, fill, mode = before.stroke, before.fill, before.mode
        if "/OP" in state:
            stroke = fill = bool(state["/OP"])
        if "/op" in state:
            fill = bool(state["/op"])
        if isinstance(entry(state, "/OPM"), int):
            mode = int(state["/OPM"])
        after = Overprint(stroke, fill, mode)
        return None if after == before and "/OP" not in state and "/op" not in state else after

    def _call(self, step: _Step, state: State, match: Any) -> None:
        target = self._scope.entry("/XObject", step.name)
        if not isinstance(target, pikepdf.Stream):
            self._guide.finding("missing-resource", f"the object {step.name} is not there")
            return
        kind = target.get("/Subtype")
        if kind == "/Image":
            self.reading.named.add(("/XObject", step.name))
            if self._full and target.get("/ImageMask", False):
                self._count(state.fill, "mask", state.overprint, FILL)
            return
        if kind == "/Form":
            new, consulted = self._guide.call(target, state, self._scope, self.reading)
            if FILL in consulted and state.fill.inherited:
                self.reading.consulted.add(FILL)
            if STROKE in consulted and state.stroke.inherited:
                self.reading.consulted.add(STROKE)
            self.reading.consulted |= consulted & {OVERPRINT}
            if new is not None:
                text = step.lead + new.encode() + b" Do"
                self.reading.edits.append((match.start(1), match.end(), text))

    def _inline(self, data: bytes, image: InlineImage, fill: Pen, overprint: Overprint) -> None:
        if self._full and b"true" in data[slice(*image.header)]:
            self._count(fill, "mask", overprint, FILL)
        new = self._guide.inline(data, image, self._scope, self.reading)
        if new is not None:
            self.reading.edits.append((*image.header, new))

    # -- what is painted --------------------------------------------------------------------

    def _paint(
        self, step: _Step, fill: Pen, stroke: Pen, overprint: Overprint, text_mode: int
    ) -> None:
        fills, strokes, text = step.paints
        if text:
            mode = text_mode % 4
            fills, strokes = mode in (0, 2), mode in (1, 2)
        if fills:
            self._count(fill, "text" if text else "fill", overprint, FILL)
        if strokes:
            self._count(stroke, "text" if text else "stroke", overprint, STROKE)

    def _count(self, pen: Pen, role: str, overprint: Overprint, part: str) -> None:
        if pen.inherited:
            self.reading.consulted.add(part)
        self.reading.painted[pen, role, overprint] += 1

    # -- overprint --------------------------------------------------------------------------

    def _check_overprint(
        self,
        fill: Pen,
        stroke: Pen,
        overprint: Overprint,
        muted: tuple[bool, bool],
        end: int,
    ) -> tuple[bool, bool]:
        conflicts = (
            overprint.fill and overprint_changes(fill, overprint),
            overprint.stroke and overprint_changes(stroke, overprint),
        )
        for pen, conflict in zip((fill, stroke), conflicts, strict=True):
            if conflict:
                self._guide.finding(
                    "overprint-switched-off" if self._mute else "overprint-changes",
                    f"{pen.colour} becomes {pen.mapped.paint if pen.mapped else ''}",
                )
        if not self._mute or conflicts == muted:
            return muted
        on_fill = overprint.fill and not conflicts[0]
        on_stroke = overprint.stroke and not conflicts[1]
        name = self._scope.add(
            "/ExtGState",
            (on_fill, on_stroke),
            lambda: pikepdf.Dictionary(OP=on_stroke, op=on_fill),
        )
        self.reading.edits.append((end, end, b" " + name.encode() + b" gs"))
        return conflicts if any(conflicts) else NOT_MUTED


_DEVICE_SUFFIX = {SpaceKind.CMYK: "CMYK", SpaceKind.RGB: "RGB", SpaceKind.GRAY: "Gray"}


def _operands(mapped: Mapped) -> bytes:
    text = write_paint(mapped.paint, fill=True)
    return text.rsplit(b" ", 1)[0]


def _write_name(name: str) -> bytes:
    raw = name.removeprefix("/").encode("utf-8", "surrogateescape")
    return b"/" + b"".join(
        bytes([byte]) if 33 <= byte <= 126 and byte not in b"()<>[]{}/%#" else b"#%02X" % byte
        for byte in raw
    )
