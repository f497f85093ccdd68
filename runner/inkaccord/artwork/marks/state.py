"""The graphics state of PDF content, as far as marks need it (ISO 32000-2, 8.4)."""

from __future__ import annotations

from dataclasses import dataclass

import pikepdf

from inkaccord.artwork.content.graphics_state import NO_OVERPRINT, Overprint
from inkaccord.pdf.colours.colours import BLACK, ArtworkColour
from inkaccord.pdf.colours.spaces import DEVICE_GRAY, Space
from inkaccord.pdf.geometry import Bounds, Matrix
from inkaccord.pdf.typefaces import Typeface


@dataclass(slots=True)
class Ink:
    """A current colour: a space, the colour in it, and for patterns the pattern."""

    space: Space
    colour: ArtworkColour
    pattern: pikepdf.Object | None = None


def black_ink() -> Ink:
    """Return the initial colour of every page: black (ISO 32000-2, table 51)."""
    return Ink(DEVICE_GRAY, BLACK)


@dataclass(frozen=True, slots=True)
class Mixing:
    """How what is painted is mixed with what lies below it (ISO 32000-2, 11.3)."""

    thin_fill: bool = False
    """Opacity below 1; so ``thin_stroke``."""
    thin_stroke: bool = False
    masked: bool = False
    modes: frozenset[str] = frozenset()
    """Blend modes other than the normal one."""

    @property
    def see_through(self) -> bool:
        """Whether what lies below may show."""
        return self.thin_fill or self.thin_stroke or self.masked or bool(self.modes)

    def after(self, settings: pikepdf.Dictionary) -> Mixing:
        """Return it as an ExtGState dictionary leaves it."""
        thin_fill, thin_stroke = (
            float(settings[key]) < 1 if key in settings else was
            for key, was in (("/ca", self.thin_fill), ("/CA", self.thin_stroke))
        )
        masked = str(settings["/SMask"]) != "/None" if "/SMask" in settings else self.masked
        mode = settings.get("/BM")
        if isinstance(mode, pikepdf.Array):
            mode = mode[0] if len(mode) else None
        modes = self.modes if mode is None else frozenset({str(mode)[1:]}) - _NORMAL
        return Mixing(thin_fill, thin_stroke, masked, modes)

    def joined(self, other: Mixing) -> Mixing:
        """Return what both together do; each mark has one, and nearly all share the first."""
        if not other.see_through:
            return self
        return Mixing(
            self.thin_fill or other.thin_fill,
            self.thin_stroke or other.thin_stroke,
            self.masked or other.masked,
            self.modes | other.modes,
        )


OPAQUE = Mixing()
_NORMAL = frozenset({"Normal", "Compatible"})


@dataclass(slots=True)
class PageState:
    """What ``q`` keeps and ``Q`` brings back."""

    ctm: Matrix
    clip: Bounds
    fill: Ink
    stroke: Ink
    line_width: float = 1.0
    font: Typeface | None = None
    font_object: pikepdf.Dictionary | None = None
    size: float = 0.0
    character_space: float = 0.0
    word_space: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    text_mode: int = 0
    mixing: Mixing = OPAQUE
    group_mixing: Mixing = OPAQUE
    """Of the groups that are open, all together."""
    overprint: Overprint = NO_OVERPRINT

    def take(self, settings: pikepdf.Dictionary) -> None:
        """Take over an ExtGState dictionary's entries, save its font."""
        if "/LW" in settings:
            self.line_width = abs(float(settings["/LW"]))
        self.overprint = self.overprint.after(settings)
        self.mixing = self.mixing.after(settings)

    def open_group(self) -> None:
        """Begin a transparency group: it is mixed as a whole, what is in it starts afresh."""
        self.group_mixing, self.mixing = self.mixed, OPAQUE

    @property
    def mixed(self) -> Mixing:
        """How the next mark is mixed, its groups' mixing included."""
        return self.group_mixing.joined(self.mixing)
