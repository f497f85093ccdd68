"""A kit for tests of plugins: a small order, artwork, a shelf with readings, and assertions.

Public: plugins' tests may rely on it. It needs nothing but inkaccord itself.
"""

import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pikepdf
import yaml

from inkaccord.artwork.content.walk import walk
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.drawing.canvas import BOLD, Drawing
from inkaccord.files import replacing
from inkaccord.order.kinds import VendorKind
from inkaccord.order.loading import LoadedOrder, load_order
from inkaccord.pdf.boxes import page_boxes
from inkaccord.sheets.model import Reading, SampleSheet, SheetReadings
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.units import inches

BRAND = Build.cmyk(75, 20, 80, 10)
"""The brand colour of the artwork that :func:`draw_artwork` makes."""


def draw_artwork(
    trim: str = "5in x 7in", build: Build = BRAND, bleed_in: float = 1 / 8, label: str = "test"
) -> bytes:
    """Return a one-page PDF in one brand colour and black, with bleed and all boxes."""
    size = Size.parse(trim)
    bleed = inches(bleed_in)
    media = Size(width_pt=size.width_pt + 2 * bleed, height_pt=size.height_pt + 2 * bleed)
    drawing = Drawing(media, title="test artwork")
    box = (bleed, bleed, bleed + size.width_pt, bleed + size.height_pt)
    drawing.page(media, trim_pt=box, bleed_pt=bleed)
    canvas = drawing.canvas
    canvas.setFillColorCMYK(*(value / 100 for value in build.values))
    canvas.rect(0, 0, media.width_pt, media.height_pt / 3, stroke=0, fill=1)
    canvas.setFillColorCMYK(0, 0, 0, 1)
    canvas.setFont(BOLD, 18)
    canvas.drawString(bleed + 36, bleed + size.height_pt / 2, label)
    return drawing.bytes()


def order_with_vendor(
    folder: Path, vendor: Mapping[str, object], kinds: Mapping[str, VendorKind]
) -> LoadedOrder:
    """Write and load an order of one piece whose only vendor, ``printer``, is as given.

    ``vendor`` holds the fields under ``vendors: printer:`` and must have ``device``, the name of
    the device that prints the piece. Raises OrderError as loading does.
    """
    order = {
        "order": "test-order",
        "date": "2026-10-05",
        "suites": 20,
        "colours": {"leaf": {"aim": {"lab": [45, -38, 24]}, "in_artwork": [str(BRAND)]}},
        "stocks": {"card": {"size": "letter"}},
        "vendors": {"printer": dict(vendor)},
        "pieces": {
            "card": {
                "artwork": "card.pdf",
                "trim": "5in x 7in",
                "device": vendor["device"],
                "stock": "card",
            }
        },
    }
    with replacing(folder / "card.pdf") as temporary:
        temporary.write_bytes(draw_artwork())
    path = folder / "order.yaml"
    with replacing(path) as temporary:
        temporary.write_text(yaml.safe_dump(order, sort_keys=False), "utf-8")
    return load_order(path, kinds)


def plain_press(builds: Array) -> Array:
    """Return CIELAB (n, 3) of CMYK builds (n, 4) on an imaginary press: smooth and simple."""
    c, m, y, k = (np.asarray(builds, dtype=np.float64) / 100.0).T
    light = 95 * (1 - 0.45 * c) * (1 - 0.5 * m) * (1 - 0.08 * y) * (1 - 0.88 * k)
    strength = 1 - 0.8 * k
    a = (-38 * c + 72 * m - 6 * y + 10 * c * y) * strength
    b = (-48 * c - 4 * m + 90 * y - 30 * c * y) * strength - 2
    return np.stack([light, a, b], axis=-1)


def read_on_plain_press(shelf: Shelf, sheet: SampleSheet) -> None:
    """Record readings of a CMYK sheet as :func:`plain_press` prints it."""
    lab = plain_press(np.array([swatch.build.values for swatch in sheet.swatches]))
    shelf.record_readings(
        SheetReadings(
            sheet=sheet.id,
            readings=tuple(
                Reading(swatch=swatch.id, lab=tuple(row))
                for swatch, row in zip(sheet.swatches, lab.tolist(), strict=True)
            ),
            read_on=sheet.date,
        )
    )


def assert_boxes(data: bytes, trim: str, bleed_pt: float = 0.0) -> None:
    """Assert that every page is trimmed to a size within 0.01 pt and has at least this bleed."""
    wanted = Size.parse(trim)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for number, page in enumerate(pdf.pages, start=1):
            boxes = page_boxes(page)
            if not boxes.trim_size.same_as(wanted):
                raise AssertionError(f"page {number} is trimmed to {boxes.trim_size}, not {wanted}")
            if boxes.bleed_pt.least_pt < bleed_pt - 0.01:
                raise AssertionError(f"page {number} has {boxes.bleed_pt.least_pt:.2f} pt of bleed")


def assert_builds(data: bytes, *builds: Build) -> None:
    """Assert that a PDF paints with each of these builds."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        painted = {use.colour.paint for use in walk(pdf)}
    missing = [str(build) for build in builds if Paint.of_build(build) not in painted]
    if missing:
        raise AssertionError(f"not painted: {', '.join(missing)}; painted: {painted}")
