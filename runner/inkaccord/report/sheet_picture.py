"""A sheet as it lies on the table, with its pieces, folds and numbered cuts."""

from collections.abc import Iterator, Sequence

from inkaccord.drawing.canvas import text_width
from inkaccord.layout.cut_numbers import number_places
from inkaccord.report.graphics import Chart, Dot, Line, Mark, Path, Role, Words
from inkaccord.run.imposed import BoxMm, LaidTrim, SheetRun
from inkaccord.sizes import Box
from inkaccord.words import joined

_SMALLEST = 0.5
"""Of the size of names: what would be smaller goes without."""
_DISC = 0.6
"""Radius of a number's disc, of its size."""
_SHRINKS = (1.0, 0.85, 0.7, 0.55, 0.4, 0.3)
"""Sizes of the numbers that are tried, of the names' size."""


def sheet_chart(sheet: SheetRun, width: float, height: float, *, size: float) -> Chart:
    """Return a picture of one sheet's front that fits into a width and a height.

    ``size`` is that of the names on the pieces, where they find room, and of the numbers of cuts,
    which are smaller where they would lie on one another. Each cut runs across the papers that lie
    on the table when it is made; its number stands beside one of them.
    """
    return _Pen(sheet, width, height, size).chart()


class _Pen:
    """Turns millimetres from the sheet's lower left corner into marks, y downwards."""

    def __init__(self, sheet: SheetRun, width: float, height: float, size: float) -> None:
        self.sheet, self.size = sheet, size
        self.rim = 2.5 * _DISC * size
        across, down = width - 2 * self.rim, height - 2 * self.rim
        self.unit = min(across / sheet.width_mm, down / sheet.height_mm)

    def chart(self) -> Chart:
        sheet = self.sheet
        up = joined([f"{number} × {piece}" for piece, number in sheet.pieces.items()])
        return Chart(
            width=sheet.width_mm * self.unit + 2 * self.rim,
            height=sheet.height_mm * self.unit + 2 * self.rim,
            says=f"{sheet.path}: {up} on a sheet, with bleeds, folds and cuts",
            marks=tuple(self._marks()),
        )

    def _marks(self) -> Iterator[Mark]:
        sheet = self.sheet
        yield self._box((0, 0, sheet.width_mm, sheet.height_mm), "unprintable")
        yield self._box(sheet.printable_mm, "printable")
        for trim in sheet.trims:
            yield self._box(trim.bleed_mm, "bleed")
        names = [name for trim in sheet.trims for name in self._name(trim)]
        for trim in sheet.trims:
            yield self._box(trim.box_mm, "trim")
            for fold in trim.folds_mm:
                yield self._line(fold, "fold")
        yield from names
        for cut in sheet.cuts:
            yield self._line(cut.ends_mm, "cut")
        yield from self._numbers([_extent(name) for name in names])  # over all lines

    def _numbers(self, names: Sequence[Box]) -> Iterator[Mark]:
        """Yield the number of each cut, on a disc beside its line."""
        cuts: dict[int, list[BoxMm]] = {}
        for cut in self.sheet.cuts:
            ends = (*self._at(*cut.ends_mm[:2]), *self._at(*cut.ends_mm[2:]))
            cuts.setdefault(cut.number, []).append(ends)
        right, bottom = self._at(self.sheet.width_mm, 0)
        sheet = Box(self.rim, self.rim, right, bottom)
        for share in _SHRINKS:
            size = share * self.size
            places = number_places(cuts, sheet, _DISC * size, names)
            if places is not None:
                break
        else:
            return
        for number, place in places.items():
            if place.tip is not None:
                yield Line(*place.tip, place.x, place.y, "cut")
            yield Dot(place.x, place.y, _DISC * size, "cutdot")
            digits = 0.8 * size if number < 100 else 0.6 * size
            y = place.y + 0.36 * digits
            yield Words(place.x, y, str(number), "cutnumber", "middle", size=digits)

    def _name(self, trim: LaidTrim) -> Iterator[Words]:
        """Yield a piece's name along its longer side, as large as fits."""
        left, bottom, right, top = (edge * self.unit for edge in trim.box_mm)
        upright = top - bottom > right - left
        along, across = sorted((right - left, top - bottom), reverse=True)
        room = self.size * along / (text_width(trim.piece, self.size) + 4)
        size = min(self.size, 0.8 * across, room)
        if size < _SMALLEST * self.size:
            return
        x, y = self._at(
            (trim.box_mm[0] + trim.box_mm[2]) / 2, (trim.box_mm[1] + trim.box_mm[3]) / 2
        )
        x, y = (x + 0.35 * size, y) if upright else (x, y + 0.35 * size)
        yield Words(x, y, trim.piece, "name", "middle", 90 if upright else 0, size)

    def _at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        return (
            self.rim + x_mm * self.unit,
            self.rim + (self.sheet.height_mm - y_mm) * self.unit,
        )

    def _box(self, box_mm: BoxMm, role: Role) -> Path:
        left, bottom, right, top = box_mm
        corners = ((left, bottom), (right, bottom), (right, top), (left, top))
        return Path(tuple(self._at(x, y) for x, y in corners), role)

    def _line(self, ends_mm: BoxMm, role: Role) -> Line:
        (x1, y1), (x2, y2) = self._at(*ends_mm[:2]), self._at(*ends_mm[2:])
        return Line(x1, y1, x2, y2, role)


def _extent(name: Words) -> Box:
    """Return what a name in the middle of its piece covers."""
    along, across = text_width(name.text, name.size) / 2, name.size / 2
    if name.turn:
        x = name.x - 0.35 * name.size
        return Box(x - across, name.y - along, x + across, name.y + along)
    y = name.y - 0.35 * name.size
    return Box(name.x - along, y - across, name.x + along, y + across)
