"""A starter order with two pieces of artwork, so that the first run has something to do."""

import datetime
from importlib.resources import files
from pathlib import Path

from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, text_width
from inkaccord.errors import OrderError
from inkaccord.files import replacing, safe_name
from inkaccord.sizes import Size
from inkaccord.units import inches

_LEAF = (0.75, 0.20, 0.80, 0.10)
_BLEED = inches(1 / 8)
_RIM = inches(1 / 4)
"""What most printers can't print of an envelope is narrower (common practice, no source)."""


def write_starter(folder: Path, today: datetime.date) -> tuple[Path, ...]:
    """Write order.yaml and its artwork into a new or empty folder; return the files.

    Raises OrderError when the folder holds something already.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OrderError.of(
            "not-empty",
            f"{folder} is there already and not an empty folder",
            hint="choose a folder that does not exist yet",
        )
    template = (files("inkaccord.starter") / "order.yaml").read_text("utf-8")
    name = safe_name(folder.resolve().name)
    made = {
        "order.yaml": template.format(name=name, date=today.isoformat()).encode(),
        "artwork/card.pdf": _page(Size.parse("5in x 7in"), "Card"),
        "artwork/envelope.pdf": _page(Size.parse("a7-envelope"), "Envelope", _BLEED + _RIM),
    }
    for path, data in made.items():
        with replacing(folder / path) as temporary:
            temporary.write_bytes(data)
    return tuple(folder / path for path in made)


def _page(trim: Size, word: str, edge_pt: float = 0.0) -> bytes:
    """Draw a page with bleed: a band of the brand colour, a tint of it, and black type.

    The band stays ``edge_pt`` away from the edges of the page, bleed included.
    """
    media = Size(width_pt=trim.width_pt + 2 * _BLEED, height_pt=trim.height_pt + 2 * _BLEED)
    drawing = Drawing(media, title=word)
    canvas = drawing.canvas
    right, top = _BLEED + trim.width_pt, _BLEED + trim.height_pt
    drawing.page(media, trim_pt=(_BLEED, _BLEED, right, top), bleed_pt=_BLEED)
    middle = media.width_pt / 2
    canvas.setFillColorCMYK(*_LEAF)
    band = media.width_pt - 2 * edge_pt
    canvas.rect(edge_pt, edge_pt, band, 0.22 * media.height_pt - edge_pt, stroke=0, fill=1)
    canvas.setFillColorCMYK(*(0.4 * part for part in _LEAF))
    canvas.rect(edge_pt, 0.22 * media.height_pt, band, 12, stroke=0, fill=1)
    canvas.setFillColorCMYK(*_LEAF)
    canvas.setFont(BOLD, 30)
    canvas.drawString(middle - text_width(word, 30, BOLD) / 2, 0.6 * media.height_pt, word)
    canvas.setFillColorCMYK(0, 0, 0, 1)
    line = "put your own artwork here"
    canvas.setFont(REGULAR, 11)
    canvas.drawString(middle - text_width(line, 11) / 2, 0.6 * media.height_pt - 24, line)
    return drawing.bytes()
