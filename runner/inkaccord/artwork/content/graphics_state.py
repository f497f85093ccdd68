"""What the graphics state says about colour (ISO 32000-2, 8.4), before and after rewriting."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.spaces import DEVICE, DEVICE_GRAY, Colour, Space, SpaceKind
from inkaccord.pdf.entries import entry

if TYPE_CHECKING:  # where nothing changes there is no table
    from inkaccord.artwork.swap_table import Mapped, SwapTable


@dataclass(slots=True, eq=False)
class ColourPen:
    """The current colour for filling or stroking. Compared by identity."""

    space: Space
    colour: Colour | None
    out: Space
    """The space that the rewritten stream is in at this point."""
    mapped: Mapped | None = None
    pattern: str | None = None
    inherited: bool = False
    """Set by whoever called this stream, and not yet again."""

    @property
    def kind(self) -> SpaceKind:
        """The kind of what is painted: of an uncoloured pattern, the kind of its own colour."""
        return (self.space.base or self.space).kind if self.pattern else self.space.kind


@dataclass(frozen=True, slots=True)
class Overprint:
    """The overprint switches (ISO 32000-2, 8.6.7)."""

    stroke: bool = False
    fill: bool = False
    mode: int = 0

    def after(self, settings: Any) -> Overprint:
        """Return the switches as an ExtGState dictionary leaves them."""
        stroke, fill, mode = self.stroke, self.fill, self.mode
        if "/OP" in settings:
            stroke = fill = bool(settings["/OP"])
        if "/op" in settings:
            fill = bool(settings["/op"])
        if isinstance(entry(settings, "/OPM"), int):
            mode = int(settings["/OPM"])
        return Overprint(stroke, fill, mode)


NO_OVERPRINT = Overprint()
Muted = tuple[bool, bool, bool]
"""What the rewritten stream has switched off: overprint for fill, for stroke, and mode 1."""
NOT_MUTED: Muted = (False, False, False)
STALE: Muted = (True, True, True)
"""What the stream has is not known: switches were set by the file itself."""


@dataclass(frozen=True, slots=True)
class ColourState:
    """What a content stream starts from."""

    fill: ColourPen
    stroke: ColourPen
    overprint: Overprint = NO_OVERPRINT
    muted: Muted = NOT_MUTED
    text_mode: int = 0


def first_state(table: SwapTable | None = None, gray: Space = DEVICE_GRAY) -> ColourState:
    """Return the state in which a page or pattern begins: black in DeviceGray.

    ``gray`` is what DeviceGray means there, which a default space can change.
    """
    colour = gray.colour((0.0,))
    mapped = table.of(colour) if table is not None else None
    out = DEVICE[SpaceKind(mapped.paint.kind.value)] if mapped else gray
    return ColourState(ColourPen(gray, colour, out, mapped), ColourPen(gray, colour, out, mapped))


def inherited(pen: ColourPen) -> ColourPen:
    """Return the pen as a called stream receives it."""
    return replace(pen, inherited=True)


def overprint_changes(pen: ColourPen, overprint: Overprint) -> bool:
    """Whether swapping this colour changes what an overprint lets show through.

    Under overprint mode 1 a DeviceCMYK component of zero leaves what lies below; other spaces
    knock out (see :func:`knocks_out`). A spot overprints every other plate and as process colour
    stops doing so; a mixture of inks leaves every plate that it does not name.
    """
    if pen.mapped is None or pen.colour is None:
        return False
    new = pen.mapped.paint
    if pen.kind is SpaceKind.CMYK:
        if overprint.mode != 1:
            return False
        old = pen.colour.paint.values if pen.colour.paint else ()
        if new.kind is not PaintKind.CMYK:
            return 0 in old
        return any((a == 0) != (b == 0) for a, b in zip(old, new.values, strict=False))
    if pen.mapped.inks:
        return {name for name, _ in pen.mapped.inks} != set(pen.space.colorants)
    return pen.kind in _NAMED_INKS


def knocks_out(pen: ColourPen, overprint: Overprint) -> bool:
    """Whether a colour painted all process inks, and as CMYK would leave some under mode 1.

    So does RGB, gray and all that goes through a profile (ISO 32000-2, 8.6.7): a white would
    vanish, and what it covered appear. In mode 0 it paints them all, and leaves spots as before.
    """
    mapped = pen.mapped
    return (
        mapped is not None
        and overprint.mode == 1
        and pen.kind is not SpaceKind.CMYK
        and pen.kind not in _NAMED_INKS
        and mapped.paint.kind is PaintKind.CMYK
        and 0 in mapped.paint.values
    )


def needs_mode(pen: ColourPen) -> bool:
    """Whether what a colour becomes leaves inks under mode 1 that it is to leave.

    A CMYK build does, and a spot that becomes one: with mode 0 it would cover them.
    """
    if pen.mapped is None:
        return pen.kind is SpaceKind.CMYK
    becomes_cmyk = pen.mapped.paint.kind is PaintKind.CMYK and not pen.mapped.inks
    return becomes_cmyk and pen.kind in {SpaceKind.CMYK, *_NAMED_INKS}


_NAMED_INKS = (SpaceKind.SPOT, SpaceKind.DEVICEN)
