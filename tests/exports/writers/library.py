"""A design drawn by a PDF library: CMYK, with spots and overprint, and all boxes."""

import io
from pathlib import Path
from typing import Any

from reportlab.lib.colors import CMYKColor, CMYKColorSep, Color
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from exports.designs import (
    BLEED_MM,
    Blend,
    Box,
    Design,
    Disc,
    Dots,
    Flat,
    Frame,
    Mark,
    Photo,
    Words,
)
from exports.writers.outlines import TYPEFACE, curves

MM = 72 / 25.4


class LibraryWriter:
    """Draws marks on a canvas whose unit is the millimetre, y upwards from the trim's foot."""

    def __init__(self, photos: dict[str, Path], kind: str = "spot", boxes: bool = True) -> None:
        self.photos = photos
        self.kind = kind
        self.boxes = boxes
        self.left_out: list[str] = []

    def write(self, design: Design) -> bytes:
        pdfmetrics.registerFont(TTFont("Dejavu", str(TYPEFACE)))
        width, height = (design.width + 2 * BLEED_MM) * MM, (design.height + 2 * BLEED_MM) * MM
        data = io.BytesIO()
        canvas = Canvas(data, pagesize=(width, height), invariant=1, pageCompression=1)
        if self.boxes:
            trim = (BLEED_MM * MM, BLEED_MM * MM, width - BLEED_MM * MM, height - BLEED_MM * MM)
            canvas.setTrimBox(trim)
            canvas.setBleedBox((0, 0, width, height))
        canvas.transform(MM, 0, 0, -MM, BLEED_MM * MM, height - BLEED_MM * MM)
        for mark in design.marks:
            if mark.blur or mark.multiply or isinstance(mark.paint, Dots):
                self.left_out.append("blur" if mark.blur else "multiply or pattern")
                continue
            canvas.saveState()
            self.mark(canvas, mark)
            canvas.restoreState()
        canvas.save()
        return data.getvalue()

    def mark(self, canvas: Canvas, mark: Mark) -> None:
        shape, paint = mark.shape, mark.paint
        if mark.clip:
            canvas.clipPath(_path(canvas, mark.clip), stroke=0)
        if mark.opacity != 1:
            canvas.setFillAlpha(mark.opacity)
        if mark.overprint:
            canvas.setFillOverprint(True)
        if isinstance(paint, Photo):
            assert isinstance(shape, Box)
            canvas.transform(1, 0, 0, -1, shape.x, shape.y + shape.h)
            canvas.drawImage(str(self.photos[paint.name]), 0, 0, shape.w, shape.h)
        elif isinstance(paint, Blend):
            self.blend(canvas, shape, paint)
        elif isinstance(shape, Words):
            canvas.setFillColor(self.colour(paint))
            self.words(canvas, shape)
        elif isinstance(shape, Frame):
            canvas.setStrokeColor(self.colour(paint))
            canvas.setLineWidth(shape.line)
            canvas.drawPath(_path(canvas, shape), stroke=1, fill=0)
        else:
            canvas.setFillColor(self.colour(paint))
            canvas.drawPath(_path(canvas, shape), stroke=0, fill=1)

    def blend(self, canvas: Canvas, shape: Any, paint: Blend) -> None:
        canvas.clipPath(_path(canvas, shape), stroke=0)
        colours = [self.colour(stop, plain=True) for _, stop in paint.stops]
        places = [place for place, _ in paint.stops]
        if paint.form == "linear":
            canvas.linearGradient(shape.x, 0, shape.x + shape.w, 0, colours, places)
        else:
            canvas.radialGradient(shape.x, shape.y, shape.r, colours, places)

    def words(self, canvas: Canvas, words: Words) -> None:
        if words.outlined:
            path = canvas.beginPath()
            for operator, points in curves(words):
                flat = [part for point in points for part in point]
                {"moveTo": path.moveTo, "lineTo": path.lineTo, "curveTo": path.curveTo}.get(
                    operator, path.close
                )(*flat)
            canvas.drawPath(path, stroke=0, fill=1)
            return
        canvas.transform(1 / MM, 0, 0, -1 / MM, words.x, words.y)
        canvas.setFont("Dejavu", words.size_pt)
        canvas.drawString(0, 0, words.text)

    def colour(self, flat: Flat, plain: bool = False) -> Color:
        if self.kind == "rgb":
            return Color(*(part / 255 for part in flat.rgb))
        cyan, magenta, yellow, black = (part / 100 for part in flat.colour.cmyk)
        if flat.colour.spot and self.kind == "spot" and not plain:
            return CMYKColorSep(
                cyan, magenta, yellow, black, spotName=flat.colour.spot, density=flat.tint
            )
        return CMYKColor(*(part / 100 for part in flat.cmyk))


def _path(canvas: Canvas, shape: Any) -> Any:
    path = canvas.beginPath()
    if isinstance(shape, Disc):
        path.circle(shape.x, shape.y, shape.r)
    else:
        path.rect(shape.x, shape.y, shape.w, shape.h)
    return path
