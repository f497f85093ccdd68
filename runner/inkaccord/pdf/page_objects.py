"""The objects around a page's content: what a page inherits, annotation appearances."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.geometry import IDENTITY, Bounds, Matrix, bounds_of

_DEEPEST_PAGE_TREE = 64
_HIDDEN, _NO_VIEW = 2, 32


def inherited(page: Any, key: str) -> Any:
    """Return an entry of a page, its own or that of the page tree above it; None without one."""
    node = page
    for _ in range(_DEEPEST_PAGE_TREE):
        if not isinstance(node, pikepdf.Dictionary):
            return None
        found = node.get(key)
        if found is not None:
            return found
        node = node.get("/Parent")
    return None


def content_streams(contents: Any) -> list[pikepdf.Stream]:
    """Return the streams of a ``/Contents`` entry: one, or an array of them."""
    parts = contents if isinstance(contents, pikepdf.Array) else [contents]
    return [part for part in parts if isinstance(part, pikepdf.Stream)]


def matrix_of(value: object) -> Matrix:
    """Return six numbers as a matrix; the identity when left out. Raises on nonsense."""
    if value is None:
        return IDENTITY
    a, b, c, d, e, f = (float(number) for number in value)  # type: ignore[attr-defined]  # iterates or raises
    if not all(map(math.isfinite, (a, b, c, d, e, f))):
        raise ValueError("a matrix holds something that is no number")
    return a, b, c, d, e, f


def rectangle_of(value: object) -> Bounds | None:
    """Return a PDF rectangle as left, bottom, right, top; None when it is no four numbers."""
    try:
        x0, y0, x1, y1 = (float(number) for number in value)  # type: ignore[attr-defined]  # iterates or raises
    except (TypeError, ValueError):  # no array, not of four, or not of numbers
        return None
    if not all(map(math.isfinite, (x0, y0, x1, y1))):
        return None
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def alternate_images(image: Any) -> list[pikepdf.Stream]:
    """Return the images that may show in the place of one (ISO 32000-2, 8.9.5.4)."""
    found = entry(image, "/Alternates")
    listed = [entry(one, "/Image") for one in found] if isinstance(found, pikepdf.Array) else []
    return [one for one in listed if isinstance(one, pikepdf.Stream)]


def shown_annotations(page: pikepdf.Dictionary) -> Iterator[pikepdf.Dictionary]:
    """Yield a page's annotations, hidden ones left out."""
    found = page.get("/Annots")
    if not isinstance(found, pikepdf.Array):
        return
    for item in found:
        if isinstance(item, pikepdf.Dictionary):
            flags = item.get("/F", 0)
            if not (isinstance(flags, int) and flags & (_HIDDEN | _NO_VIEW)):
                yield item


def appearance(annotation: pikepdf.Dictionary) -> tuple[pikepdf.Stream, Matrix] | None:
    """Return an annotation's normal appearance and the matrix that puts it on the page.

    The algorithm is that of ISO 32000-2, 12.5.5: the appearance's transformed BBox is mapped
    onto the annotation's Rect.
    """
    try:
        form = annotation["/AP"]["/N"]
        if not isinstance(form, pikepdf.Stream):
            form = form[str(annotation["/AS"])]
        rectangle = rectangle_of(annotation.get("/Rect"))
        bbox = rectangle_of(form.get("/BBox"))
        if not isinstance(form, pikepdf.Stream) or rectangle is None or bbox is None:
            return None
        x0, y0, x1, y1 = bounds_of(bbox, matrix_of(form.get("/Matrix")))
    except BAD_OBJECT:
        return None
    if x1 <= x0 or y1 <= y0:
        return None
    sx, sy = (rectangle[2] - rectangle[0]) / (x1 - x0), (rectangle[3] - rectangle[1]) / (y1 - y0)
    return form, (sx, 0.0, 0.0, sy, rectangle[0] - x0 * sx, rectangle[1] - y0 * sy)
