"""A starter order with two pieces of artwork, so that the first run has something to do."""

import datetime
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, text_width
from inkaccord.errors import OrderError
from inkaccord.files import safe_name, without_accents, write_whole
from inkaccord.sizes import Size
from inkaccord.units import inches

_COLOUR_OF_ARTWORK = "cmyk 75 20 80 10"
_LEAF = (0.75, 0.20, 0.80, 0.10)
_BLEED = inches(1 / 8)
_RIM = inches(1 / 4)
"""What most printers can't print of an envelope is narrower (common practice, no source)."""


@dataclass(frozen=True)
class Begun:
    """What was written, and what a person must think about before the first run."""

    files: tuple[Path, ...]
    to_think: tuple[Diagnostic, ...] = ()

    @property
    def can_run(self) -> bool:
        """Whether the order is whole as it was written."""
        return all(it.severity is not Severity.ERROR for it in self.to_think)


def write_starter(
    folder: Path, today: datetime.date, *, from_book: Sequence[str] = ()
) -> tuple[Path, ...]:
    """Write order.yaml and its artwork into a new or empty folder; return the files.

    ``from_book`` are colours of the studio's book that it starts with, the first in the artwork's
    place; the order then has no shelf of its own, since the book lies on the common one.

    Raises OrderError when the folder holds something already.
    """
    check_is_new(folder)
    template = (files("inkaccord.starter") / "order.yaml").read_text("utf-8")
    if from_book:
        template = _with_book(template, from_book)
    name = safe_name(folder.resolve().name)
    made = {
        "order.yaml": template.format(name=name, date=today.isoformat()).encode(),
        "artwork/card.pdf": _page(Size.parse("5in x 7in"), "Card"),
        "artwork/envelope.pdf": _page(Size.parse("a8-envelope"), "Envelope", _BLEED + _RIM),
    }
    for path, data in made.items():
        write_whole(folder / path, data)
    return tuple(folder / path for path in made)


def check_is_new(folder: Path) -> None:
    """Raise OrderError where a folder holds something already, or is none."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OrderError.of(
            "not-empty",
            f"{folder} is there already and not an empty folder",
            hint="give it another name, of a folder that does not exist yet",
        )


def _with_book(template: str, names: Sequence[str]) -> str:
    """Return the template with colours of the book in place of its own."""
    head, _, rest = template.partition("colours:\n")
    tail = rest.partition("\nkeep:")[2]
    lines = [line for line in head.splitlines() if not line.startswith("shelf:")]
    written = [_COLOUR_OF_ARTWORK, *(f"spot {name}" for name in names[1:])]
    colours = []
    for name, paint in zip(names, written, strict=True):
        colours += [f"  {short_name(name)}:", f"    aim: {{{{from_book: {_in_quotes(name)}}}}}"]
        colours += ["    # How the artwork writes it; tints of it are found by themselves."]
        colours += [f"    in_artwork: [{_in_quotes(paint)}]"]
    return "\n".join([*lines, "colours:", *colours, "", f"keep:{tail}"])


def _in_quotes(text: str) -> str:
    """Return text as YAML has it in quotes, in a template."""
    return json.dumps(text, ensure_ascii=False).replace("{", "{{").replace("}", "}}")


def short_name(name: str, otherwise: str = "colour") -> str:
    """Return a name as an order writes it: small letters and hyphens, if any are left."""
    plain = without_accents(name).lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or otherwise


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
