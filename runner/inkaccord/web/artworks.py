"""The artwork of an order's pieces as the page shows it: what it holds, and its pictures."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from inkaccord.artwork.inventory.inventory import Inventory
from inkaccord.artwork.inventory.places import MOST_PAGES, SeenPage, seen_pages
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.errors import FileError, InkaccordError
from inkaccord.files import read_bytes
from inkaccord.foresight.beginning import look_of_ink
from inkaccord.foresight.palette import PaletteColour, paints_of
from inkaccord.foresight.taking_stock import held_in
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.recall.recent import Recent
from inkaccord.report.screen import screen_colour
from inkaccord.web.studio import OrderOnPage, asked_order, recalled
from inkaccord.workbench import Workbench

LONGEST_PX = 440
"""How large the picture of a page is, along its longer side; it is shown half as large."""
_TRIED = 3
"""Pieces of a colour that are drawn to see what it looks like."""


class PictureSize(NamedTuple):
    """How large a page is shown, in pixels of the screen."""

    page: int
    width: int
    height: int


def held_by(order: OrderOnPage, recent: Recent) -> dict[str, Inventory]:
    """Return what the artwork of each piece holds; nothing for that which can't be used.

    It is asked for as 'check' asks for it, so that both look through a file once; and what the last
    run has looked through is not looked through again.
    """
    found: dict[str, Inventory] = {}
    with recalled(recent, order.loaded) as recall:
        bench = Workbench(order.loaded, recall=recall)
        for name, piece in order.loaded.order.pieces.items():
            with suppress(InkaccordError):  # 'check' says why
                found[name] = held_in(bench, bench.artwork_as_given(name), piece.artwork)
    return found


def page_of(order: OrderOnPage, piece: str, number: int) -> SeenPage:
    """Return one of the first pages of a piece's artwork. Raises FileError where there is none."""
    pieces = order.loaded.order.pieces
    if piece not in pieces:
        raise no_such_page()
    return page_in(order.loaded.folder / pieces[piece].artwork, number)


def page_in(path: Path, number: int) -> SeenPage:
    """Return one of the first pages of a file. Raises FileError where there is none."""
    for page in _pages(*_stamped(path)):
        if page.page == number:
            return page
    raise no_such_page()


def no_such_page() -> FileError:
    """Return what is wrong with a page that is asked for and is not there."""
    return FileError.of("no-such-page", "there is no such page", hint="open it again")


def picture(request: Request) -> Response:
    """Send the picture of a page; with ``show``, that colour alone and all else faint."""
    return drawn(_page(request), request)


def drawn(page: SeenPage, request: Request) -> Response:
    """Return the picture of a page as a request asks for it."""
    show = request.query_params.get("show")
    png = page.png() if show is None else page.png(standing(page, as_paint(show)))
    return Response(png, media_type="image/png")


def pointed_at(request: Request) -> Response:
    """Say which colour stands at a place, ``x`` and ``y`` in shares of the picture."""
    return said_of_place(_page(request), request)


def said_of_place(page: SeenPage, request: Request) -> Response:
    """Return the colour at the place on a page that a request names."""
    asked = request.query_params
    return PlainTextResponse(paint_at(page, asked.get("x", ""), asked.get("y", "")))


def paint_at(page: SeenPage, x: str, y: str) -> str:
    """Return the colour at a place as an order names it; empty for paper and pictures."""
    try:
        right, down = float(x), float(y)
    except ValueError:
        return ""
    if not (0 <= right <= 1 and 0 <= down <= 1):
        return ""
    paints = (paint for colour in page.at(right, down) for paint in paints_of(colour))
    return str(next(paints, ""))


def clicked(path: Path, pages: Iterable[PictureSize], at: str, typed: Mapping[str, str]) -> str:
    """Return the colour where a picture of a file was clicked, by a browser without scripts.

    ``at`` begins the names of the pictures' fields, which end with the page. Empty for no click.
    """
    for seen in pages:
        x, y = (typed.get(f"{at}{seen.page}.{way}", "") for way in "xy")
        if x.isdecimal() and y.isdecimal():
            place = str(int(x) / seen.width), str(int(y) / seen.height)
            return paint_at(page_in(path, seen.page), *place)
    return ""


