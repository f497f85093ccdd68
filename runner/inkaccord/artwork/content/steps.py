"""What an operator with its operands does to the colour state: found once, used at every repeat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

from inkaccord.artwork.content.graphics_state import ColourPen
from inkaccord.artwork.content.operators import DEVICE_OPERATORS, PAINT_OPERATORS
from inkaccord.artwork.content.scan import blank_before, loose_readings, name_in, numbers_in
from inkaccord.artwork.rewritten import said_of_rewritten
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    PROCESS_INKS,
    Colour,
    Space,
    SpaceKind,
    write_paint,
)

MEMO_SIZE = 200_000
BLANKS = b"\x00\t\n\x0c\r "

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


class Around(Protocol):
    """What learning needs of the document around a content stream."""

    def finding(self, code: str, detail: str) -> None:
        """Take note of something odd in the current stream."""

    def mixture(self, space: Space, names: tuple[str, ...]) -> Space | None:
        """Return the space of other inks that a mixture needs after rewriting; None without one."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to be said of a colour that stays, but that may have been meant."""

    code: str
    detail: str
    swap: int


@dataclass(slots=True)
class ColourStep:
    """What one operator with these very operands does."""

    code: int
    fill: bool = True
    pen: ColourPen | None = None
    replacement: bytes | None = None
    numbers: tuple[float, ...] = ()
    name: str = ""
    lead: bytes = b""
    paints: tuple[bool, bool, bool] = (False, False, False)
    hits: int = 0
    remark: Remark | None = None
    """What is to be said of a fill that stays, unless it turns out to be a step of a flight."""
    told: bool = False
    readings: tuple[tuple[float, ...], ...] = ()
    """What readers may take misspelt operands for."""
    space: Space | None = None
    """The space that a misspelt operator names; None where it is the current one."""


@dataclass(slots=True)
class StepMemory:
    """What has been learned so far."""

    steps: dict[bytes, ColourStep] = field(default_factory=dict)
    pens: dict[tuple[Space, tuple[float, ...] | None], ColourPen] = field(default_factory=dict)


