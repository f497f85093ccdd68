"""PDFium: drawing pages, and writing files anew. A worker loads this module alone."""

import contextlib
import io
import logging
import math
from collections.abc import Iterator, Sequence
from typing import Any


def draw_pages(
    data: bytes,
    pages: Sequence[int] | None,
    dpi: float | None,
    longest_px: float,
    max_pixels: float,
    smooth: bool,
    paper: Sequence[int],
    to_trim: bool,
    forms: bool,
    codes: bool,
) -> Iterator[dict[str, Any]]:
    """Draw pages.

    Parameters
    ----------
    data
        The file.
    pages
        Page numbers from 1; None for all.
    dpi, longest_px, max_pixels
        Pixels per inch, lowered on a page that would have more than ``max_pixels``; or, where that
        is None, pixels of the longer side.
    smooth
        False draws every pixel in one object's colour, without blending at edges.
    paper
        Red, green and blue of what nothing covers, 0 to 255.
    to_trim
        Whether a page is cut to its TrimBox rather than to its CropBox.
    forms
        Whether filled form fields are drawn.
    codes
        Whether a pixel takes four bytes, of which the last means nothing, rather than three, and
        a row that is like the one above it is left out.

    Yields
    ------
    ``width``, ``height``, ``stride`` (bytes from row to row), and ``pixels``: blue, green, red. As
    codes also ``repeats``: how often each row that is given stands below itself.
    What PDFium can't read is a ``problem``, with its ``page`` where it is one, and ends it.
    """
    import pypdfium2 as pdfium  # noqa: PLC0415 - a worker's other tasks need none of it
    import pypdfium2.raw as pdfium_c  # noqa: PLC0415 - as above

    number: int | None = None
    try:
        with contextlib.closing(pdfium.PdfDocument(bytes(data))) as document:
            if forms and document.get_formtype() != pdfium_c.FORMTYPE_NONE:
                logging.getLogger("pypdfium2").setLevel(logging.ERROR)  # advice to programmers
                with contextlib.suppress(pdfium.PdfiumError):
                    document.init_forms()
            for number in range(1, len(document) + 1) if pages is None else pages:
                with contextlib.closing(document[number - 1]) as page:
                    if to_trim:
                        _cut_to_trim(page)
                    # PDFium knows no UserUnit: a page that has one comes out smaller, never wrong.
                    width, height = page.get_size()
                    bitmap = page.render(
                        scale=_scale(width, height, dpi, longest_px, max_pixels),
                        fill_color=(*paper, 255),
                        no_smoothtext=not smooth,
                        no_smoothpath=not smooth,
                        no_smoothimage=not smooth,
                        prefer_bgrx=codes,
                    )
                    with contextlib.closing(bitmap):
                        size = {key: getattr(bitmap, key) for key in ("width", "height", "stride")}
                        pixels = memoryview(bitmap.buffer).cast("B")
                        if codes:
                            yield {**size, **_rows(pixels, bitmap.stride)}
                        else:
                            yield {**size, "pixels": pixels}
    except (pdfium.PdfiumError, IndexError, ValueError) as problem:
        yield {"problem": str(problem), "page": number}


def _rows(pixels: memoryview, stride: int) -> dict[str, Any]:
    """Return the rows that are not like the one above them, and how often each stands there."""
    rows: list[bytes] = []
    repeats: list[int] = []
    last = b""
    for at in range(0, len(pixels), stride):
        row = pixels[at : at + stride].tobytes()
        if row == last:
            repeats[-1] += 1
        else:
            rows.append(row)
            repeats.append(1)
            last = row
    return {"pixels": b"".join(rows), "repeats": repeats}


def safe_dpi(width_pt: float, height_pt: float, dpi: float, max_pixels: float) -> float:
    """Return ``dpi``, lowered where a page of this size would need too many pixels."""
    pixels = width_pt * height_pt * (dpi / 72) ** 2
    return dpi if pixels <= max_pixels else dpi * math.sqrt(max_pixels / pixels)


def _scale(
    width: float, height: float, dpi: float | None, longest_px: float, max_pixels: float
) -> float:
    if dpi is None:
        return longest_px / max(width, height, 1.0)
    return safe_dpi(width, height, dpi, max_pixels) / 72


def _cut_to_trim(page: Any) -> None:
    left, bottom, right, top = page.get_mediabox()
    trim = page.get_trimbox()
    page.set_cropbox(
        max(left, trim[0]), max(bottom, trim[1]), min(right, trim[2]), min(top, trim[3])
    )


def rewrite(data: bytes, most_pages: int) -> Iterator[dict[str, Any]]:
    """Write a file anew from what PDFium can read of it.

    Yields
    ------
    ``data``, the new file. What PDFium can't read yields nothing, nor what has no
    pages or too many.
    """
    import pypdfium2 as pdfium  # noqa: PLC0415 - as above

    written = io.BytesIO()
    with contextlib.suppress(pdfium.PdfiumError):
        with contextlib.closing(pdfium.PdfDocument(bytes(data))) as document:
            if not 0 < len(document) <= most_pages:
                return
            for page in document:
                page.close()
            document.save(written)
        yield {"data": written.getvalue()}
