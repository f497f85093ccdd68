"""Pictures of a page for a person: where it is cut, and where each of its colours stands."""

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.inventory.areas import ColourMap, colour_maps
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
LONGEST_PX = 480
"""How large pictures are, along their longer side."""
_FAINT = 222, 242
"""The greys between which the rest of a page is shown beside one of its colours."""
_SMALL = 0.004
"""A colour that covers less of the page is framed, to be found."""
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
    first = first_pages(data, MOST_PAGES)
    boxes, plain = _plain(first)
    longest = max(max(one.media.width, one.media.height) for one in boxes)
    dpi = 72 * LONGEST_PX / longest
    maps = list(colour_maps(first, dpi=dpi))
    unit = max(one.user_unit for one in boxes)
    drawn = [np.asarray(it) for it in page_pictures(plain, dpi=dpi * unit)]
    seen = [_fitted(drawn[one.page - 1], one) for one in maps]
    return PagePlaces(
        pages=tuple(_whole(one, pixels) for one, pixels in zip(maps, seen, strict=True)),
        colours=tuple(_most(maps, seen, colour) for colour in colours),
    )


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

    height, width = one.labels.shape
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
    maps: Sequence[ColourMap], seen: Sequence[_Pixels], colour: Sequence[ArtworkColour]
) -> PagePicture | None:
    """Draw the page that holds most of a colour, as it is printed, else all that is on it."""
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
            is_small = counts[at] < _SMALL * inside[at].size
            out = _faint_beside(seen[at], places[at], framed=is_small)
            return _picture(maps[at], out, boxes[at])
    return None


def _faint_beside(pixels: _Pixels, where: NDArray[np.bool_], *, framed: bool) -> _Pixels:
    """Return a picture in which only some pixels have their colour."""
    low, high = _FAINT
    grey = (low + pixels.mean(axis=2) / 255 * (high - low)).astype(np.uint8)
    out = np.repeat(grey[..., None], 3, axis=2)
    out[where] = pixels[where]
    if framed:
        _frame(out, *_around(where))
    return out


def _around(where: NDArray[np.bool_]) -> tuple[slice, slice]:
    rows, columns = np.nonzero(where.any(axis=1))[0], np.nonzero(where.any(axis=0))[0]
    return slice(max(0, rows[0] - 4), rows[-1] + 5), slice(max(0, columns[0] - 4), columns[-1] + 5)


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
    from PIL import Image  # noqa: PLC0415 - slow to load

    rows, columns = one.window(shown)
    upright = np.rot90(pixels[rows, columns], k=-(one.boxes.rotation // 90))
    image = Image.fromarray(np.ascontiguousarray(upright))
    with io.BytesIO() as packed:
        image.save(packed, "PNG", compress_level=7)
        data = packed.getvalue()
    return PagePicture(one.page, data, image.width, image.height, one.boxes, shown)