class Lexicon:
    """Tells what operators and colours mean under one set of resources.

    Parameters
    ----------
    table
        The swaps; None where nothing is to be rewritten.
    full
        Whether every colour has to be known, or only those that a swap may concern.
    memory
        Operands mean the same under all resources that redefine no device space: those share it.
    """

    def __init__(
        self,
        table: SwapTable | None,
        scope: Scope,
        around: Around,
        memory: StepMemory,
        *,
        full: bool,
    ) -> None:
        self._table = table
        self._scope = scope
        self._around = around
        self._finding = around.finding
        self._full = full
        self._pens = memory.pens
        self.steps = memory.steps

    def learn(self, token: bytes, digits: bytes, name: bytes | None, word: bytes) -> ColourStep:
        """Return, and keep, what an operator with its operands does."""
        lead = blank_before(token)
        numbers = numbers_in(digits)
        device = DEVICE_OPERATORS.get(word)
        if device is not None:
            step = self._device(device, numbers, lead)
            if step.code == BAD:
                step.readings = loose_readings(digits)
        else:
            code = _CODES[word]
            step = ColourStep(code, fill=word in _FILL_WORDS, lead=lead)
            if name is not None:
                step.name = name_in(name)
            step.numbers = numbers or ()
            if code == PAINT:
                step.paints = PAINT_OPERATORS[word]
            elif (code in (SPACE, STATE, CALL, SHADE) and name is None) or (
                code == SET and (numbers is None or not (numbers or name))
            ):
                step.code = BAD
                step.readings = loose_readings(digits) if code == SET else ()
        if len(self.steps) >= MEMO_SIZE:
            self.steps.clear()
        self.steps[token] = step
        return step

    def _device(
        self, device: tuple[str, int, bool], numbers: tuple[float, ...] | None, lead: bytes
    ) -> ColourStep:
        kind, count, fill = device
        space_kind, paint_kind = _KINDS[kind]
        space = self._scope.device[space_kind]
        if numbers is None or len(numbers) < count:
            return ColourStep(BAD, space=space)
        # Extra operands: renderers take the last ones.
        numbers = numbers[-count:]
        if (
            self._table is not None
            and not self._full
            and space.kind in DEVICE
            and self._table.passes_by(paint_kind, numbers)
        ):
            pen = self._plain_pen(space)
            return ColourStep(DEVICE_SET, fill, pen, numbers=numbers, lead=lead)
        colour = space.colour(numbers)
        mapped, remark = self._meant(colour)
        if remark is not None and not fill:
            self._finding(remark.code, remark.detail)
        return self._set(space, numbers, fill, lead, colour, mapped, remark)

    def _set(
        self,
        space: Space,
        numbers: tuple[float, ...],
        fill: bool,
        lead: bytes,
        colour: Colour,
        mapped: Mapped | None,
        remark: Remark | None = None,
    ) -> ColourStep:
        # Without a default space the rewritten stream is in the device space after k, rg, g.
        pen = ColourPen(space, colour, space, mapped)
        new = None
        if mapped is not None:
            pen.out = self.target(mapped)
            new = lead + self.setting(mapped, fill=fill)
        return ColourStep(
            DEVICE_SET, fill, pen, new, numbers, lead=lead, remark=remark if fill else None
        )

    def target(self, mapped: Mapped) -> Space:
        """Return the space in which a plain build is written.

        That is the device's own; where a default space would send it through a profile, the
        space of its plates by name, which no default space is for (ISO 32000-2, 8.6.5.6).
        """
        kind = mapped.paint.kind
        if self._scope.defaulted(kind) and kind is PaintKind.CMYK:
            plates = self._around.mixture(DEVICE[SpaceKind.CMYK], PROCESS_INKS)
            if plates is not None:
                return plates
        return DEVICE[SpaceKind(kind.value)]

    def setting(self, mapped: Mapped, *, fill: bool) -> bytes:
        """Return the operators that set a plain build."""
        space = self.target(mapped)
        if space.kind in DEVICE:
            return write_paint(mapped.paint, fill=fill)
        return write_paint(mapped.paint, fill=fill, name=self._scope.add_space(space))

    def flight_step(self, step: ColourStep, mapped: Mapped) -> ColourStep:
        """Return what a fill does that is a step of a flight, not a colour by itself."""
        assert step.pen is not None  # noqa: S101 - a set step has a pen
        space = step.pen.space
        colour = space.colour(step.numbers)
        return self._set(space, step.numbers, True, step.lead, colour, mapped)

    def _plain_pen(self, space: Space) -> ColourPen:
        """Return the one pen for all colours of a space that no swap is near to."""
        return self._pens.setdefault((space, ()), ColourPen(space, None, space))

    def pen(self, space: Space, numbers: tuple[float, ...] | None) -> ColourPen:
        """Return the pen of a colour in a space, the same each time; None is what ``cs`` sets."""
        known = self._pens.get((space, numbers))
        if known is None:
            initial = space.initial() if space.kind is not SpaceKind.UNKNOWN else None
            chosen = numbers if numbers is not None else initial
            colour = space.colour(chosen) if chosen is not None else None
            mapped = self.becomes(space, colour) if colour is not None else None
            out = self.target(mapped) if mapped else space
            known = self._pens[space, numbers] = ColourPen(space, colour, out, mapped)
        return known

    def old_among(self, readings: Sequence[tuple[float, ...]], space: Space) -> str | None:
        """Return the first colour among readings of misspelt operands that a swap changes."""
        if self._table is None or space.kind in (SpaceKind.UNKNOWN, SpaceKind.PATTERN):
            return None
        count = space.components
        colours = (space.colour(one[-count:]) for one in readings if len(one) >= count)
        return next((one.spoken for one in colours if self._table.of(one) is not None), None)

    def becomes(self, space: Space, colour: Colour) -> Mapped | None:
        """Return what is to become of a colour, None where it stays; report near misses."""
        mapped, remark = self._meant(colour)
        if remark is not None:
            self._finding(remark.code, remark.detail)
        if mapped is None and self._table is not None:
            return self._table.out_of(space.colorants, colour)
        return mapped

    def loses_inks(self, space: Space | None) -> bool:
        """Whether some inks of a space are to become process colour."""
        return (
            self._table is not None
            and space is not None
            and bool(self._table.gone(space.colorants))
        )

    def _meant(self, colour: Colour) -> tuple[Mapped | None, Remark | None]:
        table = self._table
        if table is None:
            return None, None
        mapped = table.of(colour)
        if mapped is None:
            if colour.inks and (why := table.why_inks_stay(colour)):
                self._finding("inks-not-rewritten", why)
            return None, _remark(table, colour)
        if not mapped.inks and self._scope.bars(mapped.paint.kind):
            plain = colour.as_device()
            words = f"{plain.spoken if plain else colour} should become {mapped.paint.spoken}"
            self._finding("default-space", words)
            return None, None
        return mapped, None


def _remark(table: SwapTable, colour: Colour) -> Remark | None:
    """Return what is to be said of a colour that stays, but that may have been meant."""
    plain = colour.as_device() if colour.paint is None else None
    meant = table.of_paint(plain) if plain is not None else None
    if plain is not None and meant is not None and meant.tint == 100:
        old = table.swaps[meant.swap].old
        why = "makes another colour of them"
        if colour.lab is None:
            fault = colour.through.fault if colour.through is not None else ""
            why = f"can't be read ({fault})" if fault else "can't be read"
        words = (
            f"{plain.spoken} has the numbers of {old.spoken}, but goes through a profile that "
            f"{why}, so it stays"
        )
        return Remark("profiled-colour", words, meant.swap)
    near = table.near_miss(colour)
    if near is None:
        swap = table.rewritten_of(colour.paint) if colour.paint is not None else None
        if colour.paint is None or swap is None:
            return None
        changes = table.swaps[swap]
        said = said_of_rewritten(colour.paint, changes.old, changes.name)
        return Remark("rewritten-colour", said, swap)
    old = table.swaps[near.swap].old
    if colour.lab is not None:
        spoken = f"{plain.spoken} with a profile" if plain is not None else colour.spoken
        words = f"{spoken} looks almost like {old.spoken}, which changes ({near.distance:.1f} ΔE00)"
    else:
        words = f"{colour.spoken} is {near.distance:.3g} off {old.spoken}, which changes"
    return Remark("near-miss", words, near.swap)
