"""The report's charts: gamuts with aims, drift of the controls, the price of being alike."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from inkaccord.report.gamut import Point
from inkaccord.report.graphics import Chart, Cross, Dot, Line, Mark, Path, Words
from inkaccord.words import counted, day

MOST_NAMED = 10
"""Colours whose names stand in a plot; more of them would cover it, and are numbered."""


@dataclass(frozen=True)
class Spot:
    """A colour to be marked in a plot: its name, where it should be, where it is printed."""

    name: str
    aim: Point | None
    printed: Point
    fill: str


@dataclass(frozen=True)
class Curve:
    """What staying alike costs one piece: its distance to the aim, by how far apart all may lie."""

    name: str
    points: tuple[Point, ...]
    fills: tuple[str, ...]


@dataclass(frozen=True)
class _Frame:
    """A plot's box, and the way from values to places."""

    left: float
    top: float
    width: float
    height: float
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    def at(self, point: Point) -> Point:
        x_low, x_high = self.x_range
        y_low, y_high = self.y_range
        return (
            self.left + (point[0] - x_low) / (x_high - x_low) * self.width,
            self.top + self.height - (point[1] - y_low) / (y_high - y_low) * self.height,
        )

    def holds(self, point: Point) -> bool:
        return (
            self.x_range[0] <= point[0] <= self.x_range[1]
            and self.y_range[0] <= point[1] <= self.y_range[1]
        )

    def axes(
        self, x_ticks: Sequence[float], y_ticks: Sequence[float], x_name: str, y_name: str
    ) -> list[Mark]:
        bottom, right = self.top + self.height, self.left + self.width
        marks: list[Mark] = []
        for value in x_ticks:
            x, _ = self.at((value, self.y_range[0]))
            marks.append(Line(x, self.top, x, bottom, "grid"))
            marks.append(Words(x, bottom + 14, _plain(value), "tick", "middle"))
        for value in y_ticks:
            _, y = self.at((self.x_range[0], value))
            marks.append(Line(self.left, y, right, y, "grid"))
            marks.append(Words(self.left - 6, y + 4, _plain(value), "tick", "end"))
        marks.append(Words((self.left + right) / 2, bottom + 30, x_name, "name", "middle"))
        marks.append(
            Words(self.left - 42, (self.top + bottom) / 2, y_name, "name", "middle", turn=90)
        )
        return marks


def _plain(value: float) -> str:
    return f"{value:g}".replace("-", "−")


def ab_chart(
    pair: str,
    outline: Sequence[Point],
    readings: Sequence[tuple[Point, str]],
    spots: Sequence[Spot],
) -> Chart:
    """Return a pair's colours seen from above: its outline, its readings, aims and prints.

    Parameters
    ----------
    outline
        (a*, b*) of the strongest colours.
    readings
        (a*, b*) and screen colour of each swatch that was read.
    spots
        Brand colours, with (a*, b*). Many are numbered in their order instead of named.
    """
    frame = _Frame(56, 10, 300, 300, (-90, 90), (-90, 90))
    ticks = (-60, -30, 0, 30, 60)
    marks = frame.axes(ticks, ticks, "a*  green to red", "b*  blue to yellow")
    if outline:
        marks.append(Path(tuple(frame.at(point) for point in outline), "reach"))
    marks += [
        Dot(*frame.at(point), 1.8, "reading", fill)
        for point, fill in readings
        if frame.holds(point)
    ]
    if len(spots) > MOST_NAMED:
        marks += _spots(frame, spots, named=False)
        marks += _names(frame, [replace(it, name=str(at)) for at, it in enumerate(spots, start=1)])
    else:
        marks += _spots(frame, spots)
    return Chart(
        366,
        352,
        f"{pair} in a* and b*: what it reaches, {counted(len(readings), 'reading')}, and "
        f"{_named(spots)}.",
        tuple(marks),
    )


def lc_chart(
    pair: str,
    colour: str,
    outline: Sequence[Point],
    readings: Sequence[tuple[Point, str]],
    spot: Spot,
) -> Chart:
    """Return what a pair reaches at one colour's hue, lightness against chroma.

    Points are (C*, L*).
    """
    frame = _Frame(56, 10, 150, 150, (0, 90), (0, 100))
    marks = frame.axes((0, 30, 60, 90), (0, 25, 50, 75, 100), "C*", "L*")
    if outline:
        marks.append(Path(tuple(frame.at(point) for point in outline), "reach"))
    marks += [
        Dot(*frame.at(point), 1.8, "reading", fill)
        for point, fill in readings
        if frame.holds(point)
    ]
    marks += _spots(frame, [spot], named=False)
    return Chart(
        216,
        202,
        f"{pair} at the hue of {colour}, lightness against chroma: what it reaches, and "
        f"{_named([spot])}.",
        tuple(marks),
    )


def _spots(frame: _Frame, spots: Sequence[Spot], *, named: bool = True) -> list[Mark]:
    marks: list[Mark] = []
    for spot in spots:
        at = frame.at(spot.printed)
        if spot.aim is not None:
            to = frame.at(spot.aim)
            marks.append(Line(*at, *to, "join"))
        marks.append(Dot(*at, 5, "print", spot.fill))
        if spot.aim is not None:
            aim = frame.at(spot.aim)
            marks += [Cross(*aim, 5, role, upright=True) for role in ("halo", "aim")]
    if named:
        marks += _names(frame, spots)
    return marks


