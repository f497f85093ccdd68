"""A picture page: each colour of an artwork beside the places where it stands. One HTML file."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from inkaccord.artwork.inventory.areas import ColourMap, colour_maps
from inkaccord.artwork.inventory.inventory import ColourEntry, Inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest
from inkaccord.artwork.pixels import commonest
from inkaccord.pdf.rendering import page_pictures

_LONGEST_PX = 380
"""Longer side of a page's picture."""
_MOST_PAGES = 24
_RING = 3
_SMALL = 0.03
_URGENT = (ColourStanding.NEAR_MISS, ColourStanding.UNKNOWN)


@dataclass(frozen=True)
class _Place:
    """Where one colour stands on one page: a stencil, and a ring round what is small."""

    page: int
    area: str
    stencil: str
    ring: str | None


@dataclass(frozen=True)
class _Shown:
    """One colour as the page shows it."""

    entry: ColourEntry
    nearest: Nearest | None
    chip: str
    area: str
    share: str
    ink: str
    uses: str
    places: tuple[_Place, ...]
    more_pages: int


@dataclass(frozen=True)
class _Page:
    number: int
    picture: str
    width: int
    height: int
    size: str


def inventory_page(
    source: Path | bytes,
    found: Inventory,
    *,
    nearest: Sequence[Nearest] = (),
) -> str:
    """Return the HTML page that shows an inventory.

    Parameters
    ----------
    source
        The PDF that was looked through.
    found
        What :func:`~inkaccord.artwork.inventory.inventory.inventory` found in it.
    nearest
        What :func:`~inkaccord.artwork.inventory.nearest.nearest` says, in the same order as the
        colours; may be left out.

    Returns
    -------
    str
        HTML with everything inside, for files of up to 24 pages; further pages are counted only.

    Raises
    ------
    FileError
        When the file cannot be drawn.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - only here

    pages, maps, pictures = _draw(source, found)
    judged = {one.colour: one for one in nearest}
    shown = [_show(entry, judged.get(entry.colour), maps, pictures) for entry in found.colours]
    shown.sort(key=lambda one: one.nearest is None or one.nearest.standing not in _URGENT)
    engine = Environment(
        loader=PackageLoader("inkaccord.artwork"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return engine.get_template("inventory.html").render(
        title=Path(found.file).name if found.file else "Artwork",
        found=found,
        pages=pages,
        colours=shown,
        urgent=[one for one in shown if one.nearest and one.nearest.standing in _URGENT],
        bare=_area(sum(page.bare_mm2 or 0 for page in found.pages)),
    )


def _draw(
    source: Path | bytes, found: Inventory
) -> tuple[list[_Page], dict[int, ColourMap], dict[int, NDArray[np.uint8]]]:
    numbers = [page.number for page in found.pages if page.boxes is not None][:_MOST_PAGES]
    boxes = {page.number: page.boxes for page in found.pages}
    longest_pt = max(
        (max(one.crop.width, one.crop.height) for one in boxes.values() if one is not None),
        default=1.0,
    )
    dpi = 2 * _LONGEST_PX / longest_pt * 72
    pictures: dict[int, NDArray[np.uint8]] = {}
    pages: list[_Page] = []
    for number, picture in zip(numbers, page_pictures(source, dpi=dpi, pages=numbers), strict=True):
        pictures[number] = np.asarray(picture)
        one = boxes[number]
        assert one is not None  # noqa: S101 - numbers lists only pages with boxes
        width, height = one.trim_size.in_mm
        pages.append(
            _Page(
                number=number,
                picture=_data_url(picture.convert("P", palette=Image.Palette.ADAPTIVE)),
                width=round(picture.width / 2),
                height=round(picture.height / 2),
                size=f"{width:.1f} × {height:.1f} mm",
            )
        )
    maps = {one.page: one for one in colour_maps(source, dpi=dpi) if one.page in pictures}
    return pages, maps, pictures


def _show(
    entry: ColourEntry,
    judged: Nearest | None,
    maps: dict[int, ColourMap],
    pictures: dict[int, NDArray[np.uint8]],
) -> _Shown:
    places: list[_Place] = []
    chip = ""
    drawn = [page for page in entry.pages if page.page in maps]
    for page in drawn:
        stencil = _stencil(entry, maps[page.page], pictures[page.page].shape)
        if not stencil.any():
            continue
        if not chip:
            # The commonest value: edges of fine type are mixed with what lies around them.
            chip = "#" + bytes(commonest(pictures[page.page][stencil])).hex()
        small = stencil.mean() < _SMALL
        places.append(
            _Place(
                page=page.page,
                area=_area(page.area_mm2),
                stencil=_mask_url(stencil),
                ring=_mask_url(_ring(stencil)) if small else None,
            )
        )
    ink = entry.colour.total_ink
    return _Shown(
        entry=entry,
        nearest=judged,
        chip=chip,
        area=_area(entry.area_mm2),
        share=_share(entry, maps),
        ink=f"{ink:g} %" if ink is not None else "not fixed in the file",
        uses=", ".join(str(role) for role in entry.roles),
        places=tuple(places),
        more_pages=len(entry.pages) - len(drawn),
    )


def _stencil(entry: ColourEntry, found: ColourMap, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return where a colour stands, on the pixels of the page's picture."""
    rows, columns = found.window(found.boxes.crop)
    inside = np.rot90(
        found.where(entry.steps or (entry.colour,))[rows, columns], -(found.boxes.rotation // 90)
    )
    high, wide = shape[:2]
    picture = Image.fromarray(inside.astype(np.uint8) * 255).resize(
        (wide, high), Image.Resampling.BOX
    )
    return np.asarray(picture) >= 64  # a fine line keeps a quarter of a pixel


def _ring(stencil: NDArray[np.bool_]) -> NDArray[np.bool_]:
    from scipy import ndimage  # noqa: PLC0415 - slow to load

    near = ndimage.binary_dilation(stencil, iterations=_RING)
    far = ndimage.binary_dilation(near, iterations=_RING)
    return np.asarray(far & ~near)


def _share(entry: ColourEntry, maps: dict[int, ColourMap]) -> str:
    area = entry.area_mm2
    whole = sum(one.boxes.crop.area * (25.4 / 72) ** 2 for one in maps.values())
    if area is None or whole <= 0:
        return ""
    percent = 100 * area / whole
    return f"{percent:.1f} %" if percent >= 0.05 else "under 0.1 %"


def _area(area_mm2: float | None) -> str:
    if area_mm2 is None:
        return "not measured"
    if area_mm2 >= 10_000:
        return f"{area_mm2 / 100:,.0f} cm²"
    return f"{area_mm2:,.0f} mm²" if area_mm2 >= 10 else f"{area_mm2:.1f} mm²"


def _mask_url(stencil: NDArray[np.bool_]) -> str:
    """Return a picture whose opaque pixels are the stencil, as two-colour PNG."""
    picture = Image.fromarray(stencil.astype(np.uint8))
    picture.putpalette([0, 0, 0, 0, 0, 0])
    return _data_url(picture, transparency=0, bits=1)


def _data_url(picture: Image.Image, **options: int) -> str:
    out = io.BytesIO()
    picture.save(out, format="PNG", optimize=True, **options)
    return "data:image/png;base64," + base64.b64encode(out.getvalue()).decode()
