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
    see_through: bool = False
    group_see_through: bool = False
    overprint: Overprint = NO_OVERPRINT

    def take(self, settings: pikepdf.Dictionary) -> None:
        """Take over an ExtGState dictionary's entries, save its font."""
        if "/LW" in settings:
            self.line_width = abs(float(settings["/LW"]))
        self.overprint = self.overprint.after(settings)
        self.see_through = _sees_through(settings, was=self.see_through)


def _sees_through(settings: pikepdf.Dictionary, *, was: bool) -> bool:
    said = [float(settings[key]) < 1 for key in ("/ca", "/CA") if key in settings]
    mode = settings.get("/BM")
    if mode is not None:
        first = mode[0] if isinstance(mode, pikepdf.Array) and len(mode) else mode
        said.append(str(first) not in {"/Normal", "/Compatible"})
    if "/SMask" in settings:
        said.append(str(settings["/SMask"]) != "/None")
    return any(said) if said else was
