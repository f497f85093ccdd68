"""Unpacking pictures and reading 2D codes. A worker loads this alone: :mod:`inkaccord.apart`."""

import warnings
from collections.abc import Iterator
from typing import Any

MODES = frozenset({"RGB", "RGBA", "RGBX", "P"})
"""What Pillow calls pictures in colour."""


def unpack(path: str, most_pages: int, most_pixels: int) -> Iterator[dict[str, Any]]:
    """Unpack every page of a PNG, TIFF or JPEG file.

    Parameters
    ----------
    most_pages, most_pixels
        How many pages are taken, and pixels of one page and of all together.

    Yields
    ------
    ``width``, ``height`` and ``pixels``, RGB in 8 bits; or why a page is ``unfit``, which ends it.
    Whatever Pillow raises comes through.
    """
    from PIL import Image, ImageSequence  # noqa: PLC0415 - as PDFium's

    # Pillow warns from 90 million pixels on; ours is a limit of its own.
    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    left = most_pixels
    with Image.open(path, formats=("PNG", "TIFF", "JPEG")) as image:
        for number, page in enumerate(ImageSequence.Iterator(image), start=1):
            left -= page.width * page.height
            which = "the picture" if number == 1 else f"page {number}"
            unfit = None
            if number > most_pages:
                unfit = f"the file has more than {most_pages} pages"
            elif left < 0:
                size = f"{page.width} × {page.height}"
                unfit = f"{which} has {size} pixels, and at most {most_pixels:,} are read of a file"
            elif page.mode not in MODES:
                unfit = f"{which} is not in RGB colour (Pillow calls it {page.mode})"
            if unfit is not None:
                yield {"unfit": unfit}
                return
            pixels = page if page.mode == "RGB" else page.convert("RGB")
            yield {"width": page.width, "height": page.height, "pixels": pixels.tobytes()}


def read_codes(width: int, height: int, grey: bytes) -> Iterator[dict[str, Any]]:
    """Yield once: ``codes``, each QR code's text and its corners.

    Corners are (x, y) pixels: top left, top right, bottom right, bottom left.
    """
    import numpy as np  # noqa: PLC0415 - as PDFium's
    import zxingcpp  # noqa: PLC0415 - as PDFium's

    found = zxingcpp.read_barcodes(
        np.frombuffer(grey, np.uint8).reshape(height, width),
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode),
    )
    yield {
        "codes": [
            [
                code.text,
                [
                    [point.x, point.y]
                    for point in (
                        code.position.top_left,
                        code.position.top_right,
                        code.position.bottom_right,
                        code.position.bottom_left,
                    )
                ],
            ]
            for code in found
        ]
    }