def sizes_of(found: Inventory) -> tuple[PictureSize, ...]:
    """Return how large the pictures of a file's first pages are shown, without drawing them."""
    boxes = [(it.number, it.boxes) for it in found.pages[:MOST_PAGES] if it.boxes is not None]
    longest = max((max(it.media.width, it.media.height) for _, it in boxes), default=1.0)
    sizes = ((number, it.size_of(it.crop)) for number, it in boxes)
    scale = LONGEST_PX / 2 / longest
    return tuple(
        PictureSize(number, round(size.width_pt * scale), round(size.height_pt * scale))
        for number, size in sizes
    )


def looks(order: OrderOnPage, colours: Iterable[PaletteColour]) -> dict[Paint, str]:
    """Return how each colour looks on a screen, in the first of its pieces that shows it."""
    found: dict[Paint, str] = {}
    for colour in colours:
        for name in colour.pieces[:_TRIED]:
            path = order.loaded.folder / order.loaded.order.pieces[name].artwork
            look = _looks(*_stamped(path)).get(colour.paint)
            if look is not None:
                found[colour.paint] = look
                break
    return found


def looks_of(path: Path, colour: ArtworkColour) -> tuple[str, ...]:
    """Return how a colour looks on a file's first pages, a gradient from stop to stop."""
    stamped = _stamped(path)
    if colour.parts:
        known = (_looks(*stamped).get(paint) for paint in paints_of(colour))
        return tuple(it for it in known if it)
    try:
        found = (page.hex_of([colour]) for page in _pages(*stamped))
        return tuple(it for it in found if it)[:1]
    except InkaccordError:
        return ()  # what can't be drawn is said where the file is looked through


def standing(page: SeenPage, paint: Paint) -> list[ArtworkColour]:
    """Return what stands for a colour on a page: its tints of a spot, gradients that hold it."""
    return [colour for colour in page.colours if paint in paints_of(colour)]


def as_paint(text: str) -> Paint:
    """Return a colour that a request names. Raises FileError for none."""
    try:
        return Paint.parse(text)
    except ValueError:
        raise FileError.of("no-such-colour", f"{text} is no colour of an artwork") from None


def _page(request: Request) -> SeenPage:
    asked = request.path_params
    return page_of(asked_order(request), asked["piece"], asked["page"])


def _stamped(path: Path) -> tuple[Path, int]:
    """Return a file with when it was last changed; 0 where there is none."""
    try:
        return path, path.stat().st_mtime_ns
    except OSError:
        return path, 0  # reading it says what is wrong


@lru_cache(maxsize=128)
def _pages(path: Path, _: int) -> tuple[SeenPage, ...]:
    return seen_pages(read_bytes(path), LONGEST_PX)


@lru_cache(maxsize=240)
def _looks(path: Path, stamp: int) -> dict[Paint, str]:
    found: dict[Paint, str] = {}
    try:
        pages = _pages(path, stamp)
    except InkaccordError:
        return found  # what can't be drawn is said where the file is looked through
    for page in pages:
        for paint in {it for colour in page.colours for it in paints_of(colour)} - found.keys():
            there = standing(page, paint)
            if look := _by_numbers(paint, page, there) or page.hex_of(there):
                found[paint] = look
    return found


def _by_numbers(paint: Paint, page: SeenPage, there: Sequence[ArtworkColour]) -> str | None:
    """Return how a colour looks by itself; None for a spot that stands in tints alone.

    Inks look as on the picture where they lie solid. In a gradient they are a stop of it, and small
    black type is half paper there: so a stop of inks is guessed at, and other numbers are read.
    """
    solid = [colour for colour in there if colour.paint == paint]  # a spot has tints too
    is_ink = paint.kind in {PaintKind.CMYK, PaintKind.SPOT}
    if is_ink and (look := page.hex_of(solid)):
        return look
    return None if paint.kind is PaintKind.SPOT else screen_colour(look_of_ink(paint)).hex
