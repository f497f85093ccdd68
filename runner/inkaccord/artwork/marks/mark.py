"""Marks: everything that a page paints, with its colour, place and size, as values."""

from dataclasses import dataclass, replace

from inkaccord.artwork.roles import Role
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.typefaces import Typeface
from inkaccord.sizes import Box

OWN_COLOURS = "its own colours"
"""The space of a picture that names none in the file: its data do."""


@dataclass(frozen=True, slots=True)
class PlacedPicture:
    """The facts of an image that was painted."""

    width_px: int
    height_px: int
    bits: int
    space: str
    """In words: :func:`~inkaccord.pdf.colours.colours.space_name`, or ``OWN_COLOURS``."""
    filters: tuple[str, ...]
    ppi: tuple[float, float]
    """Pixels per inch at final size, along and across."""
    masked: bool
    soft_mask: bool = False
    inline: bool = False
    key: tuple[int, int] = (0, 0)
    """Object and generation number, to count one image once."""

    @property
    def pixel_space(self) -> str:
        """The space of its pixels, in words: where they are taken from a table, the table's."""
        return self.space.removeprefix("table of ")


@dataclass(frozen=True, slots=True)
class Mark:
    """One painted thing, in page points (UserUnit multiplied in), on an unrotated page.

    ``see_through`` says that what lies underneath may show: alpha, a soft mask or a blend mode
    (the mark's own or its group's). ``where`` names the way to it, such as ``form /Fm0``.
    """

    page: int
    role: Role
    colour: ArtworkColour
    box: Box
    where: tuple[str, ...] = ()
    line_width_pt: float | None = None
    text_size_pt: float | None = None
    text: bytes = b""
    typeface: Typeface | None = None
    picture: PlacedPicture | None = None
    overprint: bool = False
    overprint_mode: int = 0
    see_through: bool = False
    blend_modes: frozenset[str] = frozenset()
    """Other than the normal one, its groups' too."""
    layer: str | None = None
    layer_shown: bool = True

    def at(self, box: Box) -> "Mark":
        """Return the same mark with another box."""
        return replace(self, box=box)

    def as_text(self, box: Box, text: bytes, size_pt: float, typeface: Typeface | None) -> "Mark":
        """Return a mark inside a Type 3 glyph as text that was shown."""
        return replace(
            self, role=Role.TEXT, box=box, text=text, text_size_pt=size_pt, typeface=typeface
        )
