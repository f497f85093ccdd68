"""Scans of sheets, invented: printed, laid down crooked, blurred, dirty, and seen by a scanner.

The scanner here is no sRGB device: its filters mix XYZ, its curve bends, and every swatch is off
by a random colour error of its own, as inks are to filters that are not the eye's.
"""

import io
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size
from recording_kit import DATE, lab_of

_CROSSTALK = np.array([[0.86, 0.12, 0.02], [0.10, 0.80, 0.10], [0.02, 0.14, 0.84]])
_XYZ_TO_RGB = np.array(  # any primaries will do; these are wide, and white is 1 1 1
    [[1.7827, -0.4974, -0.2687], [-0.9596, 1.9478, -0.0274], [0.0859, -0.1744, 1.3228]]
)
_XYZ_TO_RGB /= (_XYZ_TO_RGB @ np.array([0.96422, 1.0, 0.82521]))[:, None]
_FILTERS = _CROSSTALK @ _XYZ_TO_RGB
"""From XYZ to what the scanner's three filters let through."""


def drawn_sheet(
    size: str = "letter", *, colours: int = 3, each: int = 9, pair: str = "laser@smooth-ivory"
) -> SampleSheet:
    """Return a planned sheet with swatches round a few colours."""
    rng = np.random.default_rng(8)
    groups = tuple(
        SwatchGroup(
            colour=f"colour {number + 1}",
            builds=tuple(
                Build.cmyk(*map(float, np.clip(np.round(middle + rng.normal(0, 8, 4)), 0, 100)))
                for _ in range(each)
            ),
        )
        for number, middle in enumerate(rng.uniform([5, 5, 5, 0], [85, 85, 85, 35], (colours, 4)))
    )
    sheet = plan_sheet(
        Pair.parse(pair),
        Purpose.CLOSING_IN,
        groups,
        SheetFormat(size=Size.parse(size), unprintable=Sides.even(12)),
        drive=Drive.CMYK,
        date=DATE,
    )
    assert sheet is not None
    return sheet


@dataclass(frozen=True)
class Scanner:
    """How a scan was made."""

    dpi: int = 300
    turned: float = 1.7
    """Degrees anticlockwise."""
    perspective: float = 0.01
    """How far corners are pulled about, as a share of the page."""
    blur: float = 0.8
    """Pixels, standard deviation."""
    noise: float = 2.0
    """8-bit steps, standard deviation of a pixel."""
    metamerism: float = 0.5
    """CIELAB, standard deviation of each swatch's own error."""
    dirt: int = 40
    """Specks and scratches on the page."""
    jpeg: int | None = 92
    seed: int = 0
    screen: bool = True
    """Whether swatches are printed in dots."""
    border: float = 0.06
    shade: tuple[int, int, int] = field(default=(214, 214, 210))


def page_pixels(sheet: SampleSheet, page: int, scanner: Scanner) -> NDArray[np.uint8]:
    """Return an undistorted page as the scanner sees it."""
    return _page_pixels(
        sheet, page, scanner.dpi, scanner.seed, scanner.metamerism, screen=scanner.screen
    )


@lru_cache(maxsize=6)
def _page_pixels(
    sheet: SampleSheet, page: int, dpi: int, seed: int, metamerism: float, *, screen: bool
) -> NDArray[np.uint8]:
    import pypdfium2

    rng = np.random.default_rng(seed)
    document = pypdfium2.PdfDocument(draw_sheet(sheet))
    bitmap = document[page - 1].render(scale=dpi / 72)
    ink = np.asarray(bitmap.to_pil().convert("L"))
    document.close()
    labs = lab_of(sheet)
    paper = labs[next(at for at, s in enumerate(sheet.swatches) if not any(s.build.values))]
    # type, marks and code stay; then every swatch in the colour that the printer gave it
    steps = np.arange(256)[:, None] / 255
    image = encoded(steps * seen(paper) + (1 - steps) * 0.06)[ink]
    scale = dpi / 72
    for swatch, lab in zip(sheet.swatches, labs, strict=True):
        if swatch.page != page:
            continue
        assert swatch.box_pt is not None
        left, bottom, right, top = swatch.box_pt
        rows = slice(round(len(image) - top * scale), round(len(image) - bottom * scale))
        columns = slice(round(left * scale), round(right * scale))
        own = seen(lab + rng.normal(0, metamerism, 3))
        shape = image[rows, columns].shape
        image[rows, columns] = encoded(dots(own, seen(paper), shape, dpi) if screen else own)
    return image


def encoded(linear: Array) -> NDArray[np.uint8]:
    """Return linear RGB in 8 bits, as IEC 61966-2-1 encodes it."""
    curved = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.rint(np.clip(curved, 0, 1) * 255).astype(np.uint8)


