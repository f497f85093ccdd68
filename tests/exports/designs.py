"""Ten designs as plain values, for every writer to put into its own program's words.

Lengths are millimetres from the top left corner of the trim; bleed is outside it, so marks that
bleed have negative places. Colours stand in three kinds, and a writer takes the one that its
program can write. Everything is invented: the Boathouse Museum and its colours.
"""

from dataclasses import dataclass, replace
from typing import Literal

BLEED_MM = 3.0


@dataclass(frozen=True)
class Colour:
    """A colour in each kind that a program may write: percent, 255ths, or a spot's name."""

    name: str
    cmyk: tuple[float, float, float, float]
    rgb: tuple[int, int, int]
    spot: str | None = None


KELP = Colour("kelp", (85, 20, 60, 30), (20, 92, 78))
LANTERN = Colour("lantern", (0, 38, 88, 2), (240, 158, 40))
SLATE = Colour("slate", (55, 30, 25, 45), (74, 88, 97), "Slate")
SKY = Colour("sky", (40, 5, 0, 0), (150, 205, 235))
BLACK = Colour("black", (0, 0, 0, 100), (0, 0, 0))
RICH = Colour("rich", (60, 40, 40, 100), (10, 8, 8))
WHITE = Colour("white", (0, 0, 0, 0), (255, 255, 255))
COLOURS = (KELP, LANTERN, SLATE, SKY, BLACK, RICH, WHITE)
BRANDS = (KELP, LANTERN, SLATE)

SWAPPED = {
    KELP: Colour("kelp", (78, 12, 55, 41), (32, 70, 116)),
    LANTERN: Colour("lantern", (4, 60, 70, 0), (226, 110, 62)),
    SLATE: Colour("slate", (20, 45, 35, 50), (104, 70, 84), "Slate"),
}
"""What the brand colours become in an export's twin, which shows what recolouring must give."""


@dataclass(frozen=True)
class Flat:
    """One colour, or a tint of it (1 is the solid)."""

    colour: Colour
    tint: float = 1.0

    @property
    def cmyk(self) -> tuple[float, ...]:
        return tuple(round(part * self.tint, 2) for part in self.colour.cmyk)

    @property
    def rgb(self) -> tuple[int, ...]:
        # Halves go up, as programs round them.
        return tuple(int(255.5 - (255 - part) * self.tint) for part in self.colour.rgb)

    @property
    def hex(self) -> str:
        return "#{:02x}{:02x}{:02x}".format(*self.rgb)


@dataclass(frozen=True)
class Blend:
    """A gradient from left to right, or from the middle outwards; stops by share of the way."""

    stops: tuple[tuple[float, Flat], ...]
    form: Literal["linear", "radial"] = "linear"


@dataclass(frozen=True)
class Dots:
    """A pattern of round dots on a ground: one dot of half the step's width in each square."""

    front: Flat
    ground: Flat
    step: float = 4.0


@dataclass(frozen=True)
class Photo:
    """A generated photograph, by the name of its file."""

    name: str


Paint = Flat | Blend | Dots | Photo


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True)
class Disc:
    x: float
    y: float
    r: float

    @property
    def box(self) -> Box:
        return Box(self.x - self.r, self.y - self.r, 2 * self.r, 2 * self.r)


@dataclass(frozen=True)
class Frame:
    """The outline of a box, drawn with a line of this width on both sides of its edge."""

    x: float
    y: float
    w: float
    h: float
    line: float


@dataclass(frozen=True)
class Words:
    """A line of text from its left end on the baseline; ``outlined`` makes curves of it."""

    x: float
    y: float
    size_pt: float
    text: str
    outlined: bool = False


Shape = Box | Disc | Frame | Words


@dataclass(frozen=True)
class Mark:
    """A shape with what it is painted with and how."""

    shape: Shape
    paint: Paint
    opacity: float = 1.0
    blur: float = 0.0
    multiply: bool = False
    overprint: bool = False
    clip: Disc | None = None


@dataclass(frozen=True)
class Design:
    name: str
    width: float
    height: float
    marks: tuple[Mark, ...]


def swapped(design: Design) -> Design:
    """Return the design as it would be drawn in the colours that its brand colours become."""
    return Design(
        design.name,
        design.width,
        design.height,
        tuple(replace(mark, paint=_swapped_paint(mark.paint)) for mark in design.marks),
    )


