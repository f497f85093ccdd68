"""How large each colour of a design is to be seen, by its construction: no PDF is read."""

import math
import re
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from exports.designs import (
    BLEED_MM,
    WHITE,
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
    flats,
)

STEP_MM = 0.1
DOTS = math.pi / 16
"""The share of a pattern of dots that its dots cover: half the step wide."""
SHADOW = "blur (a soft shadow instead)"
"""What a program leaves out that draws the shape sharp, with a soft shadow under it."""
PIXEL_MM = 25.4 / 300
"""As fine as the command measures; thin lines can't be measured finer."""


@dataclass
class Bounds:
    """The least and the most that may be seen of a colour, in mm²."""

    least: float = 0
    most: float = 0


def bounds(design: Design, without: set[str]) -> dict[Flat, Bounds]:
    """Return what may be seen of each flat colour.

    White is left out: some programs paint the page with it. Letters lie somewhere in a box; what
    is seen through something translucent may count or not; a gradient may hold its own stops.
    ``without`` names kinds of marks that a program can't draw and so leaves out.
    """
    across = np.arange(-BLEED_MM, design.width + BLEED_MM, STEP_MM) + STEP_MM / 2
    down = np.arange(-BLEED_MM, design.height + BLEED_MM, STEP_MM) + STEP_MM / 2
    x, y = np.meshgrid(across, down)
    colours = flats(design)
    seen = np.zeros((len(colours), *x.shape), np.int8)  # 0 not, 1 perhaps, 2 surely
    dots: Counter[Flat] = Counter()
    extra: Counter[Flat] = Counter()
    thin: Counter[Flat] = Counter()
    for mark in design.marks:
        if _is_left_out(mark, without):
            continue
        inside = _inside(mark, x, y)
        perhaps = (
            isinstance(mark.shape, Words)
            or mark.opacity < 1
            or mark.multiply
            or mark.overprint
            or (mark.blur > 0 and SHADOW not in without)
        )
        if perhaps:
            seen[:, inside] = np.minimum(seen[:, inside], 1)
        else:
            seen[:, inside] = 0
        if isinstance(mark.paint, Flat):
            place = colours.index(mark.paint)
            seen[place, inside] = 1 if perhaps else 2
            if isinstance(mark.shape, Frame):
                pixel = 2 * (mark.shape.w + mark.shape.h) * PIXEL_MM
                extra[mark.paint] += pixel
                thin[mark.paint] += pixel
            if mark.blur:
                extra[mark.paint] += _shadow_mm2(mark)
        elif isinstance(mark.paint, Blend):
            for _, stop in mark.paint.stops:
                extra[stop] += float(inside.sum()) * STEP_MM**2
        elif isinstance(mark.paint, Dots):
            area = float(inside.sum()) * STEP_MM**2
            for flat, share in ((mark.paint.front, DOTS), (mark.paint.ground, 1 - DOTS)):
                dots[flat] += area * share
    cell = STEP_MM**2
    return {
        colour: Bounds(
            float((seen[at] == 2).sum() * cell) + 0.9 * dots[colour] - thin[colour],
            float((seen[at] > 0).sum() * cell) + 1.1 * dots[colour] + extra[colour],
        )
        for at, colour in enumerate(colours)
        if colour.colour is not WHITE
    }


def _shadow_mm2(mark: Mark) -> float:
    """Return the area of the box round a mark's soft shadow, which counts as painted."""
    shape = mark.shape
    if isinstance(shape, Words):
        return 20 * shape.size_pt
    box = shape.box if isinstance(shape, Disc) else shape
    return (box.w + 6 * mark.blur + 4) * (box.h + 6 * mark.blur + 4)


def _is_left_out(mark: Mark, without: set[str]) -> bool:
    words = " ".join(without)
    return (
        (mark.blur > 0 and "blur" in without)
        or (mark.multiply and "multiply" in words)
        or (mark.clip is not None and "clip" in words and not isinstance(mark.paint, Photo))
        or (isinstance(mark.paint, Dots) and "pattern" in words)
    )


def _inside(mark: Mark, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.bool_]:
    shape = mark.shape
    match shape:
        case Box():
            inside = _in_box(shape, x, y)
        case Disc():
            inside = (x - shape.x) ** 2 + (y - shape.y) ** 2 <= shape.r**2
        case Frame():
            half = shape.line / 2
            outer = Box(shape.x - half, shape.y - half, shape.w + 2 * half, shape.h + 2 * half)
            inner = Box(shape.x + half, shape.y + half, shape.w - 2 * half, shape.h - 2 * half)
            inside = _in_box(outer, x, y) & ~_in_box(inner, x, y)
        case Words():
            size = shape.size_pt * 25.4 / 72
            box = Box(shape.x, shape.y - size, 0.72 * size * len(shape.text), 1.3 * size)
            inside = _in_box(box, x, y)
    if mark.clip is not None:
        inside &= (x - mark.clip.x) ** 2 + (y - mark.clip.y) ** 2 <= mark.clip.r**2
    return inside


def _in_box(box: Box, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.bool_]:
    return (x >= box.x) & (x <= box.x + box.w) & (y >= box.y) & (y <= box.y + box.h)


def is_said(flat: Flat, text: str) -> bool:
    """Tell whether a colour in an inventory's words is a flat colour of a design, in any kind."""
    if flat.colour.spot and text.startswith(f"spot {flat.colour.spot}"):
        share = text.removeprefix(f"spot {flat.colour.spot}").strip(" %")
        return abs(float(share or 100) - 100 * flat.tint) < 0.6
    found = re.match(r"(cmyk|rgb|gray)((?: [\d.]+)+)", text)
    if found is None:
        return False
    values = [float(number) for number in found[2].split()]
    kind = found[1]
    if kind == "gray":
        wanted: tuple[float, ...] = (flat.cmyk[3],) if not any(flat.cmyk[:3]) else (-1,)
    else:
        wanted = flat.rgb if kind == "rgb" else flat.cmyk
    return all(abs(value - part) < 0.6 for value, part in zip(values, wanted, strict=True))


def area_errors(design: Design, without: set[str], said: dict[str, float]) -> list[str]:
    """Return what is wrong with the areas (mm²) that an inventory says, colour by colour."""
    wrong = []
    for flat, wanted in bounds(design, without).items():
        area = sum(mm2 for text, mm2 in said.items() if is_said(flat, text))
        if not 0.98 * wanted.least - 2 <= area <= 1.02 * wanted.most + 2:
            wrong.append(
                f"{flat.colour.name} {flat.tint:.0%}: {area:.1f} mm², not"
                f" {wanted.least:.1f} to {wanted.most:.1f}"
            )
    return wrong
