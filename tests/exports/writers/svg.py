"""A design as SVG, for vector editors and drawing libraries: RGB throughout."""

import base64
from pathlib import Path
from xml.sax.saxutils import escape

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
from exports.writers.outlines import svg_path

FONT = "DejaVu Sans"


class SvgWriter:
    """Collects definitions on the way through the marks of one design."""

    def __init__(self, photos: dict[str, Path]) -> None:
        self.photos = photos
        self.definitions: list[str] = []

    def write(self, design: Design) -> str:
        """Return the SVG: the page is the trim with its bleed."""
        body = "\n".join(self.mark(mark) for mark in design.marks)
        width, height = design.width + 2 * BLEED_MM, design.height + 2 * BLEED_MM
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
            f' width="{width:g}mm" height="{height:g}mm"'
            f' viewBox="{-BLEED_MM:g} {-BLEED_MM:g} {width:g} {height:g}">\n'
            f"<defs>\n{chr(10).join(self.definitions)}\n</defs>\n{body}\n</svg>\n"
        )

    def mark(self, mark: Mark) -> str:
        """Return one mark with its effects."""
        if isinstance(mark.paint, Photo):
            drawn = self.photo(mark.shape, mark.paint)
        else:
            drawn = self.shape(mark)
        style = []
        if mark.opacity != 1:
            style.append(f"opacity:{mark.opacity:g}")
        if mark.blur:
            name = self.define(
                '<filter id="%s" x="-0.5" y="-0.5" width="2" height="2">'
                f'<feGaussianBlur stdDeviation="{mark.blur:g}"/></filter>'
            )
            style.append(f"filter:url(#{name})")
        if mark.multiply:
            style.append("mix-blend-mode:multiply")
        attributes = f' style="{";".join(style)}"' if style else ""
        if mark.clip:
            name = self.define(f'<clipPath id="%s">{_disc(mark.clip)}</clipPath>')
            attributes += f' clip-path="url(#{name})"'
        return f"<g{attributes}>{drawn}</g>" if attributes else drawn

    def photo(self, box: object, photo: Photo) -> str:
        assert isinstance(box, Box)
        file = self.photos[photo.name]
        kind = "png" if file.suffix == ".png" else "jpeg"
        data = base64.b64encode(file.read_bytes()).decode()
        return (
            f'<image x="{box.x:g}" y="{box.y:g}" width="{box.w:g}" height="{box.h:g}"'
            f' preserveAspectRatio="none" xlink:href="data:image/{kind};base64,{data}"/>'
        )

    def shape(self, mark: Mark) -> str:
        shape, paint = mark.shape, mark.paint
        if isinstance(shape, Frame):
            assert isinstance(paint, Flat)
            return (
                f'<rect x="{shape.x:g}" y="{shape.y:g}" width="{shape.w:g}" height="{shape.h:g}"'
                f' fill="none" stroke="{paint.hex}" stroke-width="{shape.line:g}"/>'
            )
        fill = f'fill="{self.paint(paint)}"'
        if isinstance(shape, Box):
            return f"{_box(shape)[:-2]} {fill}/>"
        if isinstance(shape, Disc):
            return f"{_disc(shape)[:-2]} {fill}/>"
        assert isinstance(shape, Words)
        if shape.outlined:
            return f'<path d="{svg_path(shape)}" {fill}/>'
        return (
            f'<text x="{shape.x:g}" y="{shape.y:g}" font-family="{FONT}"'
            f' font-size="{shape.size_pt * 25.4 / 72:.4f}" {fill}>{escape(shape.text)}</text>'
        )

    def paint(self, paint: object) -> str:
        if isinstance(paint, Flat):
            return paint.hex
        if isinstance(paint, Blend):
            stops = "".join(
                f'<stop offset="{place:g}" stop-color="{stop.hex}"/>' for place, stop in paint.stops
            )
            kind = f"{paint.form}Gradient"
            name = self.define(f'<{kind} id="%s">{stops}</{kind}>')
            return f"url(#{name})"
        assert isinstance(paint, Dots)
        step = paint.step
        tile = (
            f'<rect width="{step:g}" height="{step:g}" fill="{paint.ground.hex}"/>'
            f'<circle cx="{step / 2:g}" cy="{step / 2:g}" r="{step / 4:g}"'
            f' fill="{paint.front.hex}"/>'
        )
        name = self.define(
            f'<pattern id="%s" width="{step:g}" height="{step:g}"'
            f' patternUnits="userSpaceOnUse">{tile}</pattern>'
        )
        return f"url(#{name})"

    def define(self, text: str) -> str:
        name = f"d{len(self.definitions)}"
        self.definitions.append(text % name)
        return name


def _box(box: Box) -> str:
    return f'<rect x="{box.x:g}" y="{box.y:g}" width="{box.w:g}" height="{box.h:g}"/>'


def _disc(disc: Disc) -> str:
    return f'<circle cx="{disc.x:g}" cy="{disc.y:g}" r="{disc.r:g}"/>'
