"""An order begun from artwork: a piece for each file, and the colours that must agree."""

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.inventory.inventory import Inventory, inventory
from inkaccord.artwork.mixing import tint_share
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.colour.press.model import PressModel, fit
from inkaccord.colour.sampling.ranges import range_word
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError
from inkaccord.files import read_bytes, safe_name, write_whole
from inkaccord.foresight.palette import paints_of
from inkaccord.knowledge.pairs import UNREAD_PAPER, paper_readings
from inkaccord.order.amending import Written, as_yaml
from inkaccord.order.finishes import FinishKind, finish_by_name
from inkaccord.order.loading import ORDER_FILE
from inkaccord.sizes import Size, envelope_of, mostly_metric
from inkaccord.starter.order import Begun, check_is_new, short_name
from inkaccord.units import inches, millimetres

DEVICE, STOCK, VENDOR = "my-printer", "cotton-card", "studio"
"""What stands for a printer, a stock and a vendor until a person names them."""
MOST_COLOURS = 12
"""Colours that are taken for brand colours, the largest in area; the others stand in a remark."""
_SHEETS, _METRIC_SHEETS = ("letter", "12x18", "13x19"), ("a4", "a3", "sra3")
_BLACK = 25.0
"""L* below which a colour is called black (common practice, no source)."""
_NEUTRAL = 10.0
"""Chroma up to which such a colour is black type by another program, and no brand colour (common
practice, no source)."""
_RIM = inches(0.5)
"""What bleed and unprintable margins take of a sheet: a guess."""
_SAME_SIZE_PT = 0.5
_ENVELOPE_SIDES = (millimetres(80), millimetres(325))
"""Between which both sides of a usual envelope lie: C7 to C4 (ISO 269)."""


_COLOURLESS = """\
# The artwork holds no colour that could be named, such as pictures alone. An order is about one at
# least: take the marks off these lines, and write the colour of what is printed beside them.
# colours:
#   green:
#     aim: {lab: [41, -20, 8]}
#     in_artwork: [cmyk 85 20 60 30]
# photographs: matched   # the pictures are matched to each pair
"""


@dataclass(frozen=True)
class BegunPiece:
    """A piece as its artwork shows it."""

    name: str
    file: str
    """Its artwork, from the order's folder."""
    trim: Size
    pages: int
    has_trim_box: bool

    @property
    def stock(self) -> str:
        """The stand-in that it is printed on: an envelope of its size, where it has that of one."""
        least, most = _ENVELOPE_SIDES
        sides = (self.trim.width_pt, self.trim.height_pt)
        if not all(least <= side <= most for side in sides):
            return STOCK
        return envelope_of(self.trim, _SAME_SIZE_PT) or STOCK


@dataclass
class BegunColour:
    """A colour of the artwork, with its tints."""

    paint: Paint
    area_mm2: float = 0.0
    pieces: list[str] = field(default_factory=list)


