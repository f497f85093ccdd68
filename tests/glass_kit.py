"""Things that lie on a scanner's glass with a sheet, drawn: weave, gloss, shadows, uneven light.

Built on the invented scanner of ``scan_kit``; what is laid on the page is painted in light, not in
the numbers of a file, before the lamp, the lens and the noise have their say.
"""

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pypdfium2
from PIL import Image, ImageFilter

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.scan.picture import ScannedPicture
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size
from recording_kit import DATE
from scan_kit import Scanner, encoded, grain, page_pixels, perspective, seen

PLAIN = Scanner(dpi=110, blur=0.5, metamerism=0.2, noise=1.5)
_MIDDLES = {"butter": (4, 16, 62, 0), "slate": (62, 42, 30, 18)}


def sheet_with_berths(
    *,
    berths: tuple[str, ...] = ("butter", "slate"),
    middles: Mapping[str, tuple[float, ...]] = _MIDDLES,
) -> SampleSheet:
    """Return a planned sheet with swatches round some colours, and fields for their things."""
    rng = np.random.default_rng(11)
    groups = tuple(
        SwatchGroup(
            colour=colour,
            for_eye=True,
            builds=tuple(
                Build.cmyk(*map(float, np.clip(np.round(np.add(middle, steps)), 0, 100)))
                for steps in rng.normal(0, [9, 9, 9, 2], (16, 4))
            ),
        )
        for colour, middle in middles.items()
    )
    sheet = plan_sheet(
        Pair.parse("laser@bright-white"),
        Purpose.SCOUTING,
        groups,
        SheetFormat(size=Size.parse("letter"), unprintable=Sides.even(12)),
        drive=Drive.CMYK,
        date=DATE,
        berths=berths,
    )
    assert sheet is not None
    return sheet


@dataclass(frozen=True)
class Laid:
    """A thing as it is laid down."""

    lab: tuple[float, float, float]
    weave: float = 0.0
    """How much its threads are lighter and darker, as a share."""
    covers: tuple[float, float, float, float] = (-0.1, -0.1, 1.1, 1.1)
    """Left, bottom, right, top as shares of its berth."""
    streak: float = 0.0
    """How much light is mirrored in a stripe across it."""
    shadow_mm: float = 0.0
    """How wide a shadow it casts to the right and below."""
    dust: int = 0
    halves: tuple[float, float, float] | None = None
    """CIELAB of its right half, where that is another."""


def evenly(x: Array, y: Array) -> Array:
    """Light that is the same all over."""
    return np.ones(np.broadcast(x, y).shape)


def in_the_dark(x: Array, y: Array) -> Array:
    """Nothing that shines on a page."""
    return np.zeros(np.broadcast(x, y).shape)


def lamp(x: Array, y: Array) -> Array:
    """A scanner's lamp: dimmer at both ends, and a little to one side."""
    return 1.0 - 0.08 * (2 * x - 1) ** 2 + 0.03 * (y - 0.5)


def glass(
    sheet: SampleSheet,
    things: Mapping[str, Laid],
    *,
    light: Callable[[Array, Array], Array] = evenly,
    how: Scanner = PLAIN,
    exposure: float = 1.0,
    turned: float = 0.6,
    seed: int = 4,
    page: int = 1,
) -> ScannedPicture:
    """Return a page of a sheet with things on it, as scanned.

    ``light`` is given places on the page, 0 to 1 from the left and from the top.
    """
    rng = np.random.default_rng(seed)
    linear = _page_with(sheet, things, replace(how, seed=seed), rng, page)
    y, x = (np.linspace(0, 1, length) for length in linear.shape[:2])
    linear = linear * light(x[None, :], y[:, None])[..., None] * exposure
    flat = Image.fromarray(encoded(linear)).rotate(
        turned, Image.Resampling.BICUBIC, expand=True, fillcolor=how.shade
    )
    rim = round(0.03 * flat.width)
    whole = Image.new("RGB", (flat.width + 2 * rim, flat.height + 2 * rim), how.shade)
    whole.paste(flat, (rim, rim))
    whole = whole.filter(ImageFilter.GaussianBlur(how.blur))
    pixels = np.asarray(whole, dtype=np.float32) + grain(whole.size, how.noise, rng)
    return ScannedPicture(np.rint(np.clip(pixels, 0, 255)).astype(np.uint8), "glass.png")


def photograph(
    sheet: SampleSheet,
    things: Mapping[str, Laid],
    *,
    seed: int,
    dpi: int = 130,
    page: int = 1,
    light: Callable[[Array, Array], Array] = evenly,
    mirrored: Callable[[Array, Array], Array] = in_the_dark,
    exposure: float = 1.0,
) -> ScannedPicture:
    """Return a telephone's picture of a sheet on a table, with things on it.

    Aslant, in coloured light that falls off to one side, through a lens that darkens the corners
    and a tone curve of its own, its colours made stronger, packed small. How much of each follows
    from ``seed``. ``light`` and what is ``mirrored`` are given places as :func:`glass`'s light is.
    """
    rng = np.random.default_rng(seed)
    linear = _page_with(sheet, things, Scanner(dpi=dpi, metamerism=0.2), rng, page)
    return photographed(linear, rng, light=light, mirrored=mirrored, exposure=exposure)