def seen(lab: Array) -> Array:
    """Return the scanner's linear RGB of a colour: mixed by its filters, bent by its curve."""
    linear = np.clip(lab_to_xyz(lab) / 100 @ _FILTERS.T, 0.002, 1.0)
    return np.asarray(0.96 * linear**1.12 + 0.012)


def dots(own: Array, paper: Array, shape: tuple[int, ...], dpi: int) -> Array:
    """Return dots on paper of 100 lines an inch whose mean is ``own``."""
    swing = np.minimum(np.abs(paper - own), own) * 0.9
    return own + tone(*shape[:2], dpi)[..., None] * swing


@lru_cache
def tone(height: int, width: int, dpi: int) -> Array:
    """Return how far a screen at 45° lies above and below its mean."""
    y, x = np.mgrid[:height, :width] * (100 / dpi)
    waves = np.cos(2 * np.pi * (x + y) / 2**0.5) + np.cos(2 * np.pi * (x - y) / 2**0.5)
    return np.asarray((waves - waves.mean()) / 4)


def scan(sheet: SampleSheet, scanner: Scanner | None = None, *, page: int = 1) -> Image.Image:
    """Return a scan of a page: crooked, blurred, dirty, noisy."""
    how = scanner or Scanner()
    rng = np.random.default_rng(how.seed + 100)
    flat = Image.fromarray(page_pixels(sheet, page, how))
    width, height = flat.size
    pixels = np.array(flat)
    for _ in range(how.dirt):
        x, y = rng.integers(0, (width, height))
        long, wide = sorted(rng.integers(1, how.dpi // 12, 2))
        pixels[y : y + wide, x : x + max(1, long // 3)] = rng.choice([20, 250])
    flat = Image.fromarray(pixels)

    angle = np.radians(how.turned)
    middle = np.array([width, height]) / 2
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float64)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    moved = (corners - middle) @ turn.T
    moved += rng.uniform(-1, 1, (4, 2)) * how.perspective * width
    moved -= moved.min(axis=0) - how.border * width
    size = tuple(int(v) for v in np.ceil(moved.max(axis=0) + how.border * width))
    coefficients = perspective(moved, corners)
    shown = flat.transform(
        size, Image.Transform.PERSPECTIVE, coefficients, Image.Resampling.BICUBIC,
        fillcolor=how.shade,
    )  # fmt: skip
    shown = shown.filter(ImageFilter.GaussianBlur(how.blur))
    noisy = np.asarray(shown, dtype=np.float32) + grain(size, how.noise, rng)
    result = Image.fromarray(np.rint(np.clip(noisy, 0, 255)).astype(np.uint8))
    if how.jpeg is None:
        return result
    packed = io.BytesIO()
    result.save(packed, "JPEG", quality=how.jpeg, subsampling=0)
    return Image.open(io.BytesIO(packed.getvalue()))


def grain(size: tuple[int, int], noise: float, rng: np.random.Generator) -> NDArray[np.float32]:
    """Return every pixel's noise: 256 rows, which come again below where another swatch lies."""
    width, height = size
    rows = rng.standard_normal((256, width, 3), dtype=np.float32) * np.float32(noise)
    return np.resize(rows, (height, width, 3))


def perspective(onto: Array, source: Array) -> list[float]:
    """Return the coefficients by which Pillow draws ``source`` corners at ``onto``."""
    rows = []
    for (x, y), (u, v) in zip(onto, source, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    return list(np.linalg.solve(np.array(rows), source.ravel()))


def instrument(sheet: SampleSheet, which: slice | list[str]) -> SheetReadings:
    """Return an instrument's reading of some swatches: by slice, or by id."""
    rows = list(zip(sheet.swatches, lab_of(sheet).tolist(), strict=True))
    wanted = (
        rows[which] if isinstance(which, slice) else [row for row in rows if row[0].id in which]
    )
    return SheetReadings(
        sheet=sheet.id,
        readings=tuple(Reading(swatch=s.id, lab=tuple(lab)) for s, lab in wanted),
    )


def on_one_glass(*sheets: object) -> bytes:
    """Sheets that lie below each other on one glass."""
    how = Scanner(dpi=150, seed=3, jpeg=None, metamerism=0.3)
    seen = [np.asarray(scan(sheet, how)) for sheet in sheets]
    wide = max(it.shape[1] for it in seen)
    rows = [
        np.pad(it, ((0, 0), (0, wide - it.shape[1]), (0, 0)), constant_values=214) for it in seen
    ]
    with io.BytesIO() as packed:
        Image.fromarray(np.vstack(rows)).save(packed, "PNG", dpi=(150, 150))
        return packed.getvalue()