def begin_order(
    folder: Path, artworks: Sequence[Path], today: datetime.date, *, title: str = ""
) -> Begun:
    """Write an order for some artwork into a new or empty folder.

    It is called as its folder is, or ``title``: an order's name has plain letters alone, and what
    was said stands as its title. The artwork is copied beside it. Vendor, printer and stock are
    stand-ins, to be named by a person, and so is the aim of each colour: as that printer prints it.
    Where no colour is flat, those are taken that gradients run between; artwork of pictures alone
    has none that could be named, and what to write is said.

    Raises
    ------
    InkaccordError
        What is wrong with the folder or with any of the files. Then nothing is written.
    """
    check_is_new(folder)
    contents = {name: read_bytes(path) for name, path in named_artworks(artworks).items()}
    pieces: list[BegunPiece] = []
    colours: dict[str, BegunColour] = {}
    stops: dict[str, BegunColour] = {}
    for name, data in contents.items():
        found = inventory(data, dpi=72, name=f"{name}.pdf")
        pieces.append(as_piece(name, found))
        _gather(name, found, colours, stops)
    finishes = _finishes((*colours.values(), *stops.values()))
    for met in (colours, stops):
        for key in [key for key, it in met.items() if it.paint.name in finishes]:
            del met[key]
    greys = [it for it in colours.values() if is_left_alone(it.paint)]
    brand = _without_tints(it for it in colours.values() if it not in greys)
    if not brand:
        brand = _without_tints(it for it in stops.values() if not is_left_alone(it.paint))
    if not brand:  # artwork in black alone: an order is about some colour
        brand = sorted(greys, key=lambda it: look_of_ink(it.paint)[0])[:1]
        greys = [it for it in greys if it not in brand]
    text = _written(title or folder.resolve().name, today, pieces, brand, greys, finishes)
    made = {piece.file: contents[piece.name] for piece in pieces}
    made[ORDER_FILE] = text.encode()
    for path, data in made.items():
        write_whole(folder / path, data)
    files = tuple(folder / path for path in made)
    return Begun(files, () if brand else (_no_colour(folder / ORDER_FILE),))


def _no_colour(order: Path) -> Diagnostic:
    """Return what is to be filled in where no colour could be named."""
    return error(
        "no-colour-yet",
        "no colour was found that could be named: the artwork holds pictures, or finishes, alone",
        place=Place(file=str(order), field="colours"),
        hint="an order is about one colour at least: take the marks off the lines under 'colours', "
        "and write the colour of what is printed beside the pictures; 'photographs: matched' "
        "matches the pictures",
    )


def named_artworks(artworks: Sequence[Path], taken: Iterable[str] = ()) -> dict[str, Path]:
    """Return the files by the names that their pieces have: no two alike."""
    names = distinct((short_name(path.stem, "piece") for path in artworks), taken)
    return dict(zip(names, artworks, strict=True))


def distinct(names: Iterable[str], taken: Iterable[str] = ()) -> list[str]:
    """Return names with a number behind each that stands there already: 'green', 'green-2'."""
    there = list(taken)
    found: dict[str, None] = dict.fromkeys(there)
    for plain in names:
        name, number = plain, 2
        while name in found:
            name, number = f"{plain}-{number}", number + 1
        found[name] = None
    return list(found)[len(there) :]


def as_piece(name: str, found: Inventory) -> BegunPiece:
    """Return the piece that an artwork shows. Raises FileError where no page can be read."""
    boxes = found.pages[0].boxes if found.pages else None
    if boxes is None:
        raise FileError.of("no-page", f"{name}.pdf has no page that can be read")
    return BegunPiece(
        name=name,
        file=f"artwork/{safe_name(f'{name}.pdf')}",
        trim=boxes.trim_size,
        pages=len(found.pages),
        has_trim_box="trim" in boxes.stated,
    )


def _gather(
    name: str,
    found: Inventory,
    colours: dict[str, BegunColour],
    stops: dict[str, BegunColour],
) -> None:
    """Add the flat colours of a file to those of the others, and those that gradients run between.

    A gradient's area counts for each of its stops.
    """
    for entry in found.colours:
        among = stops if entry.colour.parts else colours
        for paint in paints_of(entry.colour):
            begun = among.setdefault(str(paint), BegunColour(paint))
            begun.area_mm2 += entry.area_mm2 or 0.0
            begun.pieces = list(dict.fromkeys((*begun.pieces, name)))


def _finishes(colours: Iterable[BegunColour]) -> dict[str, FinishKind]:
    """Return the spots that are no colours, as far as their names tell, and what they are."""
    names = dict.fromkeys(it.paint.name for it in colours if it.paint.name is not None)
    return {name: kind for name in names if (kind := finish_by_name(name)) is not None}


