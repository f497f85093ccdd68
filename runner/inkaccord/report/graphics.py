"""Pictures made of lines, dots and words, for the screen as SVG and for paper through reportlab."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup, escape

Role = Literal[
    "grid",
    "tick",
    "name",
    "reach",
    "join",
    "halo",
    "aim",
    "print",
    "reading",
    "limit",
    "inside",
    "tickmark",
    "eye",
    "pupil",
    "uncertain",
    "outside",
    "unknown",
    "paper",
    "printed",
    "curve",
    "chosen",
    "unprintable",
    "printable",
    "bleed",
    "trim",
    "fold",
    "cut",
    "cutdot",
    "cutnumber",
]
"""What a mark stands for; it decides how the mark looks, in light, in dark and on paper."""


@dataclass(frozen=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    role: Role


@dataclass(frozen=True)
class Path:
    """A run of straight lines, closed or open."""

    points: tuple[tuple[float, float], ...]
    role: Role
    closed: bool = True


@dataclass(frozen=True)
class Dot:
    """A disc in a colour of its own, or in its role's."""

    x: float
    y: float
    radius: float
    role: Role
    fill: str = ""


@dataclass(frozen=True)
class Tile:
    """An upright rectangle in a colour of its own; x and y are its left and top."""

    x: float
    y: float
    width: float
    height: float
    role: Role
    fill: str


@dataclass(frozen=True)
class Cross:
    """Two short lines that meet at a point."""

    x: float
    y: float
    arm: float
    role: Role
    upright: bool = False


@dataclass(frozen=True)
class Words:
    """A line of text. ``turn`` is in degrees against the clock, ``size`` 0 for that of its role."""

    x: float
    y: float
    text: str
    role: Role
    anchor: Literal["start", "middle", "end"] = "start"
    turn: float = 0.0
    size: float = 0.0


Mark = Line | Path | Dot | Tile | Cross | Words


@dataclass(frozen=True)
class Chart:
    """A picture; y grows downwards. ``says`` is what a person who doesn't see it is told."""

    width: float
    height: float
    says: str
    marks: tuple[Mark, ...]


def svg(chart: Chart, *, shrinks: bool = True, sized: bool = True) -> Markup:
    """Return a chart as inline SVG, with its text equivalent.

    One that doesn't shrink on a narrow screen is to be put where it can be scrolled. Where no
    style may stand in a page itself, its size is left to the page's sheet of styles (``sized``).
    """
    body = "".join(_marks(chart.marks))
    width = f"max-width:{_n(chart.width)}px" if shrinks else f"width:{_n(chart.width)}px"
    size = f'style="{width}" ' if sized else ""
    return Markup(  # noqa: S704 - everything inside is escaped or a number
        f'<svg class="chart" role="img" viewBox="0 0 {_n(chart.width)} {_n(chart.height)}" '
        f'{size}aria-label="{escape(chart.says)}">{body}</svg>'
    )


def _marks(marks: Iterable[Mark]) -> Iterable[str]:
    for mark in marks:
        match mark:
            case Line():
                yield (
                    f'<path class="{mark.role}" d="M{_n(mark.x1)} {_n(mark.y1)}'
                    f'L{_n(mark.x2)} {_n(mark.y2)}"/>'
                )
            case Path():
                run = "L".join(f"{_n(x)} {_n(y)}" for x, y in mark.points)
                yield f'<path class="{mark.role}" d="M{run}{"Z" if mark.closed else ""}"/>'
            case Dot():
                fill = f' fill="{escape(mark.fill)}"' if mark.fill else ""
                yield (
                    f'<circle class="{mark.role}" cx="{_n(mark.x)}" cy="{_n(mark.y)}" '
                    f'r="{_n(mark.radius)}"{fill}/>'
                )
            case Tile():
                yield (
                    f'<rect class="{mark.role}" x="{_n(mark.x)}" y="{_n(mark.y)}" '
                    f'width="{_n(mark.width)}" height="{_n(mark.height)}" '
                    f'fill="{escape(mark.fill)}"/>'
                )
            case Cross():
                x, y, arm = mark.x, mark.y, mark.arm
                strokes = (
                    f"M{_n(x - arm)} {_n(y)}h{_n(2 * arm)}M{_n(x)} {_n(y - arm)}v{_n(2 * arm)}"
                    if mark.upright
                    else f"M{_n(x - arm)} {_n(y - arm)}l{_n(2 * arm)} {_n(2 * arm)}"
                    f"M{_n(x - arm)} {_n(y + arm)}l{_n(2 * arm)} {_n(-2 * arm)}"
                )
                yield f'<path class="{mark.role}" d="{strokes}"/>'
            case Words():
                turn = (
                    f' transform="rotate({_n(-mark.turn)} {_n(mark.x)} {_n(mark.y)})"'
                    if mark.turn
                    else ""
                )
                anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
                size = f' style="font-size:{_n(mark.size)}px"' if mark.size else ""
                yield (
                    f'<text class="{mark.role}" x="{_n(mark.x)}" y="{_n(mark.y)}"'
                    f"{anchor}{size}{turn}>{escape(mark.text)}</text>"
                )


def _n(number: float) -> str:
    return f"{round(number, 1) + 0.0:g}"
