"""A design as a flat drawing of an office suite: RGB, its own gradients, shadows and soft edges."""

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
from exports.writers.outlines import curves

NAMES = " ".join(
    f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{space}:1.0"'
    for prefix, space in (
        ("office", "office"),
        ("style", "style"),
        ("draw", "drawing"),
        ("text", "text"),
        ("svg", "svg-compatible"),
        ("fo", "xsl-fo-compatible"),
    )
)


class FodgWriter:
    """Writes marks as shapes, each with a style of its own."""

    def __init__(self, photos: dict[str, Path]) -> None:
        self.photos = photos
        self.left_out: list[str] = []
        self.styles: list[str] = []
        self.gradients: list[str] = []

    def write(self, design: Design) -> str:
        width, height = design.width + 2 * BLEED_MM, design.height + 2 * BLEED_MM
        body = "\n".join(self.mark(mark) for mark in design.marks)
        return (
            f'<?xml version="1.0" encoding="UTF-8"?>\n<office:document {NAMES}'
            ' xmlns:xlink="http://www.w3.org/1999/xlink"'
            ' xmlns:loext="urn:org:documentfoundation:names:experimental:office:xmlns:loext:1.0"'
            ' office:version="1.3"'
            ' office:mimetype="application/vnd.oasis.opendocument.graphics">\n'
            f"<office:styles>{''.join(self.gradients)}</office:styles>\n"
            f"<office:automatic-styles>"
            f'<style:page-layout style:name="L"><style:page-layout-properties'
            f' fo:margin="0mm" fo:page-width="{width:g}mm" fo:page-height="{height:g}mm"/>'
            f"</style:page-layout>{''.join(self.styles)}</office:automatic-styles>\n"
            '<office:master-styles><style:master-page style:name="M" style:page-layout-name="L"/>'
            "</office:master-styles>\n<office:body><office:drawing>"
            f'<draw:page draw:name="{design.name}" draw:master-page-name="M">\n{body}\n'
            "</draw:page></office:drawing></office:body></office:document>\n"
        )

    def mark(self, mark: Mark) -> str:
        shape, paint = mark.shape, mark.paint
        if mark.clip or mark.multiply or isinstance(paint, Dots):
            self.left_out.append("clip, multiply or pattern")
            return ""
        if isinstance(shape, Words) and not shape.outlined:
            return self.words(shape, paint)
        if isinstance(paint, Photo):
            assert isinstance(shape, Box)
            data = base64.b64encode(self.photos[paint.name].read_bytes()).decode()
            return (
                f"<draw:frame {_at(shape)}><draw:image><office:binary-data>{data}"
                "</office:binary-data></draw:image></draw:frame>"
            )
        style = self.style(mark)
        if isinstance(shape, Words):
            return self.outlined(shape, style)
        kind = "ellipse" if isinstance(shape, Disc) else "rect"
        box = shape.box if isinstance(shape, Disc) else shape
        return f'<draw:{kind} draw:style-name="{style}" {_at(box)}/>'

    def style(self, mark: Mark) -> str:
        paint = mark.paint
        if isinstance(mark.shape, Frame):
            assert isinstance(paint, Flat)
            look = (
                f'draw:fill="none" draw:stroke="solid" svg:stroke-width="{mark.shape.line:g}mm"'
                f' svg:stroke-color="{paint.hex}"'
            )
        elif isinstance(paint, Flat):
            look = f'draw:stroke="none" draw:fill="solid" draw:fill-color="{paint.hex}"'
        else:
            assert isinstance(paint, Blend)
            look = f'draw:stroke="none" draw:fill="gradient" {self.gradient(paint)}'
        if mark.opacity != 1:
            look += f' draw:opacity="{mark.opacity:.0%}"'
        if mark.blur:
            # The suite blurs no shape; a soft shadow in the shape's own colour lies under it.
            assert isinstance(paint, Flat)
            self.left_out.append("blur (a soft shadow instead)")
            look += (
                ' draw:shadow="visible" draw:shadow-offset-x="2mm" draw:shadow-offset-y="2mm"'
                f' draw:shadow-color="{paint.hex}" draw:shadow-opacity="60%"'
                f' loext:shadow-blur="{2 * mark.blur:g}mm"'
            )
        return self.graphic(look)

    def gradient(self, paint: Blend) -> str:
        if len(paint.stops) > 2:
            self.left_out.append("middle stops")
        first, last = paint.stops[0][1], paint.stops[-1][1]
        if paint.form == "radial":
            first, last = last, first
            form = 'draw:style="radial" draw:cx="50%" draw:cy="50%" draw:border="29%"'
        else:
            form = 'draw:style="linear" draw:angle="90deg"'
        name = f"g{len(self.gradients)}"
        self.gradients.append(
            f'<draw:gradient draw:name="{name}" {form} draw:start-color="{first.hex}"'
            f' draw:end-color="{last.hex}" draw:start-intensity="100%"'
            f' draw:end-intensity="100%"/>'
        )
        return f'draw:fill-gradient-name="{name}" draw:gradient-step-count="0"'

    def words(self, words: Words, paint: object) -> str:
        assert isinstance(paint, Flat)
        frame = self.graphic(
            'draw:stroke="none" draw:fill="none" fo:padding="0mm"'
            ' draw:textarea-vertical-align="top" draw:auto-grow-width="true"'
        )
        name = f"t{len(self.styles)}"
        self.styles.append(
            f'<style:style style:name="{name}" style:family="text"><style:text-properties'
            f' fo:font-family="DejaVu Sans" fo:font-size="{words.size_pt:g}pt"'
            f' fo:color="{paint.hex}"/></style:style>'
        )
        size = words.size_pt * 25.4 / 72
        box = Box(words.x, words.y - 0.928 * size, 100, 1.2 * size)
        return (
            f'<draw:frame draw:style-name="{frame}" {_at(box)}><draw:text-box><text:p>'
            f'<text:span text:style-name="{name}">{escape(words.text)}</text:span></text:p>'
            "</draw:text-box></draw:frame>"
        )

    def outlined(self, words: Words, style: str) -> str:
        letters = {"moveTo": "M", "lineTo": "L", "curveTo": "C", "closePath": "Z"}
        steps = curves(words)
        points = [point for _, some in steps for point in some]
        left, top = min(x for x, _ in points), min(y for _, y in points)
        right, foot = max(x for x, _ in points), max(y for _, y in points)
        path = " ".join(
            letters[operator]
            + " ".join(f"{round((x - left) * 100)} {round((y - top) * 100)}" for x, y in some)
            for operator, some in steps
        )
        box = Box(left, top, right - left, foot - top)
        view = f"0 0 {round(box.w * 100)} {round(box.h * 100)}"
        return (
            f'<draw:path draw:style-name="{style}" {_at(box)} svg:viewBox="{view}" svg:d="{path}"/>'
        )

    def graphic(self, look: str) -> str:
        name = f"s{len(self.styles)}"
        self.styles.append(
            f'<style:style style:name="{name}" style:family="graphic">'
            f"<style:graphic-properties {look}/></style:style>"
        )
        return name


def _at(box: Box | Frame) -> str:
    return (
        f'svg:x="{box.x + BLEED_MM:.3f}mm" svg:y="{box.y + BLEED_MM:.3f}mm"'
        f' svg:width="{box.w:.3f}mm" svg:height="{box.h:.3f}mm"'
    )
