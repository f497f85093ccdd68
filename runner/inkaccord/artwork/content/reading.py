"""What comes of following one content stream, and what it asks of the document around it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any, Protocol

from inkaccord.artwork.content.graphics_state import ColourPen, ColourState, Overprint
from inkaccord.artwork.content.scan import InlineImage
from inkaccord.artwork.content.steps import Around, ColourStep
from inkaccord.pdf.colours.scope import Scope


class Guide(Around, Protocol):
    """What a content stream needs from the document around it."""

    def call(
        self, target: Any, state: ColourState, scope: Scope, reading: ColourReading
    ) -> tuple[str | None, frozenset[str]]:
        """Follow ``Do`` of a form.

        Return the name by which the rewritten stream has to call it, if another, and which
        parts of the state made a difference inside.
        """

    def inline(
        self, data: bytes, image: InlineImage, scope: Scope, reading: ColourReading
    ) -> bytes | None:
        """Look at an inline image; return its new entries (between BI and ID) if they change."""


FillSet = tuple[int, ColourStep]
"""Where a device colour is set for filling, and what that does."""
FILL, STROKE, OVERPRINT = "fill", "stroke", "overprint"
AGAIN = "again"
"""That the very colour it was called with made a difference, not only its space."""


@dataclass(slots=True)
class ColourReading:
    """What came of following one content stream."""

    edits: list[tuple[int, int, bytes]] = field(default_factory=list)
    painted: Counter[tuple[ColourPen, str, Overprint]] = field(default_factory=Counter)
    """Pen, role, overprint: how many objects."""
    chosen: dict[ColourPen, bool] = field(default_factory=dict)
    """Every colour that was set, and whether for filling; painted with or not."""
    fills: list[FillSet | None] = field(default_factory=list)
    """The device colours that are set for filling, in order; None where anything else may paint."""
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
