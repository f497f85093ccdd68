"""Render pages for the screen through PDFium, a Python package that is always there."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.apart.crew import Allowance, answers
from inkaccord.apart.worker import Values
from inkaccord.diagnostics import Place, error
from inkaccord.errors import FileError
from inkaccord.pdf.opening import hold_to_limits, pdf_bytes
from inkaccord.pdf.pdfium import draw_pages
from inkaccord.pdf.pixel_runs import PixelRuns

if TYPE_CHECKING:
    from PIL import Image

MAX_PIXELS = 60_000_000
"""More pixels on one page than this lower the resolution (A3 at 600 dpi still fits)."""
PDFIUM = Allowance("PDFium", seconds=30)


def page_pictures(
    source: Path | bytes,
    *,
    dpi: float = 96,
    pages: Sequence[int] | None = None,
) -> Iterator["Image.Image"]:
    """Render pages for the screen.

    Parameters
    ----------
    source
        The PDF.
    dpi
        Pixels per inch; lowered on a page that would exceed :data:`MAX_PIXELS`.
    pages
        Page numbers from 1; all when left out.

    Yields
    ------
    PIL.Image.Image
        RGB, one per page: the CropBox, rotated as the page says, annotations and filled form
        fields drawn.

    Raises
    ------
    FileError
        ``cannot-render`` when PDFium cannot read a page; ``took-too-long`` and the like when it
        needed more than :data:`PDFIUM` allows; what :func:`~inkaccord.pdf.opening.hold_to_limits`
        raises for the file.
    """
    hold_to_limits(source)
    yield from map(_picture, _drawn(source, dpi=dpi, pages=pages))


def page_codes(
    source: Path | bytes, *, dpi: float, pages: Sequence[int], max_pixels: int
) -> Iterator[PixelRuns]:
    """Render pages with every pixel in one object's colour, without blending at edges.

    Yields each page, otherwise as :func:`page_pictures` does, as the runs of ``0xRRGGBB``.
    """
    drawn = _drawn(source, dpi=dpi, pages=pages, max_pixels=max_pixels, smooth=False, codes=True)
    for one in drawn:
        rows = np.frombuffer(one["pixels"], "<u4").reshape(-1, one["stride"] // 4)
        runs = PixelRuns.of(rows[:, : one["width"]], np.array(one["repeats"], np.intp))
        yield runs.having(runs.values & np.uint32(0xFFFFFF))


def trimmed_pictures(
    source: Path | bytes, *, longest_px: int, paper: tuple[int, int, int]
) -> Iterator["Image.Image"]:
    """Render all pages cut to their TrimBox, on a colour of paper; without form fields.

    Yields and raises as :func:`page_pictures` does.
    """
    drawn = _drawn(source, longest_px=longest_px, paper=paper, to_trim=True, forms=False)
    yield from map(_picture, drawn)


def _drawn(
    source: Path | bytes,
    *,
    pages: Sequence[int] | None = None,
    dpi: float | None = None,
    longest_px: int = 0,
    max_pixels: int = MAX_PIXELS,
    smooth: bool = True,
    paper: tuple[int, int, int] = (255, 255, 255),
    to_trim: bool = False,
    forms: bool = True,
    codes: bool = False,
) -> Iterator[Values]:
    drawn = answers(
        draw_pages,
        PDFIUM,
        data=pdf_bytes(source),
        pages=None if pages is None else list(pages),
        dpi=dpi,
        longest_px=longest_px,
        max_pixels=max_pixels,
        smooth=smooth,
        paper=paper,
        to_trim=to_trim,
        forms=forms,
        codes=codes,
    )
    for one in drawn:
        if "problem" in one:
            raise cannot_render(one["problem"], one["page"])
        yield one


def _picture(drawn: Values) -> "Image.Image":
    from PIL import Image  # noqa: PLC0415 - slow to load

    size = (drawn["width"], drawn["height"])
    return Image.frombuffer("RGB", size, drawn["pixels"], "raw", "BGR", drawn["stride"], 1)


def cannot_render(problem: str, page: int | None = None) -> FileError:
    """Return what is said of a page that no program draws."""
    return FileError(
        error(
            "cannot-render",
            f"the page cannot be rendered: {problem}",
            place=Place(page=page),
            in_program="export it again, without protection",
        )
    )
