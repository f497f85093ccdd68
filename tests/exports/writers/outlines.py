"""Words as curves, from the outlines of the typeface."""

from pathlib import Path

from fontTools.pens.qu2cuPen import Qu2CuPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from exports.designs import Words

TYPEFACE = Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf")

Step = tuple[str, tuple[tuple[float, float], ...]]


def curves(words: Words) -> list[Step]:
    """Return the outline in millimetres, y downwards; its curves are cubic."""
    font = TTFont(TYPEFACE)
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    scale = words.size_pt * 25.4 / 72 / font["head"].unitsPerEm
    recording = DecomposingRecordingPen(glyphs)
    x = words.x
    for letter in words.text:
        glyph = glyphs[names[ord(letter)]]
        placed = TransformPen(recording, (scale, 0, 0, -scale, x, words.y))
        glyph.draw(Qu2CuPen(placed, max_err=2, all_cubic=True))
        x += glyph.width * scale
    steps: list[Step] = []
    for operator, points in recording.value:
        for count in range(0, len(points) - 2, 3) if operator == "curveTo" else (None,):
            part = points if count is None else points[count : count + 3]
            steps.append((operator, tuple((float(px), float(py)) for px, py in part)))
    return steps


def svg_path(words: Words) -> str:
    """Return the outline as SVG's path data."""
    letters = {"moveTo": "M", "lineTo": "L", "curveTo": "C", "closePath": "Z", "endPath": ""}
    return " ".join(
        letters[operator] + " ".join(f"{x:.3f},{y:.3f}" for x, y in points)
        for operator, points in curves(words)
    )
