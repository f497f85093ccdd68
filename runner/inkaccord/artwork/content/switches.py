"""The overprint switches of a rewritten stream, so that nothing shows through that did not before.

A new colour may let through, or cover, what the old one did not (ISO 32000-2, 8.6.7). Where that is
so, or where it is asked for, switches of our own go behind the operator that chose it, and the
file's own stand again around what has colours of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

import pikepdf

from inkaccord.artwork.content.graphics_state import (
    NOT_MUTED,
    ColourPen,
    Muted,
    Overprint,
    knocks_out,
    needs_mode,
    overprint_changes,
)
from inkaccord.artwork.content.reading import FILL, OVERPRINT, STROKE, ColourReading, Guide
from inkaccord.pdf.colours.scope import Scope


class Switches:
    """Sets the switches of one stream."""

    def __init__(self, scope: Scope, guide: Guide, reading: ColourReading, *, mute: bool) -> None:
        self._scope = scope
        self._guide = guide
        self._reading = reading
        self._mute = mute

    def settle(
        self, fill: ColourPen, stroke: ColourPen, overprint: Overprint, muted: Muted, end: int
    ) -> Muted:
        """Set the switches so that nothing shows through that did not; return how they are."""
        pens = ((fill, overprint.fill), (stroke, overprint.stroke))
        changes = [on and overprint_changes(pen, overprint) for pen, on in pens]
        opaque = [on and knocks_out(pen, overprint) for pen, on in pens]
        off = [self._mute and change for change in changes]
        # There is one mode for both: where the other needs it as it is, overprint itself goes off.
        apart = any(opaque) and any(
            on and needs_mode(pen) for (pen, on), gone in zip(pens, off, strict=True) if not gone
        )
        off = [gone or (apart and covers) for gone, covers in zip(off, opaque, strict=True)]
        for (pen, _), change, muting in zip(pens, changes, off, strict=True):
            if change or muting:
                self._guide.finding(
                    "overprint-switched-off" if muting else "overprint-changes",
                    f"{pen.colour} becomes {pen.mapped.paint if pen.mapped else ''}",
                )
        for part, (pen, on) in zip((FILL, STROKE), pens, strict=True):
            if on and pen.inherited:  # what is overprinted with depends on the caller's colour
                self._reading.consulted |= {part, OVERPRINT}
        wanted: Muted = (off[0], off[1], any(opaque) and not apart)
        if wanted == muted:
            return muted
        self._reading.edits.append((end, end, self._operator(overprint, wanted)))
        return wanted if any(wanted) else NOT_MUTED

    def around(
        self,
        overprint: Overprint,
        muted: Muted,
        start: int,
        end: int,
        edits: Sequence[tuple[int, int, bytes]] = (),
    ) -> None:
        """Let what has colours of its own overprint as ever, where a fill has switched that off."""
        if muted[0] or muted[2]:
            before, after = (self._operator(overprint, one) for one in (NOT_MUTED, muted))
            edits = [(start, start, before + b" "), *edits, (end, end, after)]
        self._reading.edits += edits

    def _operator(self, overprint: Overprint, muted: Muted) -> bytes:
        """Return the operator that sets the switches, but for what is off."""
        fill, stroke = overprint.fill and not muted[0], overprint.stroke and not muted[1]
        mode = 0 if muted[2] else overprint.mode
        name = self._scope.add(
            "/ExtGState",
            (fill, stroke, mode),
            lambda: pikepdf.Dictionary(OP=stroke, op=fill, OPM=mode),
        )
        return b" " + name.encode() + b" gs"
