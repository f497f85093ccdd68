"""What the suite is drawn with: boathouse, lantern, waves, crest, monogram. All Bézier curves."""

from collections.abc import Callable
from dataclasses import dataclass

from reportlab.pdfgen.pathobject import PDFPathObject

from studio.inks import Ink
from studio.page import FINE, SERIF_LIGHT, Artwork

_EVEN_ODD = 0
_ROUND = 1
_SWELL = 0.3642
"""Where the handles of a half wave lie so that it runs like a sine."""


@dataclass(frozen=True)
class Palette:
    """The inks of one drawing."""

    wood: Ink
    glow: Ink
    water: Ink


def wave_line(
    path: PDFPathObject, x0: float, x1: float, y: float, length: float, rise: float
) -> None:
    """Continue a path with waves from ``x0`` to about ``x1``, starting in a trough at ``y``."""
    half = length / 2
    x, up = x0, True
    while x < x1 - 1e-6:
        low, high = (y, y + rise) if up else (y + rise, y)
        path.curveTo(x + _SWELL * half, low, x + (1 - _SWELL) * half, high, x + half, high)
        x, up = x + half, not up


def water(
    art: Artwork,
    x0: float,
    x1: float,
    top: float,
    bottom: float,
    *,
    ink: Ink,
    length: float,
    rise: float,
    shift: float = 0.0,
) -> None:
    """Fill a sheet of water with a waved top, cut off clean at ``x0`` and ``x1``."""
    canvas = art.canvas
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(x0, bottom, x1 - x0, top + rise - bottom)
    canvas.clipPath(frame, stroke=0, fill=0)
    start = x0 - shift % length
    end = start + length * (int((x1 - start) / length) + 1)
    path = canvas.beginPath()
    path.moveTo(start, bottom)
    path.lineTo(start, top)
    wave_line(path, start, end, top, length, rise)
    path.lineTo(end, bottom)
    path.close()
    canvas.setFillColor(ink)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


def wave_rule(
    art: Artwork,
    x0: float,
    x1: float,
    y: float,
    *,
    ink: Ink,
    length: float = 12.0,
    rise: float = 2.2,
    weight: float = 0.6,
) -> None:
    """Draw one line of waves, the suite's ornament; whole waves about its middle."""
    count = max(1, round((x1 - x0) / length))
    start = (x0 + x1) / 2 - count * length / 2
    canvas = art.canvas
    canvas.saveState()
    canvas.setStrokeColor(ink)
    canvas.setLineWidth(weight)
    canvas.setLineCap(_ROUND)
    path = canvas.beginPath()
    path.moveTo(start, y - rise / 2)
    wave_line(path, start, start + count * length, y - rise / 2, length, rise)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()


def scaled(art: Artwork, x: float, y: float, scale: float, draw: Callable[[], None]) -> None:
    """Draw with the origin moved and everything scaled."""
    art.canvas.saveState()
    art.canvas.translate(x, y)
    art.canvas.scale(scale, scale)
    draw()
    art.canvas.restoreState()


def glass(path: PDFPathObject) -> None:
    """Add the outline of a lantern's glass, 20 wide and 24 high, standing at y = 6."""
    path.moveTo(-7, 6)
    path.curveTo(-10.6, 12, -10.6, 22, -6.5, 30)
    path.lineTo(6.5, 30)
    path.curveTo(10.6, 22, 10.6, 12, 7, 6)
    path.close()


def flame(path: PDFPathObject) -> None:
    """Add a flame, leaning a little."""
    path.moveTo(0.6, 24)
    path.curveTo(-0.4, 19.5, -4.4, 17, -4.0, 12.6)
    path.curveTo(-3.7, 9.4, -1.8, 8.2, 0, 8.2)
    path.curveTo(2.2, 8.2, 4.0, 9.8, 4.0, 12.4)
    path.curveTo(4.0, 16.2, 0.8, 18.4, 0.6, 24)
    path.close()


def lantern_lamp(
    art: Artwork, frame: Ink, glow: Ink, *, lit: tuple[Ink, Ink] | None = None
) -> None:
    """Draw a lantern 22 wide and 45 high, standing on the origin; the flame is left open.

    ``lit`` paints the glass with an axial shading from its foot to its head instead of ``glow``.
    """
    canvas = art.canvas
    body = canvas.beginPath()
    glass(body)
    flame(body)
    if lit is None:
        canvas.setFillColor(glow)
        canvas.drawPath(body, stroke=0, fill=1, fillMode=_EVEN_ODD)
    else:
        canvas.saveState()
        canvas.clipPath(body, stroke=0, fill=0, fillMode=_EVEN_ODD)
        canvas.linearGradient(0, 6, 0, 30, lit, extend=True)
        canvas.restoreState()
    canvas.setFillColor(frame)
    for bottom, wide, high in ((0, 9.2, 2.4), (3.2, 7.6, 2.2), (30.6, 7.6, 1.8)):
        canvas.roundRect(-wide, bottom, 2 * wide, high, 1, stroke=0, fill=1)
    cap = canvas.beginPath()
    cap.moveTo(-6.8, 33.2)
    cap.curveTo(-5.4, 36.2, -3.0, 36.4, -2.4, 39)
    cap.lineTo(2.4, 39)
    cap.curveTo(3.0, 36.4, 5.4, 36.2, 6.8, 33.2)
    cap.close()
    canvas.drawPath(cap, stroke=0, fill=1)
    ring = canvas.beginPath()
    ring.circle(0, 42.2, 3.15)
    ring.circle(0, 42.2, 2.05)
    canvas.drawPath(ring, stroke=0, fill=1, fillMode=_EVEN_ODD)


