"""What a page of our lists is made of: plain values, set on pages by :mod:`.setting`.

Since they are values, pages that say the same are set once, from run to run.
"""

from dataclasses import dataclass, replace

from inkaccord.report.graphics import Chart

_LONG_ROWS = 13
"""So many lines of a table, with its head, stay on one page."""


HAIRLINE = 0.4
"""Width of a plain rule, in points; a wider one is black."""


@dataclass(frozen=True)
class TextPart:
    """A paragraph: markup whose words are escaped, in one of the styles of our lists."""

    markup: str
    style: str


@dataclass(frozen=True)
class GapPart:
    """Empty room."""

    height_pt: float


@dataclass(frozen=True)
class RulePart:
    """A level line across the column."""

    weight_pt: float
    before_pt: float
    after_pt: float


@dataclass(frozen=True)
class BlockPart:
    """Parts that stay on one page. They must fit on one."""

    parts: tuple["Part", ...]


@dataclass(frozen=True)
class GridPart:
    """A table: a line under the head, hairlines between rows, the first column flush.

    ``head_span`` is over how many columns the first cell of the head reaches; ``over`` draws a
    line over the first row, to be signed on.
    """

    rows: tuple[tuple[tuple["Part", ...], ...], ...]
    widths_pt: tuple[float, ...]
    head: bool = False
    lines: bool = True
    pad_pt: float = 3.0
    head_span: int = 1
    over: bool = False

    @property
    def is_long(self) -> bool:
        """Whether it may go on over a page, where its head stands again."""
        return self.head and len(self.rows) > _LONG_ROWS


@dataclass(frozen=True)
class PicturePart:
    """A picture with a hairline round it, so that white paper shows, and numbers on it.

    Attributes
    ----------
    picture
        A PNG; where pages are set without their pictures, its number among them.
    width_pt, height_pt
        How large it stands there.
    numbers
        Each with its place, in points from the lower left corner.
    """

    picture: bytes | int
    width_pt: float
    height_pt: float
    numbers: tuple[tuple[int, float, float], ...] = ()


@dataclass(frozen=True)
class TickPart:
    """An empty box to tick."""


@dataclass(frozen=True)
class ChartPart:
    """A chart, one unit of it ``scale`` points large."""

    chart: Chart
    scale: float


Part = TextPart | GapPart | RulePart | BlockPart | GridPart | PicturePart | TickPart | ChartPart


def without_pictures(part: Part, pictures: dict[bytes, int]) -> Part:
    """Return a part whose pictures are numbers, each picture entered under its own."""
    match part:
        case BlockPart(parts):
            return BlockPart(tuple(without_pictures(one, pictures) for one in parts))
        case GridPart():
            rows = tuple(
                tuple(tuple(without_pictures(one, pictures) for one in cell) for cell in row)
                for row in part.rows
            )
            return replace(part, rows=rows)
        case PicturePart(picture=bytes() as png):
            return replace(part, picture=pictures.setdefault(png, len(pictures)))
    return part