def _without_tints(colours: Iterable[BegunColour]) -> list[BegunColour]:
    """Return the colours of which none is a tint of another, the largest in area first."""
    solids: list[BegunColour] = []
    for colour in sorted(colours, key=lambda it: -_strength(it.paint)):
        solid = next((it for it in solids if _is_tint(colour.paint, it.paint)), None)
        if solid is None:
            solids.append(colour)
        else:
            solid.area_mm2 += colour.area_mm2
            solid.pieces = list(dict.fromkeys((*solid.pieces, *colour.pieces)))
    return sorted(solids, key=lambda it: -it.area_mm2)


def _is_tint(paint: Paint, solid: Paint) -> bool:
    same = paint.kind is solid.kind and paint.kind is not PaintKind.SPOT
    return same and tint_share(paint, solid) is not None


def _strength(paint: Paint) -> float:
    """Return how much colour a paint has: of inks their sum, of light what is missing."""
    return -sum(paint.values) if paint.kind is PaintKind.RGB else sum(paint.values)


def _written(
    written_as: str,
    today: datetime.date,
    pieces: Sequence[BegunPiece],
    ordered: Sequence[BegunColour],
    greys: Sequence[BegunColour],
    finishes: Mapping[str, FinishKind],
) -> str:
    name = safe_name(written_as)
    title = "" if written_as == name else f"title: {as_yaml(written_as)}\n"
    head = (
        "# Begun from artwork. 'inkaccord check' says what is wrong with it, 'inkaccord run' does\n"
        "# what can be done now. Every field: docs/job-file.md\n\n"
        f"order: {as_yaml(name)}\n{title}"
        f"date: {today.isoformat()}\nsuites: 50   # complete sets\n\n"
    )
    stocks = [it.stock for it in pieces]
    pair = f"{DEVICE}@{STOCK if STOCK in stocks else stocks[0]}"
    parts = (_colours_written(ordered, greys, pair), _finishes_written(finishes))
    return "".join(
        (head, *(it for part in parts for it in part), *_pieces_written(pieces, finishes))
    )


def _colours_written(
    ordered: Sequence[BegunColour], greys: Sequence[BegunColour], pair: str
) -> Iterator[str]:
    if ordered:
        yield "# Each colour that must agree: name it, and say what it should look like.\n"
        yield "colours:\n"
    else:
        yield _COLOURLESS
    for called, colour in _called(ordered[:MOST_COLOURS]).items():
        yield f"  {called}:   # {colour.area_mm2 / 100:.1f} cm² on {', '.join(colour.pieces)}\n"
        yield f"    aim: {as_yaml(first_aim(colour.paint, pair))}\n"
        yield f"    in_artwork: [{as_yaml(str(colour.paint))}]\n"
    if rest := ordered[MOST_COLOURS:]:
        yield f"# Smaller ones: {'; '.join(str(it.paint) for it in rest)}\n"
    if greys:
        yield f"\nkeep: [{', '.join(as_yaml(str(it.paint)) for it in greys)}]   # left alone\n"


def _finishes_written(finishes: Mapping[str, FinishKind]) -> Iterator[str]:
    if finishes:
        yield "\n# By their names no colours. One that is belongs under 'colours'.\nfinishes:\n"
    names = distinct(map(short_name, finishes))
    for called, (plate, kind) in zip(names, finishes.items(), strict=True):
        said = {"finish": kind.value, "in_artwork": f"spot {plate}"}
        yield f"  {as_yaml(called)}: {as_yaml(said)}\n"