def _swapped_paint(paint: Paint) -> Paint:
    if isinstance(paint, Flat):
        return replace(paint, colour=SWAPPED.get(paint.colour, paint.colour))
    if isinstance(paint, Blend):
        return replace(paint, stops=tuple((at, _swapped_flat(stop)) for at, stop in paint.stops))
    if isinstance(paint, Dots):
        return replace(paint, front=_swapped_flat(paint.front), ground=_swapped_flat(paint.ground))
    return paint


def _swapped_flat(flat: Flat) -> Flat:
    return replace(flat, colour=SWAPPED.get(flat.colour, flat.colour))


def flats(design: Design) -> list[Flat]:
    """Return every flat colour of a design, gradients' stops and patterns' colours too."""
    found: list[Flat] = []
    for mark in design.marks:
        match mark.paint:
            case Flat():
                found.append(mark.paint)
            case Blend(stops=stops):
                found += [stop for _, stop in stops]
            case Dots(front=front, ground=ground):
                found += [front, ground]
    return list(dict.fromkeys(found))


def _bleed_box(width: float, height: float) -> Box:
    return Box(-BLEED_MM, -BLEED_MM, width + 2 * BLEED_MM, height + 2 * BLEED_MM)


def _ramp(*stops: Flat, form: Literal["linear", "radial"] = "linear") -> Blend:
    last = len(stops) - 1
    return Blend(tuple((place / last, stop) for place, stop in enumerate(stops)), form)


kelp, lantern, slate = Flat(KELP), Flat(LANTERN), Flat(SLATE)
sky, black, rich, white = Flat(SKY), Flat(BLACK), Flat(RICH), Flat(WHITE)

INVITATION = Design(
    "invitation",
    127,
    178,
    (
        Mark(Box(-3, -3, 133, 63), kelp),
        Mark(Words(14, 34, 22, "The Boathouse Museum"), white),
        Mark(Disc(63.5, 60, 11), lantern),
        Mark(Box(10, 84, 107, 30), Flat(KELP, 0.3)),
        Mark(Words(16, 102, 15, "Members' evening"), kelp),
        Mark(Words(16, 124, 11, "Friday at seven, at the slipway"), black),
        Mark(Words(16, 134, 11, "Lanterns will be lit at nine"), slate),
        Mark(Frame(8, 118, 111, 52, 0.7), slate),
    ),
)

REPLY_CARD = Design(
    "reply-card",
    140,
    108,
    (
        Mark(Box(-3, -3, 20, 114), slate),
        Mark(Box(26, 16, 100, 12), Flat(LANTERN, 0.5)),
        Mark(Words(30, 24, 14, "Will you come?"), black),
        Mark(Frame(30, 40, 5, 5, 0.35), kelp),
        Mark(Words(40, 44, 11, "with pleasure"), kelp),
        Mark(Frame(30, 52, 5, 5, 0.35), kelp),
        Mark(Words(40, 56, 11, "another time"), kelp),
        Mark(Box(30, 74, 90, 0.3), black),
        Mark(Words(30, 80, 7, "name"), Flat(BLACK, 0.5)),
    ),
)

ENVELOPE = Design(
    "envelope",
    184.15,
    133.35,
    (
        Mark(Box(-3, 113, 190.15, 23.35), kelp),
        Mark(Box(-3, 109, 190.15, 2), lantern),
        Mark(Words(10, 16, 10, "Boathouse Museum, North Quay"), slate),
    ),
)

PROGRAMME = Design(
    "programme",
    216,
    140,
    (
        Mark(Box(-3, -3, 75, 146), _ramp(kelp, Flat(KELP, 0.2))),
        Mark(Box(84, 14, 60, 40), Photo("harbour")),
        Mark(Words(84, 70, 16, "Programme", outlined=True), kelp),
        Mark(Words(84, 84, 10, "Seven: the doors open"), black),
        Mark(Words(84, 92, 10, "Eight: songs of the quay"), black),
        Mark(Words(84, 100, 10, "Nine: the lanterns"), lantern),
        Mark(Box(84, 110, 118, 14), Flat(SLATE, 0.4)),
        Mark(Words(90, 119, 10, "Boats leave from the slipway"), white),
    ),
)

