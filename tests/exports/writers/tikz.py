"""A design as LaTeX with TikZ, for the second typesetter: CMYK or RGB throughout."""

from pathlib import Path

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


class TikzWriter:
    """Writes marks as paths in millimetres, y downwards."""

    def __init__(self, photos: dict[str, Path], kind: str = "cmyk") -> None:
        self.photos = photos
        self.kind = kind
        self.left_out: list[str] = []
        self.named: dict[str, str] = {}
        self.shadings: list[str] = []

    def write(self, design: Design) -> str:
        width, height = design.width + 2 * BLEED_MM, design.height + 2 * BLEED_MM
        body = "\n".join(self.mark(mark) for mark in design.marks)
        colours = "\n".join(self.named.values())
        return rf"""\pdfinfoomitdate=1 \pdftrailerid{{}} \pdfsuppressptexinfo=-1
\documentclass{{minimal}}
\usepackage[{self.kind}]{{xcolor}}
\usepackage{{lmodern}}
\usepackage[T1]{{fontenc}}
\usepackage{{tikz}}
\usetikzlibrary{{patterns.meta}}
\pdfpagewidth={width:g}mm \pdfpageheight={height:g}mm
\pdfhorigin=0pt \pdfvorigin=0pt \hoffset=0pt \voffset=0pt \topskip=0pt
\textwidth={width:g}mm \textheight={height:g}mm \oddsidemargin=0pt \topmargin=0pt
\headheight=0pt \headsep=0pt \parindent=0pt
{colours}
{chr(10).join(self.shadings)}
\begin{{document}}\vbox to 0pt{{\hbox to 0pt{{%
\begin{{tikzpicture}}[x=1mm,y=-1mm]
\useasboundingbox ({-BLEED_MM:g},{-BLEED_MM:g}) rectangle ++({width:g},{height:g});
{body}
\end{{tikzpicture}}\hss}}\vss}}
\end{{document}}
"""

    def mark(self, mark: Mark) -> str:
        if mark.blur:
            self.left_out.append("blur")
            return ""
        drawn = self.drawn(mark)
        if mark.multiply:
            drawn = rf"\begin{{scope}}[blend mode=multiply]{drawn}\end{{scope}}"
        if mark.clip:
            drawn = rf"\begin{{scope}}\clip {_path(mark.clip)};{drawn}\end{{scope}}"
        return drawn

    def drawn(self, mark: Mark) -> str:
        shape, paint = mark.shape, mark.paint
        if isinstance(shape, Words):
            return self.words(shape, paint)
        if isinstance(paint, Photo):
            assert isinstance(shape, Box)
            return (
                rf"\node[anchor=north west,inner sep=0] at ({shape.x:g},{shape.y:g})"
                rf" {{\includegraphics[width={shape.w:g}mm,height={shape.h:g}mm]"
                rf"{{{self.photos[paint.name].name}}}}};"
            )
        if isinstance(shape, Frame):
            assert isinstance(paint, Flat)
            return rf"\draw[{self.colour(paint)},line width={shape.line:g}mm] {_path(shape)};"
        if isinstance(paint, Flat):
            options = self.colour(paint)
            if mark.opacity != 1:
                options += f",fill opacity={mark.opacity:g}"
            return rf"\fill[{options}] {_path(shape)};"
        if isinstance(paint, Blend):
            return rf"\shade[shading={self.shading(paint)}] {_path(shape)};"
        assert isinstance(paint, Dots)
        front, ground = self.colour(paint.front), self.colour(paint.ground)
        dots = rf"Dots[distance={paint.step:g}mm,radius={paint.step / 4:g}mm]"
        return (
            rf"\fill[{ground}] {_path(shape)};"
            rf"\fill[pattern={{{dots}}},pattern color={front}] {_path(shape)};"
        )

    def words(self, words: Words, paint: object) -> str:
        assert isinstance(paint, Flat)
        colour = self.colour(paint)
        if not words.outlined:
            size = rf"\fontsize{{{words.size_pt:g}}}{{{words.size_pt:g}}}\selectfont"
            return (
                rf"\node[anchor=base west,inner sep=0,text={colour}] at ({words.x:g},{words.y:g})"
                rf" {{{size} {words.text}}};"
            )
        parts = []
        for operator, points in curves(words):
            spots = [f"({x:.3f},{y:.3f})" for x, y in points]
            if operator == "moveTo":
                parts.append(spots[0])
            elif operator == "lineTo":
                parts.append(f"-- {spots[0]}")
            elif operator == "curveTo":
                parts.append(".. controls {} and {} .. {}".format(*spots))
            else:
                parts.append("-- cycle")
        return rf"\fill[{colour}] {' '.join(parts)};"

    def shading(self, paint: Blend) -> str:
        name = f"s{len(self.shadings)}"
        stops = [(place, self.colour(stop)) for place, stop in paint.stops]
        if paint.form == "linear":
            places = [
                (0.0, stops[0][1]),
                *[(25 + 50 * at, c) for at, c in stops],
                (100.0, stops[-1][1]),
            ]
            spec = "; ".join(f"color({at:g}bp)=({colour})" for at, colour in places)
            self.shadings.append(rf"\pgfdeclarehorizontalshading{{{name}}}{{100bp}}{{{spec}}}")
        else:
            places = [*[(25 * at, colour) for at, colour in stops], (50.0, stops[-1][1])]
            spec = "; ".join(f"color({at:g}bp)=({colour})" for at, colour in places)
            self.shadings.append(
                rf"\pgfdeclareradialshading{{{name}}}{{\pgfpointorigin}}{{{spec}}}"
            )
        return name

    def colour(self, flat: Flat) -> str:
        name = f"{flat.colour.name}{round(flat.tint * 100)}"
        if self.kind == "rgb":
            numbers = ",".join(str(part) for part in flat.rgb)
            self.named[name] = rf"\definecolor{{{name}}}{{RGB}}{{{numbers}}}"
        else:
            numbers = ",".join(f"{part / 100:g}" for part in flat.cmyk)
            self.named[name] = rf"\definecolor{{{name}}}{{cmyk}}{{{numbers}}}"
        return name


def _path(shape: object) -> str:
    if isinstance(shape, Disc):
        return f"({shape.x:g},{shape.y:g}) circle[radius={shape.r:g}mm]"
    assert isinstance(shape, Box | Frame)
    return f"({shape.x:g},{shape.y:g}) rectangle ++({shape.w:g},{shape.h:g})"
