"""Draw the house of docs/architecture.md: its rooms on their floors, as import-linter holds them.

Floors come from the contract in pyproject.toml, captions from the rooms' docstrings, so that the
drawing can't say what is not so. ``python docs/generate.py`` writes it.
"""

import ast
import tomllib
from pathlib import Path
from xml.sax.saxutils import escape

ROOT = Path(__file__).parents[1]
CORE = ROOT / "runner" / "inkaccord"
WIDTH, MARGIN, GAP = 1080, 24, 10
ROOM, FLOOR, HEAD, LANE = 52, 62, 40, 72
INK, FAINT, PAPER, WALL, GROUND = "#26323a", "#5c6a72", "#ffffff", "#b9c4ca", "#f3f1ec"
WAYS = (
    ("an order", "#b5482f", "cli runs pipeline order foresight stages out_folder"),
    ("a colour", "#2f6f8f", "stages knowledge colour planning report"),
    ("a piece", "#7a5a94", "stages artwork prepress layout pdf out_folder"),
    ("a reading", "#4c7a34", "cli recording sheets shelf knowledge"),
)
"""What travels, and through which rooms, in turn."""


def floors() -> list[list[str]]:
    """Return the rooms of each floor, the highest first."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    layers = next(it["layers"] for it in contracts["contracts"] if it["type"] == "layers")
    return [[room.strip(" ()") for room in layer.replace(":", "|").split("|")] for layer in layers]


def caption(room: str) -> str:
    """Return what a room says of itself: the first sentence of its docstring."""
    path = CORE / room / "__init__.py"
    path = path if path.exists() else CORE / f"{room}.py"
    text = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    return " ".join(text.split("\n\n")[0].replace("``", "").split()).rstrip(".")


def wrapped(text: str, width: float) -> list[str]:
    """Return text in lines of about a width, at 11 px."""
    lines, most = [""], int(width / 5.9)
    for word in text.split():
        if len(lines[-1]) + len(word) + 1 > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    if len(lines) > 2:
        lines = [lines[0], lines[1][: most - 1].rstrip(" ,;:") + " …"]
    return lines


def drawing() -> str:
    """Return the house as SVG."""
    rows = floors()
    height = 2 * MARGIN + HEAD + len(rows) * FLOOR
    tops = [MARGIN + HEAD + floor * FLOOR for floor in range(len(rows))]
    inner = WIDTH - 3 * MARGIN - LANE * len(WAYS)
    parts = [f'<rect width="{WIDTH}" height="{height}" fill="{GROUND}"/>']
    for rooms, top in zip(rows, tops, strict=True):
        wide = (inner - GAP * (len(rooms) - 1)) / len(rooms)
        for place, room in enumerate(rooms):
            parts += _room(room, MARGIN + place * (wide + GAP), top, wide)
    floor_of = {room: top for rooms, top in zip(rows, tops, strict=True) for room in rooms}
    for number, way in enumerate(WAYS):
        parts += _way(*way, inner + 2 * MARGIN + LANE * (number + 0.5), floor_of)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        'font-family="Source Sans Pro, Helvetica, Arial, sans-serif" role="img">\n'
        "<title>The rooms of inkaccord on their floors: a room may use what stands below it, and "
        "what travels through them stops in the order of its numbers</title>\n"
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _room(name: str, left: float, top: float, wide: float) -> list[str]:
    return [
        f'<rect x="{left:.0f}" y="{top}" width="{wide:.0f}" height="{ROOM}" rx="5" '
        f'fill="{PAPER}" stroke="{WALL}"/>',
        _text(left + 12, top + 19, name, 14, INK, bold=True),
        *(
            _text(left + 12, top + 34 + 13 * line, text, 11, FAINT)
            for line, text in enumerate(wrapped(caption(name), wide - 24))
        ),
    ]


def _way(what: str, colour: str, stops: str, x: float, tops: dict[str, float]) -> list[str]:
    """Return a lane with a numbered dot on each floor that a way stops at, in its turn."""
    rooms = stops.split()
    numbers: dict[float, list[str]] = {}
    for number, room in enumerate(rooms, 1):
        numbers.setdefault(tops[room] + ROOM / 2, []).append(str(number))
    parts = [
        _text(x, MARGIN + 14, what, 13, colour, bold=True, middle=True),
        f'<path d="M{x:.0f} {min(numbers):.0f}V{max(numbers):.0f}" stroke="{colour}" '
        'stroke-width="2" stroke-opacity="0.35"/>',
    ]
    for y, told in numbers.items():
        parts += [
            f'<circle cx="{x:.0f}" cy="{y:.0f}" r="{10 + 4 * (len(told) - 1)}" fill="{colour}"/>',
            _text(x, y + 4, " ".join(told), 12, PAPER, bold=True, middle=True),
        ]
    return parts


def _text(
    x: float, y: float, text: str, size: int, fill: str, *, bold: bool = False, middle: bool = False
) -> str:
    weight = ' font-weight="600"' if bold else ""
    anchor = ' text-anchor="middle"' if middle else ""
    return (
        f'<text x="{x:.0f}" y="{y:.0f}" font-size="{size}" fill="{fill}"{weight}{anchor}>'
        f"{escape(text)}</text>"
    )
