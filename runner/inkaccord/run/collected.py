"""What collecting gives: the colours of every artwork."""

from enum import StrEnum

from pydantic import Field

from inkaccord.artwork.programs import ProgramKind
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.order.model import Order
from inkaccord.pdf.colours.spaces import SpaceKind

INKS_UNKNOWN = (
    "what it prints in can't be known: its artwork asks for another kind of colour than the device "
    "prints"
)
"""Why a piece fails whose pages are converted before they are printed."""


SIGNATURE_BREAKS = "its artwork is signed, and recolouring would break the signature"
"""Why a signed piece fails until the order lets the signature go."""


class FoundAs(StrEnum):
    """What a colour in an artwork turned out to be."""

    BRAND = "brand"
    """A brand colour of the order, or a tint of one."""
    KEPT = "kept"
    """Paper white, black, or named under ``keep``."""
    FINISH = "finish"
    """The plate of a finish: white, foil, a die line; ``colour`` is its name in the order."""
    NEAR_MISS = "near-miss"
    """Almost a brand colour: a slip of the designer's."""
    UNKNOWN = "unknown"
    """None of these."""

    @property
    def stays(self) -> bool:
        """Whether it is meant to stay as it is."""
        return self in {FoundAs.KEPT, FoundAs.FINISH}


class FoundColour(Frozen):
    """One colour of an artwork."""

    text: str
    """How the file writes it."""
    paint: Paint | None
    """The same as a value; None for what no paint describes (a pattern's, a photograph's)."""
    found_as: FoundAs
    colour: str | None = None
    """The brand colour it is, or nearly is; of a plate its finish."""
    tint: float = 100.0
    """Tint of the brand colour in percent."""
    profiled: bool = Field(default=False, exclude=True)
    """Whether a profile stands between its numbers and the ink, and counts."""
    look: Paint | None = Field(default=None, exclude=True)
    """What such a profile says that it looks like, in CIELAB."""
    shown: bool = Field(default=True, exclude=True)
    """Whether any of it is not on a layer that is switched off."""
    area_mm2: float = 0.0
    pages: tuple[int, ...] = ()
    roles: tuple[str, ...] = ()

    @property
    def spoken(self) -> str:
        """The colour as a person would write it; how the file writes it where no paint is."""
        return self.text if self.paint is None else self.paint.spoken


class PieceArtwork(Frozen):
    """What a piece's artwork contains."""

    piece: str
    path: str
    sha256: str
    pages: int
    photographs: int
    colours: tuple[FoundColour, ...]
    program: ProgramKind = Field(default=ProgramKind.UNKNOWN, exclude=True)
    """What kind of program made it."""
    groups: tuple[SpaceKind, ...] = Field(default=(), exclude=True)
    """The spaces that its pages mix their colours in."""
    signed: bool = Field(default=False, exclude=True)
    """Whether it carries a signature, which recolouring breaks."""

    def mixes_elsewhere(self, drive: Drive) -> bool:
        """Whether a page mixes its colours in another kind than a device is driven in."""
        return any(kind.value != drive.value for kind in self.groups)

    @property
    def brand_colours(self) -> tuple[str, ...]:
        """The brand colours that the piece carries, each once, largest area first."""
        found = [it for it in self.colours if it.found_as is FoundAs.BRAND and it.colour]
        found.sort(key=lambda it: -it.area_mm2)
        return tuple(dict.fromkeys(it.colour for it in found if it.colour))

    @property
    def finishes(self) -> tuple[str, ...]:
        """The finishes that the piece carries, each once."""
        found = (it.colour for it in self.colours if it.found_as is FoundAs.FINISH and it.colour)
        return tuple(dict.fromkeys(found))


class Collected(Frozen):
    """The colours of the order and of its artwork."""

    artworks: tuple[PieceArtwork, ...]
    failed: dict[str, str] = Field(default_factory=dict)
    """Pieces whose artwork can't be used, and why."""
    inks_unknown: frozenset[str] = frozenset()
    """Pieces whose pages are converted to another kind of colour before they are printed, so that
    no distance can be told of them; also those of which the order lets that be."""
    findings: tuple[Diagnostic, ...] = ()

    def of(self, piece: str) -> PieceArtwork:
        """Return a piece's artwork. Raises KeyError."""
        for artwork in self.artworks:
            if artwork.piece == piece:
                return artwork
        raise KeyError(piece)


def colours_on_pairs(order: Order, collected: Collected) -> dict[Pair, tuple[str, ...]]:
    """Return the brand colours that each pair has to print, in the order of the file."""
    needed: dict[Pair, set[str]] = {pair: set() for pair in order.pairs()}
    for name, job in order.jobs.items():
        needed[job.pair].update(collected.of(name).brand_colours)
    return {
        pair: tuple(colour for colour in order.colours if colour in colours)
        for pair, colours in needed.items()
    }
