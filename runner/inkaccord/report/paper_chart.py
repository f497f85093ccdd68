"""Charts on paper: the same marks as on the screen, drawn through reportlab."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from inkaccord.drawing.canvas import REGULAR
from inkaccord.report.graphics import Chart, Cross, Dot, Line, Mark, Path, Role, Tile, Words

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Shape
    from reportlab.platypus import Flowable

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


def drawn(chart: Chart, scale: float = 1.0) -> "Flowable":
    """Return a chart as a part of a page, one unit of it ``scale`` points large."""
    from reportlab.graphics.shapes import Drawing, Group  # noqa: PLC0415 - slow to load

    picture = Drawing(chart.width * scale, chart.height * scale)
    picture.hAlign = "LEFT"
    # A chart's y grows downwards; the page's upwards.
    marks = Group(transform=(scale, 0, 0, scale, 0, 0))
    for shape in _shapes(chart.marks, chart.height):
        marks.add(shape)
    picture.add(marks)
    return picture


def _shapes(marks: Iterable[Mark], height: float) -> "Iterable[Shape]":
    from reportlab.graphics import shapes  # noqa: PLC0415 - slow to load

    for mark in marks:
        look = _LOOKS[mark.role]
        match mark:
            case Line():
                made: Shape = shapes.Line(mark.x1, height - mark.y1, mark.x2, height - mark.y2)
                yield _lined(made, look)
            case Path():
                run = [at for x, y in mark.points for at in (x, height - y)]
                made = shapes.Polygon(run) if mark.closed else shapes.PolyLine(run)
                yield _lined(made, look, look.fill if mark.closed else None)
            case Dot():
                made = shapes.Circle(mark.x, height - mark.y, mark.radius)
                yield _lined(made, look, mark.fill or look.fill)
            case Tile():
                made = shapes.Rect(mark.x, height - mark.y - mark.height, mark.width, mark.height)
                yield _lined(made, look, mark.fill)
            case Cross():
                x, y, arm = mark.x, height - mark.y, mark.arm
                for right, up in (
                    ((arm, 0), (0, arm)) if mark.upright else ((arm, arm), (arm, -arm))
                ):
                    yield _lined(shapes.Line(x - right, y - up, x + right, y + up), look)
            case Words():
                words = shapes.String(
                    0,
                    0,
                    mark.text,
                    fontName=REGULAR,
                    fontSize=mark.size or look.size,
                    textAnchor=mark.anchor,
                )
                words.fillColor = _colour(look.fill)
                placed = shapes.Group(words)
                placed.translate(mark.x, height - mark.y)
                placed.rotate(mark.turn)
                yield placed


def _lined(shape: "Shape", look: _Look, fill: str | None = None) -> "Shape":
    """Give a shape its lines, and its fill where it has one."""
    looks = {
        "strokeColor": _colour(look.stroke),
        "strokeWidth": look.width,
        "strokeDashArray": list(look.dash) or None,
        "strokeLineCap": 1,
        "strokeLineJoin": 1,
    }
    if fill is not None:
        looks["fillColor"] = _colour(fill)
    for name, value in looks.items():
        setattr(shape, name, value)
    return shape


def _colour(text: str) -> Any:
    from reportlab.lib.colors import HexColor  # noqa: PLC0415 - slow to load

    return HexColor(text) if text else None
