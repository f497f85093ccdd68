"""A design as HTML with print CSS, for web-to-PDF engines: CMYK or RGB, bleed by the page rule."""

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

ASCENT = 0.928


class HtmlWriter:
    """Writes marks as absolutely placed boxes."""

    def __init__(self, photos: dict[str, Path], kind: str = "cmyk", bleed: bool = True) -> None:
        self.photos = photos
        self.kind = kind
        self.bleed = bleed
        self.left_out: list[str] = []

    def write(self, design: Design) -> str:
        """Return the page: its own box is the trim, or trim and bleed where ``bleed`` is off."""
        edge = 0.0 if self.bleed else BLEED_MM
        page = f"size: {design.width + 2 * edge:g}mm {design.height + 2 * edge:g}mm; margin: 0;"
        if self.bleed:
            page += f" bleed: {BLEED_MM:g}mm;"
        body = "\n".join(self.mark(mark) for mark in design.marks)
        return (
            f"<!doctype html><meta charset=utf-8><title>{design.name}</title><style>"
            f"@page {{ {page} }} body {{ margin: 0; font-family: 'DejaVu Sans' }}"
            f" #all {{ position: absolute; left: {edge:g}mm; top: {edge:g}mm }}"
            f" #all div, #all img, #all svg {{ position: absolute; white-space: nowrap }}"
            f"</style><div id=all>\n{body}\n</div>\n"
        )

    def mark(self, mark: Mark) -> str:
        if mark.blur:
            self.left_out.append("blur")
            return ""
        drawn = self.drawn(mark)
        if mark.clip:
            clip = mark.clip.box
            inner = self.drawn(mark, clip.x, clip.y)
            drawn = f'<div style="{_at(clip)}; overflow: hidden; border-radius: 50%">{inner}</div>'
        return drawn

    def drawn(self, mark: Mark, left: float = 0, top: float = 0) -> str:
        style = ""
        if mark.opacity != 1:
            style += f"; opacity: {mark.opacity:g}"
        if mark.multiply:
            style += "; mix-blend-mode: multiply"
        shape, paint = mark.shape, mark.paint
        if isinstance(shape, Words):
            return self.words(shape, paint)
        if isinstance(shape, Frame):
            line = shape.line
            box = Box(
                shape.x - line / 2 - left,
                shape.y - line / 2 - top,
                shape.w - line,
                shape.h - line,
            )
            assert isinstance(paint, Flat)
            return f'<div style="{_at(box)}; border: {line:g}mm solid {self.colour(paint)}"></div>'
        box = shape.box if isinstance(shape, Disc) else shape
        box = Box(box.x - left, box.y - top, box.w, box.h)
        if isinstance(paint, Photo):
            return f'<img src="{self.photos[paint.name].as_uri()}" style="{_at(box)}{style}">'
        if isinstance(shape, Disc):
            style += "; border-radius: 50%"
        return f'<div style="{_at(box)}{style}; background: {self.background(paint)}"></div>'

    def words(self, words: Words, paint: object) -> str:
        assert isinstance(paint, Flat)
        if words.outlined:
            return (
                f'<svg style="left: 0; top: 0" width="300mm" height="300mm" viewBox="0 0 300 300">'
                f'<path d="{svg_path(words)}" fill="{self.colour(paint)}"/></svg>'
            )
        size = words.size_pt * 25.4 / 72
        return (
            f'<div style="left: {words.x:g}mm; top: {words.y - size * ASCENT:.3f}mm;'
            f' line-height: normal; font-size: {words.size_pt:g}pt; color: {self.colour(paint)}">'
            f"{escape(words.text)}</div>"
        )

    def background(self, paint: object) -> str:
        if isinstance(paint, Flat):
            return self.colour(paint)
        if isinstance(paint, Blend):
            # The engine has no gradients in CMYK: people write these in RGB beside CMYK fills.
            stops = ", ".join(f"{stop.hex} {place:.0%}" for place, stop in paint.stops)
            way = "to right" if paint.form == "linear" else "circle closest-side"
            return f"{paint.form}-gradient({way}, {stops})"
        assert isinstance(paint, Dots)
        step = paint.step
        picture = (
            f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 4 4' width='{step:g}mm'"
            f" height='{step:g}mm'><circle cx='2' cy='2' r='1' fill='{paint.front.hex}'/></svg>"
        ).replace("#", "%23")
        return (
            f"{self.colour(paint.ground)} url(&quot;data:image/svg+xml,{picture}&quot;)"
            f" 0 0 / {step:g}mm {step:g}mm"
        )

    def colour(self, flat: Flat) -> str:
        if self.kind == "rgb":
            return flat.hex
        return "device-cmyk({})".format(" ".join(f"{part:g}%" for part in flat.cmyk))


def _at(box: Box) -> str:
    return f"left: {box.x:g}mm; top: {box.y:g}mm; width: {box.w:g}mm; height: {box.h:g}mm"