def _pieces_written(
    pieces: Sequence[BegunPiece], finishes: Mapping[str, FinishKind]
) -> Iterator[str]:
    """Yield the pieces, and before them what they are to be printed on and by whom."""
    sheet = _sheet(pieces)
    takes = {kind.value: "as-drawn" for kind in finishes.values()}
    does = f"    finishes: {as_yaml(takes)}   # ask whether it does them\n" if takes else ""
    stocks = "".join(
        f"  {name}: {{size: {sheet}}}\n"
        if name == STOCK
        else f"  {name}: {{kind: envelope, size: {name}}}   # by its size\n"
        for name in dict.fromkeys(it.stock for it in pieces)
    )
    yield (
        f"\n# Stand-ins: name the stock, the vendor and its printer.\nstocks:\n{stocks}\n"
        f"vendors:\n  {VENDOR}:\n{does}    devices:\n"
        f"      {DEVICE}: {{sheets: [{sheet}]}}\n\npieces:\n"
    )
    for piece in pieces:
        yield f"  {piece.name}:\n    artwork: {as_yaml(piece.file)}\n"
        yield f"    trim: {plain_size(piece.trim)}"
        yield "\n" if piece.has_trim_box else "   # the whole page: it has no TrimBox\n"
        if piece.pages > 2:
            yield (
                f"    # It has {piece.pages} pages: 'records' if each is another copy; of a "
                "booklet each\n    # folded sheet is a piece.\n"
            )
        yield f"    device: {DEVICE}\n    stock: {piece.stock}\n"


def _called(colours: Sequence[BegunColour]) -> Mapping[str, BegunColour]:
    """Give each colour a name: its spot's, or what it looks like on white paper."""
    names = distinct(word_for(it.paint) for it in colours)
    return dict(zip(names, colours, strict=True))


def is_left_alone(paint: Paint) -> bool:
    """Whether a colour is black, grey or white, or a black that some program mixed."""
    if grey_share(paint) is not None:
        return True
    if paint.kind is PaintKind.SPOT:
        return False
    lightness, *chroma = look_of_ink(paint)
    return lightness < _BLACK and float(np.hypot(*chroma)) <= _NEUTRAL


def look_of_ink(paint: Paint) -> NDArray[np.float64]:
    """Return CIELAB of a colour on white paper, by a guess where no printer is known."""
    if paint.kind is PaintKind.RGB:
        return np.asarray(srgb_to_lab(np.array(paint.values) / 255))
    if paint.kind is PaintKind.LAB:
        return np.array(paint.values)
    if paint.kind is PaintKind.GRAY:
        return np.array([100.0 - paint.values[0], 0.0, 0.0])
    return np.asarray(_white_paper().predict_lab(np.array([paint.values]))[0])


@cache
def _white_paper() -> PressModel:
    return fit(paper_readings(Drive.CMYK, UNREAD_PAPER))


def word_for(paint: Paint) -> str:
    """Return a name for a colour: its spot's, else the word for what it looks like, 'green'."""
    if paint.name is not None:
        return short_name(paint.name)
    lab = look_of_ink(paint)
    return short_name("black" if lab[0] < _BLACK else range_word(lab).removesuffix("s"))


def first_aim(paint: Paint, pair: str) -> dict[str, Written]:
    """Return the aim of a colour until a person says more: as its numbers print on a pair."""
    if paint.kind is PaintKind.CMYK:
        return {"build": str(paint), "on": pair}
    if paint.kind is PaintKind.GRAY:
        return {"build": f"cmyk 0 0 0 {paint.values[0]:g}", "on": pair}
    if paint.kind is PaintKind.SPOT:
        return {"by_eye": f"the sample of {paint.name}"}
    return {"lab": [f"{value:.1f}" for value in look_of_ink(paint)]}


def _sheet(pieces: Sequence[BegunPiece]) -> str:
    """Return the smallest usual sheet that takes every piece; the largest where none does."""
    trims = [it.trim for it in pieces if it.stock == STOCK] or [it.trim for it in pieces]
    sheets = _METRIC_SHEETS if mostly_metric(trims) else _SHEETS
    return next((it for it in sheets if all(_fits(trim, it) for trim in trims)), sheets[-1])


def _fits(trim: Size, sheet: str) -> bool:
    size = Size.parse(sheet)
    short, long = sorted((size.width_pt - _RIM, size.height_pt - _RIM))
    needed = sorted((trim.width_pt, trim.height_pt))
    return needed[0] <= short and needed[1] <= long


def plain_size(size: Size) -> str:
    """Return a size as an order writes it."""
    return str(size).replace("×", "x")
