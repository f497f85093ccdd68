"""A design as a typesetter's source, in its own language: CMYK or RGB, greys as luma."""

from pathlib import Path

from exports.designs import (
    BLACK,
    BLEED_MM,
    WHITE,
    Blend,
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


class TypstWriter:
    """Writes marks as things placed on one page of trim and bleed."""

    def __init__(self, photos: dict[str, Path], kind: str = "cmyk") -> None:
        self.photos = photos
        self.kind = kind
        self.left_out: list[str] = []

    def write(self, design: Design) -> str:
        width, height = design.width + 2 * BLEED_MM, design.height + 2 * BLEED_MM
        lines = [
            f"#set page(width: {width:g}mm, height: {height:g}mm, margin: 0mm)",
            '#set text(font: "DejaVu Sans", top-edge: "baseline", bottom-edge: "baseline")',
            f'#set document(title: "{design.name}", date: datetime(year: 2026, month: 9, day: 1))',
        ]
        return "\n".join(lines + [self.mark(mark) for mark in design.marks]) + "\n"

    def mark(self, mark: Mark) -> str:
        if mark.blur or mark.multiply:
            self.left_out.append("blur" if mark.blur else "multiply")
            return ""
        if mark.clip:
            box = mark.clip.box
            inner = self.placed(mark, box.x, box.y)
            return (
                f"#place(dx: {box.x + BLEED_MM:g}mm, dy: {box.y + BLEED_MM:g}mm, box(clip: true,"
                f" radius: 50%, width: {box.w:g}mm, height: {box.h:g}mm, [{inner}]))"
            )
        return self.placed(mark, -BLEED_MM, -BLEED_MM)

    def placed(self, mark: Mark, left: float, top: float) -> str:
        shape, paint = mark.shape, mark.paint
        if isinstance(shape, Words):
            return self.words(shape, paint, left, top)
        corner = shape.box if isinstance(shape, Disc) else shape
        size = f"width: {corner.w:g}mm, height: {corner.h:g}mm"
        if isinstance(paint, Photo):
            name = self.photos[paint.name].name
            drawn = f'image("{name}", {size}, fit: "stretch")'
        elif isinstance(shape, Frame):
            drawn = f"rect({size}, stroke: {shape.line:g}mm + {self.paint(paint)})"
        else:
            kind = "ellipse" if isinstance(shape, Disc) else "rect"
            drawn = f"{kind}({size}, fill: {self.paint(paint, mark.opacity)})"
        return f"#place(dx: {corner.x - left:g}mm, dy: {corner.y - top:g}mm, {drawn})"

    def words(self, words: Words, paint: object, left: float, top: float) -> str:
        fill = self.paint(paint)
        if not words.outlined:
            return (
                f"#place(dx: {words.x - left:g}mm, dy: {words.y - top:g}mm,"
                f" text(size: {words.size_pt:g}pt, fill: {fill})[{words.text}])"
            )
        steps = []
        for operator, points in curves(words):
            spots = ", ".join(f"({x - left:.3f}mm, {y - top:.3f}mm)" for x, y in points)
            name = {"moveTo": "move", "lineTo": "line", "curveTo": "cubic"}.get(operator)
            steps.append(f"curve.{name}({spots})" if name else "curve.close()")
        return f"#place(curve(fill: {fill}, {', '.join(steps)}))"

    def paint(self, paint: object, opacity: float = 1) -> str:
        if isinstance(paint, Flat):
            if opacity == 1:
                return self.colour(paint)
            # Its CMYK has no transparency: people write such a colour in RGB beside CMYK fills.
            return f"rgb{paint.rgb}.transparentize({1 - opacity:.0%})"
        if isinstance(paint, Blend):
            stops = ", ".join(f"({self.colour(stop)}, {place:.0%})" for place, stop in paint.stops)
            return f"gradient.{paint.form}({stops}, space: {self.kind})"
        assert isinstance(paint, Dots)
        step = f"{paint.step:g}mm"
        return (
            f"tiling(size: ({step}, {step}), [#place(rect(width: 100%, height: 100%,"
            f" fill: {self.colour(paint.ground)})) #place(dx: 25%, dy: 25%,"
            f" circle(radius: {paint.step / 4:g}mm, fill: {self.colour(paint.front)}))])"
        )

    def colour(self, flat: Flat) -> str:
        if self.kind == "rgb":
            if flat.colour in (BLACK, WHITE):
                return f"luma({flat.rgb[0]})"
            return "rgb({}, {}, {})".format(*flat.rgb)
        return "cmyk({})".format(", ".join(f"{part:g}%" for part in flat.cmyk))
