"""Charts on paper: the same marks as on the screen, drawn through reportlab."""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from inkaccord.drawing.canvas import REGULAR
from inkaccord.report.graphics import Chart, Cross, Dot, Line, Mark, Path, Role, Tile, Words
from inkaccord.report.parts import ChartPart, Part

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_TEXT, _QUIET, _RULE = "#000000", "#4a4a4a", "#cccccc"
_INSIDE, _EYE, _UNCERTAIN, _OUTSIDE = "#1d6b45", "#4d4a86", "#7a5000", "#9a231b"


@dataclass(frozen=True)
class _Look:
    """How the marks of a role look; an empty colour is none."""

    stroke: str = ""
    width: float = 0.0
    fill: str = ""
    dash: tuple[float, ...] = ()
    size: float = 12.0


_LOOKS: dict[Role, _Look] = {
    "grid": _Look(_RULE, 0.7),
    "tick": _Look(fill=_QUIET, size=11),
    "name": _Look(fill=_TEXT),
    "reach": _Look("#777777", 1.6),
    "join": _Look(_TEXT, 1),
    "halo": _Look("#ffffff", 4),
    "aim": _Look(_TEXT, 1.6),
    "print": _Look(_TEXT, 1.2),
    "reading": _Look(),
    "limit": _Look(_OUTSIDE, 1.2, dash=(5, 4)),
    "inside": _Look(fill=_INSIDE),
    "tickmark": _Look("#ffffff", 1.8),
    "eye": _Look(_EYE, 1.8),
    "pupil": _Look(fill=_EYE),
    "uncertain": _Look(_UNCERTAIN, 2.4),
    "outside": _Look(_OUTSIDE, 3),
    "unknown": _Look(_QUIET, 2.4),
    "paper": _Look("#999999", 0.6),
    "printed": _Look(),
    "curve": _Look("#777777", 1.4),
    "chosen": _Look(_TEXT, 1.2, dash=(2, 3)),
    "unprintable": _Look("#8c8c8c", 0.5, "#e9e9e9"),
    "printable": _Look(fill="#ffffff"),
    "bleed": _Look(fill="#dcdcdc"),
    "trim": _Look("#8c8c8c", 0.5, "#f0f0f0"),
    "fold": _Look("#8c8c8c", 0.5, dash=(3, 2)),
    "cut": _Look(_TEXT, 0.5),
    "cutdot": _Look(fill=_TEXT),
    "cutnumber": _Look(fill="#ffffff"),
}


def drawn(chart: Chart, scale: float = 1.0) -> Part:
    """Return a chart as a part of a page, one unit of it ``scale`` points large."""
    return ChartPart(chart, scale)


def draw_chart(canvas: "Canvas", chart: Chart, scale: float) -> None:
    """Draw a chart from its lower left corner."""
    canvas.scale(scale, scale)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    for mark in chart.marks:
        _draw(canvas, mark, chart.height)


def _draw(canvas: "Canvas", mark: Mark, height: float) -> None:
    """Draw one mark. A chart's y grows downwards; the page's upwards."""
    look = _LOOKS[mark.role]
    match mark:
        case Line():
            _lined(canvas, look)
            canvas.line(mark.x1, height - mark.y1, mark.x2, height - mark.y2)
        case Path():
            (x, y), *rest = mark.points
            path = canvas.beginPath()
            path.moveTo(x, height - y)
            for x, y in rest:
                path.lineTo(x, height - y)
            if mark.closed:
                path.close()
            canvas.drawPath(path, **_lined(canvas, look, look.fill if mark.closed else ""))
        case Dot():
            shown = _lined(canvas, look, mark.fill or look.fill)
            canvas.circle(mark.x, height - mark.y, mark.radius, **shown)
        case Tile():
            shown = _lined(canvas, look, mark.fill)
            canvas.rect(mark.x, height - mark.y - mark.height, mark.width, mark.height, **shown)
        case Cross():
            _lined(canvas, look)
            x, y, arm = mark.x, height - mark.y, mark.arm
            for right, up in ((arm, 0), (0, arm)) if mark.upright else ((arm, arm), (arm, -arm)):
                canvas.line(x - right, y - up, x + right, y + up)
        case Words():
            _write(canvas, mark, look, height)


def _lined(canvas: "Canvas", look: _Look, fill: str = "") -> dict[str, int]:
    """Set lines and fill, and return which of them there are."""
    if look.stroke:
        canvas.setStrokeColor(_colour(look.stroke))
        canvas.setLineWidth(look.width)
        canvas.setDash(list(look.dash))
    if fill:
        canvas.setFillColor(_colour(fill))
    return {"stroke": int(bool(look.stroke)), "fill": int(bool(fill))}


def _write(canvas: "Canvas", words: Words, look: _Look, height: float) -> None:
    write = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[words.anchor]
    canvas.setFillColor(_colour(look.fill))
    canvas.setFont(REGULAR, words.size or look.size)
    if not words.turn:
        write(words.x, height - words.y, words.text)
        return
    canvas.saveState()
    canvas.translate(words.x, height - words.y)
    canvas.rotate(words.turn)
    write(0, 0, words.text)
    canvas.restoreState()


@cache
def _colour(text: str) -> Any:
    from reportlab.lib.colors import HexColor  # noqa: PLC0415 - slow to load

    return HexColor(text)
