"""Small PDFs written for the tests of inventory and checks."""

import io
from collections.abc import Callable

import numpy as np
import pikepdf
from numpy.typing import NDArray
from reportlab.pdfgen.canvas import Canvas

from inkaccord.pdf.rendering import page_codes


def drawn(draw: Callable[[Canvas], None], size: tuple[float, float] = (200, 300)) -> bytes:
    """Return a one-page PDF drawn with reportlab."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1)
    draw(canvas)
    canvas.save()
    return out.getvalue()


def saved(pdf: pikepdf.Pdf) -> bytes:
    """Return an open PDF's bytes."""
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def finish(
    pdf: pikepdf.Pdf,
    content: str,
    boxes: dict[str, list[float]] | None = None,
    **resources: pikepdf.Object,
) -> bytes:
    """Add a page of 200 × 300 pt with a content stream, boxes and resources; return the bytes."""
    pdf.add_blank_page(page_size=(200, 300))
    page = pdf.pages[-1].obj
    page["/Contents"] = pdf.make_stream(content.encode("latin-1"))
    page["/Resources"] = pikepdf.Dictionary({f"/{key}": one for key, one in resources.items()})
    for name, corners in (boxes or {}).items():
        page[f"/{name}"] = pikepdf.Array(corners)
    return saved(pdf)


def written(
    content: str, boxes: dict[str, list[float]] | None = None, **resources: pikepdf.Object
) -> bytes:
    """Return a one-page PDF, 200 × 300 pt, of a content stream."""
    with pikepdf.new() as pdf:
        return finish(pdf, content, boxes, **resources)


def changed(data: bytes, change: Callable[[pikepdf.Pdf], None]) -> bytes:
    """Return a PDF's bytes after a change."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf)
        return saved(pdf)


def image(
    pdf: pikepdf.Pdf, samples: bytes, size_px: tuple[int, int], space: object, **entries: object
) -> pikepdf.Object:
    """Return an image of 8 bits a sample; its space is named, or an object."""
    settings: dict[str, object] = {
        "Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Image, "Width": size_px[0],
        "Height": size_px[1], "BitsPerComponent": 8, **entries,
        "ColorSpace": pikepdf.Name(space) if isinstance(space, str) else space,
    }  # fmt: skip
    return pdf.make_stream(samples, **settings)


def embedded_font(pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
    """Return a Type 3 font: embedded by nature; every letter is a full square."""
    square = pdf.make_stream(b"1000 0 0 0 1000 1000 d1 0 0 1000 1000 re f")
    codes = range(33, 127)
    return pdf.make_indirect(
        pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type3, Name=pikepdf.Name.Squares,
            FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
            FirstChar=33, LastChar=126, Widths=[1000] * len(codes),
            Encoding=pikepdf.Dictionary(
                Differences=pikepdf.Array([33, *(pikepdf.Name(f"/c{code}") for code in codes)])
            ),
            CharProcs=pikepdf.Dictionary({f"/c{code}": square for code in codes}),
            Resources=pikepdf.Dictionary(),
        )
    )  # fmt: skip


def unblended(data: bytes, dpi: float = 72) -> NDArray[np.uint8]:
    """Return the first page's pixels (height, width, RGB), each in one object's colour."""
    (runs,) = page_codes(data, dpi=dpi, pages=[1], max_pixels=10_000_000)
    codes = runs.pixels()
    return np.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=2).astype(np.uint8)