TAG = Design(
    "tag",
    51,
    89,
    (
        Mark(_bleed_box(51, 89), lantern),
        Mark(Disc(25.5, 12, 4), white),
        Mark(Words(9, 50, 16, "Lantern"), black),
        Mark(Box(8, 56, 35, 10), kelp),
        Mark(Words(12, 63, 11, "No. 9", outlined=True), white),
    ),
)

BLENDS = Design(
    "blends",
    120,
    120,
    (
        Mark(Box(8, 6, 104, 12), _ramp(kelp, lantern)),
        Mark(Box(8, 22, 104, 12), _ramp(kelp, lantern, slate)),
        Mark(Disc(30, 60, 20), _ramp(lantern, white, form="radial")),
        Mark(Disc(86, 60, 20), _ramp(lantern, kelp, form="radial")),
        Mark(Box(8, 86, 104, 8), _ramp(kelp, white)),
        Mark(Box(8, 97, 104, 8), _ramp(kelp, sky)),
        Mark(Box(8, 108, 104, 8), _ramp(kelp, Flat(KELP, 0.2))),
    ),
)

MAP = Design(
    "map",
    120,
    100,
    (
        Mark(_bleed_box(120, 100), sky),
        Mark(Box(8, 8, 44, 40), Dots(kelp, Flat(LANTERN, 0.3))),
        Mark(Box(60, 8, 52, 40), lantern, clip=Disc(86, 28, 18)),
        Mark(Box(8, 56, 44, 36), kelp),
        Mark(Disc(52, 74, 12), lantern, opacity=0.6),
        Mark(Box(70, 56, 42, 14), lantern),
        Mark(Box(84, 62, 20, 24), kelp, multiply=True),
        Mark(Words(12, 66, 10, "North Quay"), white),
    ),
)

MENU = Design(
    "menu",
    100,
    150,
    (
        Mark(Box(14, 14, 72, 40), black, opacity=0.5, blur=2),
        Mark(Box(12, 12, 72, 40), lantern),
        Mark(Disc(32, 82, 14), kelp, blur=3),
        Mark(Box(54, 70, 34, 24), Flat(KELP, 0.5), blur=1.5),
        Mark(Words(14, 118, 14, "Soup, bread, plums"), kelp),
        Mark(Words(14, 130, 14, "Quay coffee"), kelp, blur=0.4),
        Mark(Words(14, 142, 10, "from seven"), black),
    ),
)

POSTCARD = Design(
    "postcard",
    148,
    105,
    (
        Mark(Box(-3, -3, 154, 66), Photo("harbour")),
        Mark(Disc(30, 60, 16), kelp),
        Mark(Box(70, 70, 30, 24), Photo("profiled")),
        Mark(Box(106, 66, 34, 34), Photo("grey"), clip=Disc(123, 83, 14)),
        Mark(Words(16, 62, 12, "The quay"), white),
        Mark(Words(8, 98, 9, "Boathouse Museum"), lantern),
    ),
)

TICKET = Design(
    "ticket",
    150,
    60,
    (
        Mark(Box(-3, -3, 40, 66), slate),
        Mark(Box(37, -3, 30, 66), Flat(SLATE, 0.3)),
        Mark(Box(72, 6, 30, 12), kelp),
        Mark(Box(80, 12, 30, 12), black, overprint=True),
        Mark(Box(116, 6, 28, 20), rich),
        Mark(Words(118, 18, 12, "No. 14"), white),
        Mark(Words(6, 32, 14, "Ticket", outlined=True), white),
        Mark(Box(72, 30, 20, 8), Flat(BLACK, 0.6)),
        Mark(Box(94, 30, 20, 8), Flat(BLACK, 0.2)),
        Mark(Words(72, 50, 12, "Row A"), kelp),
        Mark(Words(98, 50, 12, "Seat 14"), black, overprint=True),
        Mark(Frame(70, 42, 74, 13, 0.1), lantern),
    ),
)

DESIGNS = {
    design.name: design
    for design in (
        INVITATION,
        REPLY_CARD,
        ENVELOPE,
        PROGRAMME,
        TAG,
        BLENDS,
        MAP,
        MENU,
        POSTCARD,
        TICKET,
    )
}