def boathouse(art: Artwork, inks: Palette) -> None:
    """Draw the boathouse from the lake, 76 wide and 60 high, standing on the origin."""
    canvas = art.canvas
    canvas.saveState()
    wall = canvas.beginPath()
    wall.moveTo(-28, 0)
    wall.lineTo(-28, 23)
    wall.lineTo(0, 42)
    wall.lineTo(28, 23)
    wall.lineTo(28, 0)
    wall.lineTo(15.5, 0)
    wall.lineTo(15.5, 12)  # the arch of the door: boats go in here
    wall.curveTo(15.5, 20.6, 8.6, 27.5, 0, 27.5)
    wall.curveTo(-8.6, 27.5, -15.5, 20.6, -15.5, 12)
    wall.lineTo(-15.5, 0)
    wall.close()
    wall.circle(0, 33.8, 2.2)
    canvas.clipPath(wall, stroke=0, fill=0, fillMode=_EVEN_ODD)
    canvas.setFillColor(inks.wood)
    board = 12.5 / 3
    for plank in range(6):  # boards with a thin gap between them, the same on both sides
        canvas.rect(-28 + board * plank, 0, board - 0.55, 42, stroke=0, fill=1)
        canvas.rect(28.55 - board * (plank + 1), 0, board - 0.55, 42, stroke=0, fill=1)
    canvas.rect(-28 + board * 6, 0, 56 - board * 12, 42, stroke=0, fill=1)
    canvas.restoreState()
    canvas.setFillColor(inks.wood)
    roof = canvas.beginPath()
    roof.moveTo(0, 53)
    roof.curveTo(-10, 42.5, -23, 29.5, -38, 23.4)
    roof.lineTo(-38, 18.2)
    roof.curveTo(-22, 24.6, -9.5, 35.5, 0, 45.2)
    roof.curveTo(9.5, 35.5, 22, 24.6, 38, 18.2)
    roof.lineTo(38, 23.4)
    roof.curveTo(23, 29.5, 10, 42.5, 0, 53)
    roof.close()
    canvas.drawPath(roof, stroke=0, fill=1)
    canvas.rect(-0.6, 52, 1.2, 5.5, stroke=0, fill=1)
    canvas.circle(0, 58.6, 1.7, stroke=0, fill=1)
    canvas.rect(-0.5, 22, 1, 5.8, stroke=0, fill=1)
    scaled(art, 0, 3.6, 0.42, lambda: lantern_lamp(art, inks.wood, inks.glow))


def bulrush(
    art: Artwork, x: float, foot: float, height: float, lean: float, ink: Ink, fine: float
) -> None:
    """Draw a bulrush: a bent stem, a seed head and one blade."""
    canvas = art.canvas
    canvas.setStrokeColor(ink)
    canvas.setFillColor(ink)
    canvas.setLineCap(_ROUND)
    canvas.setLineWidth(max(0.75, fine))
    top = x + lean
    canvas.bezier(x, foot, x, foot + height * 0.5, top, foot + height * 0.6, top, foot + height)
    canvas.setLineWidth(2.5)
    canvas.line(top, foot + height * 0.74, top, foot + height * 0.92)
    blade = canvas.beginPath()
    blade.moveTo(x - 0.5, foot)
    blade.curveTo(
        x - lean * 0.2,
        foot + height * 0.4,
        x - lean * 0.6,
        foot + height * 0.5,
        x - lean * 1.4,
        foot + height * 0.72,
    )
    blade.curveTo(x - lean * 0.2, foot + height * 0.5, x + 0.4, foot + height * 0.35, x + 0.7, foot)
    blade.close()
    canvas.drawPath(blade, stroke=0, fill=1)


