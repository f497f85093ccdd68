"""The colours of the invented suite, as the studio's artwork writes them down."""

from reportlab.lib.colors import Color, PCMYKColor, PCMYKColorSep

Ink = Color  # PCMYKColor and PCMYKColorSep are Colors too


def kelp(tint: float = 100.0) -> PCMYKColor:
    """Return the deep green, cmyk 85 20 60 30, at a tint in percent."""
    return _tinted((85, 20, 60, 30), tint)


def kelp_rgb() -> Color:
    """Return the same green as somebody once typed it, rgb 20 92 78. One piece still has it."""
    return Color(20 / 255, 92 / 255, 78 / 255)


def lantern(tint: float = 100.0) -> PCMYKColor:
    """Return the amber, cmyk 0 38 88 2, at a tint in percent."""
    return _tinted((0, 38, 88, 2), tint)


def slate(tint: float = 100.0) -> PCMYKColorSep:
    """Return the blue grey, a spot colour named Slate, at a tint in percent."""
    return PCMYKColorSep(55, 30, 20, 25, spotName="Slate", density=tint)


def black() -> PCMYKColor:
    """Return the black of running text: black ink alone."""
    return PCMYKColor(0, 0, 0, 100)


def paper() -> PCMYKColor:
    """Return no ink at all, for type that is knocked out of a solid."""
    return PCMYKColor(0, 0, 0, 0)


def _tinted(inks: tuple[float, float, float, float], tint: float) -> PCMYKColor:
    c, m, y, k = (number * tint / 100 for number in inks)
    return PCMYKColor(c, m, y, k)
