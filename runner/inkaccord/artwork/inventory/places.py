"""Pictures of a page for a person: where it is cut, and where each of its colours stands."""

import io
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.inventory.areas import ColourMap, colour_maps
from inkaccord.artwork.pixels import commonest
from inkaccord.pdf.boxes import BoxName, PageBoxes, page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.joining import first_pages
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.rendering import page_pictures
from inkaccord.pdf.writing import save_as_packed
from inkaccord.sizes import Box

_Pixels = NDArray[np.uint8]
MOST_PAGES = 2
"""How many pages are drawn."""
LONGEST_PX = 400
"""How large the picture of a page is, along its longer side; of a colour's places half as much."""
_FAINT = 222, 242
"""The greys between which the rest of a page is shown beside one of its colours."""
_SMALL = 0.004
"""A colour that covers less of the page is framed, to be found."""
_FINE = 0.1
"""A colour of which less is no edge is fine type, or a hairline."""
_FRAME = np.array([70, 70, 70], np.uint8)


@dataclass(frozen=True)
class PagePicture:
    """A picture of a page, upright as a viewer shows it."""

    page: int
    png: bytes
    width_px: int
    height_px: int
    boxes: PageBoxes
    shown: Box
    """What of the page is on it."""

    def at(self, x_pt: float, y_pt: float) -> tuple[float, float]:
        """Return where a point of the page is on the picture: shares of it, right and up."""
        right = (x_pt - self.shown.left) / self.shown.width
        up = (y_pt - self.shown.bottom) / self.shown.height
        turned = {90: (up, 1 - right), 180: (1 - right, 1 - up), 270: (1 - up, right)}
        return turned.get(self.boxes.rotation, (right, up))


@dataclass(frozen=True)
class PagePlaces:
    """Pictures of a file's first pages.

    Attributes
    ----------
    pages
        Whole pages; what is cut off is faint, with a line at the cut.
    colours
        For each colour asked about, the page that holds most of it, with all else faint; None
        where it is not to be seen on these pages.
    """

    pages: tuple[PagePicture, ...]
    colours: tuple[PagePicture | None, ...]


def page_places(data: bytes, colours: Sequence[Sequence[ArtworkColour]]) -> PagePlaces:
    """Draw where a file's first pages are cut, and where some colours stand on them.

    Parameters
    ----------
    data
        The file.
    colours
        Each as all that counts as it: its solid, tints, gradients that hold it.

    Raises FileError when the file can't be drawn.
    """
    maps, seen = _drawn(data, LONGEST_PX)
    faint = [_faint(pixels) for pixels in seen]
    return PagePlaces(
        pages=tuple(_whole(one, pixels) for one, pixels in zip(maps, seen, strict=True)),
        colours=tuple(_most(maps, seen, faint, colour) for colour in colours),
    )


@dataclass(frozen=True)
class SeenPage:
    """A page as a viewer shows it, and which colour stands where on it.

    Attributes
    ----------
    pixels
        Shape (height, width, 3), sRGB.
    """

    page: int
    pixels: _Pixels
    _map: ColourMap

    @property
    def colours(self) -> tuple[ArtworkColour, ...]:
        """The colours that stand on it."""
        return tuple(dict.fromkeys(colour for colour, _ in self._map.names))

    def at(self, x: float, y: float) -> tuple[ArtworkColour, ...]:
        """Return the colours at a place, in shares of the picture from its upper left corner.

        The one that was painted last comes first. Bare paper has none.
        """
        labels = [self._upright(self._map.labels)]
        if self._map.under is not None:
            labels.append(self._upright(self._map.under))
        height, width = labels[0].shape
        row, column = min(int(y * height), height - 1), min(int(x * width), width - 1)
        found = [int(it[row, column]) for it in labels]
        return tuple(dict.fromkeys(self._map.names[it - 1][0] for it in found if it))

    def hex_of(self, colours: Collection[ArtworkColour]) -> str | None:
        """Return how some colours look here, ``#2F5D50``; None where none of them stands."""
        where = self._upright(self._map.where(colours))
        if not where.any():
            return None
        return "#" + bytes(_unmixed(self.pixels, where)).hex()

    def png(self, colours: Collection[ArtworkColour] | None = None) -> bytes:
        """Return its picture; with colours, those alone as they print and all else faint."""
        out = self.pixels
        if colours is not None:
            where = self._upright(self._map.where(colours))
            out = _faint(self.pixels)
            out[where] = self.pixels[where]
            if where.any() and np.count_nonzero(where) < _SMALL * where.size:
                _frame(out, *_around(where))
        return _png(out)

    def _upright(self, labels: NDArray[Any]) -> NDArray[Any]:
        return _upright(self._map, labels)


def seen_pages(data: bytes, longest_px: int) -> tuple[SeenPage, ...]:
    """Draw a file's first pages, their longer side so large. Raises FileError."""
    maps, seen = _drawn(data, longest_px)
    return tuple(
        SeenPage(one.page, np.ascontiguousarray(_upright(one, pixels)), one)
        for one, pixels in zip(maps, seen, strict=True)
    )


def _unmixed(pixels: _Pixels, where: NDArray[Any]) -> _Pixels:
    """Return what stands in a picture where no edge mixes it with what lies around."""
    from scipy import ndimage  # noqa: PLC0415 - slow to load

    there = pixels[where]
    around = ndimage.binary_dilation(where) & ~where
    inside = np.count_nonzero(ndimage.binary_erosion(where))
    if inside < _FINE * len(there) and around.any():  # type is all edge: its least mixed pixel
        ground = np.median(pixels[around], axis=0)
        least: _Pixels = there[np.abs(there - ground).sum(axis=1).argmax()]
        return least
    return commonest(there)