def crest(
    art: Artwork, x: float, y: float, diameter: float, inks: Palette, *, lettered: bool = True
) -> None:
    """Draw the museum's crest about a middle: boathouse, reeds and waves in a lettered ring.

    Too small to be read, the letters are better left out. No line is thinner than ``FINE``.
    """
    canvas = art.canvas
    fine = FINE * 132 / diameter
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(diameter / 132, diameter / 132)
    canvas.setStrokeColor(inks.wood)
    if lettered:
        for radius, weight in ((65.2, 1.4), (62.2, fine), (47.6, fine)):
            canvas.setLineWidth(weight)
            canvas.circle(0, 0, radius, stroke=1, fill=0)
        art.arched_type("BOATHOUSE MUSEUM", 51.7, 90, size=9.4, ink=inks.wood, track=150)
        art.arched_type("HALVERN LAKE", 58.4, 270, size=9.4, ink=inks.wood, track=150, inward=True)
        canvas.setFillColor(inks.glow)
        for side in (-1, 1):
            canvas.circle(side * 54.8, -9.5, 1.8, stroke=0, fill=1)
    else:
        canvas.setLineWidth(2)
        canvas.circle(0, 0, 65, stroke=1, fill=0)
        canvas.scale(1.32, 1.32)
    scaled(art, 0, -15, 0.9, lambda: boathouse(art, inks))
    for side in (-1, 1):
        bulrush(art, side * 33.5, -16, 29, side * -1.6, inks.wood, fine)
        bulrush(art, side * 37.5, -16, 21, side * 1.8, inks.wood, fine)
    for row, (reach, weight) in enumerate(((39, 1.7), (32.5, 1.5), (19.5, 1.3))):
        wave_rule(
            art,
            -reach,
            reach,
            -19.6 - 6.4 * row,
            ink=inks.water,
            length=13,
            rise=3.2,
            weight=weight,
        )
    canvas.restoreState()


MONOGRAM = "monogram"
MONOGRAM_SIZE = 60.0


def define_monogram(art: Artwork, inks: Palette) -> None:
    """Store the monogram as a form XObject of 60 by 60 points; place it with place_monogram."""
    canvas = art.canvas
    canvas.beginForm(MONOGRAM, 0, 0, MONOGRAM_SIZE, MONOGRAM_SIZE)
    canvas.setStrokeColor(inks.wood)
    canvas.setLineWidth(0.9)
    canvas.circle(30, 30, 28.6, stroke=1, fill=0)
    canvas.setLineWidth(0.6)
    canvas.circle(30, 30, 26.2, stroke=1, fill=0)
    art.type("B", 15.4, 23.2, size=29, ink=inks.wood, face=SERIF_LIGHT)
    art.type("M", 24.2, 16.2, size=29, ink=inks.wood, face=SERIF_LIGHT)
    canvas.setFillColor(inks.glow)
    canvas.circle(41.4, 42.6, 2.1, stroke=0, fill=1)
    wave_rule(art, 19, 41, 11.4, ink=inks.water, length=7.4, rise=1.8, weight=0.9)
    canvas.endForm()


def place_monogram(art: Artwork, x: float, y: float, size: float) -> None:
    """Place the monogram with its middle at a point."""
    canvas = art.canvas
    canvas.saveState()
    canvas.translate(x - size / 2, y - size / 2)
    canvas.scale(size / MONOGRAM_SIZE, size / MONOGRAM_SIZE)
    canvas.doForm(MONOGRAM)
    canvas.restoreState()


def reflection(
    art: Artwork, x: float, top: float, bottom: float, wide: float, inks: tuple[Ink, Ink]
) -> None:
    """Draw light on water: a column of lens shapes that broadens, under one axial shading."""
    canvas = art.canvas
    canvas.saveState()
    path = canvas.beginPath()
    y, width, step, side = top, wide * 0.55, 4.2, 1
    while y == top or y - step > bottom:  # one lens at least: an empty clip would hide nothing
        middle = x + side * width * 0.07
        high = step * 0.34
        path.moveTo(middle - width / 2, y)
        path.curveTo(
            middle - width / 4, y + high, middle + width / 4, y + high, middle + width / 2, y
        )
        path.curveTo(
            middle + width / 4, y - high, middle - width / 4, y - high, middle - width / 2, y
        )
        path.close()
        y, width, step, side = y - step, width * 1.09, step * 1.085, -side
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.linearGradient(x, top, x, bottom, inks, extend=True)
    canvas.restoreState()


def star(art: Artwork, x: float, y: float, radius: float, ink: Ink) -> None:
    """Draw a four-pointed star with hollow sides."""
    path = art.canvas.beginPath()
    path.moveTo(x, y + radius)
    waist = radius * 0.12
    for dx, dy, wx, wy in ((1, 0, 1, 1), (0, -1, 1, -1), (-1, 0, -1, -1), (0, 1, -1, 1)):
        path.curveTo(
            x + wx * waist,
            y + wy * waist,
            x + wx * waist,
            y + wy * waist,
            x + dx * radius,
            y + dy * radius,
        )
    path.close()
    art.canvas.setFillColor(ink)
    art.canvas.drawPath(path, stroke=0, fill=1)