def _names(frame: _Frame, spots: Sequence[Spot]) -> list[Mark]:
    """Set each name beside its colour, moved down where it would cover another."""
    taken: list[tuple[float, float, float, float]] = []
    marks: list[Mark] = []
    for spot in sorted(spots, key=lambda it: frame.at(it.printed)[1]):
        x, y = frame.at(spot.printed)
        width = 6.6 * len(spot.name)
        left = x + 9 if x + 9 + width < frame.left + frame.width else x - 9 - width
        top = y + 4
        while any(
            left < right and left + width > start and abs(top - line) < 12
            for start, right, line, _ in taken
        ):
            top += 12
        taken.append((left, left + width, top, y))
        marks.append(Words(left, top, spot.name, "name"))
    return marks


def _named(spots: Sequence[Spot]) -> str:
    parts = []
    for spot in spots:
        printed = f"{spot.name} printed at {spot.printed[0]:.0f}, {spot.printed[1]:.0f}"
        aim = f", aim {spot.aim[0]:.0f}, {spot.aim[1]:.0f}" if spot.aim else ", judged by eye"
        parts.append(printed + aim)
    return "; ".join(parts) or "no brand colour"


def drift_chart(
    pair: str, drifts: Sequence[tuple[datetime.date, float]], tolerance: float
) -> Chart:
    """Return how far the controls lie from where they were, over the days."""
    first, last = drifts[0][0].toordinal(), drifts[-1][0].toordinal()
    top = max(tolerance * 1.5, max(value for _, value in drifts) * 1.2)
    step = 0.5 if top <= 3 else 1.0 if top <= 6 else 2.0
    frame = _Frame(56, 12, 300, 120, (first, max(last, first + 1)), (0, top))
    marks = frame.axes((), tuple(step * at for at in range(int(top / step) + 1)), "", "ΔE00")
    limit = frame.at((first, tolerance))[1]
    marks.append(Line(frame.left, limit, frame.left + frame.width, limit, "limit"))
    marks.append(Words(frame.left + 4, limit - 4, f"drift from {tolerance:g} on", "tick"))
    places = [frame.at((date.toordinal(), value)) for date, value in drifts]
    marks.append(Path(tuple(places), "join", closed=False))
    marks += [Dot(*place, 3.5, "print") for place in places]
    foot = frame.top + frame.height + 16
    marks.append(Words(places[0][0], foot, day(drifts[0][0]), "tick"))
    if last > first:
        marks.append(Words(places[-1][0], foot, day(drifts[-1][0]), "tick", "end"))
    told = "; ".join(f"{day(date)}: {value:.1f}" for date, value in drifts)
    return Chart(
        366,
        156,
        f"Drift of the controls of {pair} in ΔE00: {told}.",
        tuple(marks),
    )


def trade_chart(colour: str, curves: Sequence[Curve], chosen: float | None) -> Chart:
    """Return each piece's distance to the aim against how far apart the pieces may lie."""
    across = max(x for curve in curves for x, _ in curve.points) * 1.05 or 1.0
    top = max(y for curve in curves for _, y in curve.points) * 1.15 or 1.0
    frame = _Frame(56, 14, 250, 170, (0, across), (0, top))
    marks = frame.axes(_ticks(across), _ticks(top), "farthest apart, ΔE00", "to the aim, ΔE00")
    if chosen is not None:
        x, _ = frame.at((chosen, 0))
        marks.append(Line(x, frame.top, x, frame.top + frame.height, "chosen"))
        marks.append(Words(x + 5, frame.top + 10, "printed", "tick"))
    for curve in curves:
        marks.append(Path(tuple(frame.at(it) for it in curve.points), "curve", closed=False))
        marks += [
            Dot(*frame.at(point), 4, "print", fill)
            for point, fill in zip(curve.points, curve.fills, strict=True)
        ]
    taken: list[float] = []
    for curve in sorted(curves, key=lambda it: -it.points[-1][1]):
        x, y = frame.at(curve.points[-1])
        place = max([y + 4, *(line + 13 for line in taken)])
        taken.append(place)
        marks.append(Words(x + 9, place, curve.name, "name"))
    longest = max(len(curve.name) for curve in curves)
    told = "; ".join(
        f"{curve.name} from {curve.points[0][1]:.1f} to {curve.points[-1][1]:.1f}"
        for curve in curves
    )
    return Chart(
        frame.left + frame.width + 12 + 6.6 * longest,
        frame.top + frame.height + 38,
        f"What staying alike costs {colour}: to the aim, from most alike to each as close as it "
        f"can be: {told}.",
        tuple(marks),
    )


def _ticks(end: float) -> tuple[float, ...]:
    """Return round numbers from 0 to an end, at most seven."""
    step = next(it for it in (0.5, 1, 2, 5, 10, 20, 50, 100) if end / it <= 6)
    return tuple(step * at for at in range(int(end / step) + 1))