def _upright(one: ColourMap, pixels: NDArray[Any]) -> NDArray[Any]:
    """Return what a viewer shows of something as large as a map."""
    return _turned(one, pixels[one.window(one.boxes.crop)])


def _turned(one: ColourMap, pixels: NDArray[Any]) -> NDArray[Any]:
    """Return a part of a page as a viewer turns it."""
    return np.rot90(pixels, k=-(one.boxes.rotation // 90))


def _drawn(data: bytes, longest_px: int) -> tuple[list[ColourMap], list[_Pixels]]:
    """Return the maps of a file's first pages, and the pages as large as these."""
    first = first_pages(data, MOST_PAGES)
    boxes, plain = _plain(first)
    longest = max(max(one.media.width, one.media.height) for one in boxes)
    dpi = 72 * longest_px / longest
    maps = list(colour_maps(first, dpi=dpi))
    unit = max(one.user_unit for one in boxes)
    drawn = [np.asarray(it) for it in page_pictures(plain, dpi=dpi * unit)]
    return maps, [_fitted(drawn[one.page - 1], one) for one in maps]


def _plain(data: bytes) -> tuple[list[PageBoxes], bytes]:
    """Return the boxes of each page, and the file with whole media, unrotated, as maps have it."""
    with open_artwork(data) as pdf:
        boxes = [page_boxes(page) for page in pdf.pages]
        for page, one in zip(pdf.pages, boxes, strict=True):
            media = pikepdf.Array([edge / one.user_unit for edge in one.media])
            page.obj["/Rotate"], page.obj["/CropBox"] = 0, media
        return boxes, save_as_packed(pdf)


def _fitted(pixels: _Pixels, one: ColourMap) -> _Pixels:
    """Return a picture as large as a map, from which rounding may have kept it a pixel away."""
    from PIL import Image  # noqa: PLC0415 - slow to load

    height, width = one.runs.shape
    if pixels.shape[:2] == (height, width):
        return pixels
    return np.asarray(Image.fromarray(pixels).resize((width, height)))


def _whole(one: ColourMap, pixels: _Pixels) -> PagePicture:
    shown = one.boxes.crop
    rows, columns = one.window(one.boxes.trim)
    out = (0.35 * pixels + 0.65 * 236).astype(np.uint8)
    out[rows, columns] = pixels[rows, columns]
    _frame(out, rows, columns)
    return _picture(one, out, shown)


def _most(
    maps: Sequence[ColourMap],
    seen: Sequence[_Pixels],
    faint: Sequence[_Pixels],
    colour: Sequence[ArtworkColour],
) -> PagePicture | None:
    """Draw the page that holds most of a colour, as it is printed, else all that is on it.

    ``seen`` and ``faint`` are the pages in their colours and in faint greys.
    """
    places = [one.where(colour) for one in maps]
    names: tuple[BoxName, BoxName] = ("bleed", "media")
    for name in names:
        boxes = [one.boxes.of(name) for one in maps]
        windows = [one.window(box) for one, box in zip(maps, boxes, strict=True)]
        inside = [
            where[rows, columns] for where, (rows, columns) in zip(places, windows, strict=True)
        ]
        counts = [int(np.count_nonzero(it)) for it in inside]
        if any(counts):
            at = counts.index(max(counts))
            out = faint[at].copy()
            out[places[at]] = seen[at][places[at]]
            out = _halved(out)
            if counts[at] < _SMALL * inside[at].size:
                _frame(out, *_around(places[at], parts=2))
            return _picture(maps[at], out, boxes[at])
    return None


def _faint(pixels: _Pixels) -> _Pixels:
    """Return a picture in faint greys."""
    low, high = _FAINT
    grey = (low + pixels.mean(axis=2) / 255 * (high - low)).astype(np.uint8)
    return np.repeat(grey[..., None], 3, axis=2)


def _halved(pixels: _Pixels) -> _Pixels:
    """Return a picture of half the size, which may be drawn upon."""
    from PIL import Image  # noqa: PLC0415 - slow to load

    return np.array(Image.fromarray(pixels).reduce(2))


def _around(where: NDArray[np.bool_], parts: int = 1) -> tuple[slice, slice]:
    """Return the rows and columns round some pixels, in a picture so many times as small."""
    near = 6 // parts
    sides = (np.nonzero(where.any(axis=axis))[0] // parts for axis in (1, 0))
    rows, columns = (slice(max(0, side[0] - near), side[-1] + near + 1) for side in sides)
    return rows, columns


def _frame(out: _Pixels, rows: slice, columns: slice) -> None:
    """Draw a line round some pixels, in place."""
    height, width = out.shape[:2]
    top, bottom = max(0, rows.start - 1), min(height, rows.stop + 1) - 1
    left, right = max(0, columns.start - 1), min(width, columns.stop + 1) - 1
    for row in (top, bottom):
        out[row, left : right + 1] = _FRAME
    for column in (left, right):
        out[top : bottom + 1, column] = _FRAME


def _picture(one: ColourMap, pixels: _Pixels, shown: Box) -> PagePicture:
    """Return what a box of a page shows, from pixels of the page in any size."""
    rows, columns = (
        slice(side.start * of // whole, -(-side.stop * of // whole))
        for side, of, whole in zip(one.window(shown), pixels.shape[:2], one.runs.shape, strict=True)
    )
    upright = _turned(one, pixels[rows, columns])
    height, width = upright.shape[:2]
    return PagePicture(one.page, _png(upright), width, height, one.boxes, shown)


def _png(pixels: _Pixels) -> bytes:
    from PIL import Image  # noqa: PLC0415 - slow to load

    with io.BytesIO() as packed:
        Image.fromarray(np.ascontiguousarray(pixels)).save(packed, "PNG", compress_level=4)
        return packed.getvalue()