def photographed(
    linear: Array,
    rng: np.random.Generator,
    *,
    light: Callable[[Array, Array], Array] = evenly,
    mirrored: Callable[[Array, Array], Array] = in_the_dark,
    exposure: float = 1.0,
) -> ScannedPicture:
    """Return a telephone's picture of what its sensor sees of a page, linear RGB (h, w, 3)."""
    height, width = linear.shape[:2]
    x, y = np.meshgrid(np.linspace(0, 1, width), np.linspace(0, 1, height))
    linear = linear * light(x, y)[..., None] + mirrored(x, y)[..., None]
    y, x = (np.mgrid[:height, :width].T / (width, height)).T[::-1] - 0.5
    towards, fall = rng.uniform(0, 2 * np.pi), rng.uniform(0.1, 0.35)
    room = 1 + fall * (np.cos(towards) * x + np.sin(towards) * y)
    room *= 0.8 * exposure * (1 - 0.5 * (x**2 + y**2))
    linear = linear * room[..., None] * (1 + rng.uniform(-0.12, 0.12, 3)) + rng.uniform(0, 0.012)
    shown = np.clip(linear, 0, 1) ** (1 / 2.2)
    shown = shown + rng.uniform(0.05, 0.3) * shown * (1 - shown) * (2 * shown - 1)
    grey = shown.mean(axis=-1, keepdims=True)
    shown = np.clip(grey + rng.uniform(1.0, 1.2) * (shown - grey), 0, 1)
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float64)
    moved = corners + rng.uniform(-0.05, 0.05, (4, 2)) * width
    moved -= moved.min(axis=0) - 60
    size = tuple(int(side) for side in np.ceil(moved.max(axis=0) + 60))
    picture = Image.fromarray(np.rint(255 * shown).astype(np.uint8)).transform(
        size,
        Image.Transform.PERSPECTIVE,
        perspective(moved, corners),
        Image.Resampling.BICUBIC,
        fillcolor=(90, 70, 55),
    )
    picture = picture.filter(ImageFilter.GaussianBlur(0.8))
    pixels = np.asarray(picture, dtype=np.float32)
    pixels = pixels + grain(picture.size, 2.5, rng) * (pixels < 254.5)  # what is full has no grain
    packed = io.BytesIO()
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(packed, "JPEG", quality=85)
    return ScannedPicture(np.asarray(Image.open(packed).convert("RGB")), "photograph.jpg")


def page_seen(sheet: SampleSheet, seen_as: Mapping[str, Array], paper: Array, dpi: int) -> Array:
    """Return linear RGB (h, w, 3) of a sheet's first page, for what sees by other laws than here.

    ``seen_as`` is linear RGB (3,) of each swatch by its id, and of each thing by its colour, that
    lies over its whole field.
    """
    with pypdfium2.PdfDocument(draw_sheet(sheet)) as document:
        ink = np.asarray(document[0].render(scale=dpi / 72).to_pil().convert("L")) / 255.0
    linear = ink[..., None] * paper + (1 - ink[..., None]) * 0.06
    boxes = [(it.id, it.box_pt) for it in sheet.swatches if it.page == 1]
    for name, box in [*boxes, *((it.colour, it.box_pt) for it in sheet.berths if it.page == 1)]:
        left, bottom, right, top = (round(side * dpi / 72) for side in box)
        if name in seen_as:
            linear[len(ink) - top : len(ink) - bottom, left:right] = seen_as[name]
    return linear


def _page_with(
    sheet: SampleSheet,
    things: Mapping[str, Laid],
    how: Scanner,
    rng: np.random.Generator,
    page: int = 1,
) -> Array:
    """Return linear RGB of a page with things laid on it."""
    flat = page_pixels(sheet, page, how) / 255.0
    linear = np.where(flat <= 0.04045, flat / 12.92, ((flat + 0.055) / 1.055) ** 2.4)
    for berth in sheet.berths:
        if berth.colour in things and berth.page == page:
            _lay(linear, things[berth.colour], berth.box_pt, how.dpi, rng)
    return linear


def _lay(
    page: Array,
    thing: Laid,
    box_pt: tuple[float, float, float, float],
    dpi: int,
    rng: np.random.Generator,
) -> None:
    """Paint a thing over linear RGB, in place."""
    scale = dpi / 72
    left, bottom, right, top = box_pt
    wide, high = right - left, top - bottom
    first, low, last, up = thing.covers
    columns = slice(round((left + first * wide) * scale), round((left + last * wide) * scale))
    rows = slice(
        round(len(page) - (bottom + up * high) * scale),
        round(len(page) - (bottom + low * high) * scale),
    )
    if thing.shadow_mm:
        cast = round(thing.shadow_mm / 25.4 * dpi)
        page[rows.start : rows.stop + cast, columns.start : columns.stop + cast] *= 0.6
    area = page[rows, columns]
    height, width = area.shape[:2]
    area[:] = seen(np.array(thing.lab))
    if thing.halves is not None:
        area[:, width // 2 :] = seen(np.array(thing.halves))
    y, x = np.mgrid[:height, :width] / dpi * 25.4
    threads = np.sign(np.sin(2 * np.pi * x / 0.9)) * np.sign(np.sin(2 * np.pi * y / 0.9))
    area *= 1.0 + thing.weave * (threads - threads.mean())[..., None]
    if thing.streak:
        across = (x + y) / (x + y).max()
        area += thing.streak * np.exp(-(((across - 0.5) / 0.1) ** 2))[..., None]
    for _ in range(thing.dust):
        spot = rng.integers(0, (height, width))
        area[spot[0] : spot[0] + 3, spot[1] : spot[1] + 5] = rng.choice([0.02, 0.9])
