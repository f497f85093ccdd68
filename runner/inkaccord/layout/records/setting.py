"""Records set in their fields: which size each takes, and what can't be set, told by its line."""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.layout.records.codes import QrCodes
from inkaccord.layout.records.faces import Face
from inkaccord.layout.records.model import Align, RecordField, Stand, filled, lines_of
from inkaccord.layout.records.table import RecordTable
from inkaccord.pdf.forms import numbers
from inkaccord.units import mm
from inkaccord.written import shown

LEADING = 1.2
"""From line to line, of the size (common practice, no source)."""
_UP, _DOWN, _CAPITAL = 0.8, 0.3, 0.66
"""What a line takes above and below its baseline, and how high a capital is, of the size."""
_STEP_PT = 0.25
"""Sizes that lines are set down to differ by this."""


@dataclass(frozen=True)
class TextField:
    """A field of text, with its typeface and what each record has in it."""

    name: str
    field: RecordField
    face: Face
    lines: tuple[tuple[str, ...], ...]

    def findings(self, table: RecordTable) -> Iterator[Diagnostic]:
        """Yield the records whose text can't be set."""
        for record, lines in zip(table.records, self.lines, strict=True):
            lacking = [it for line in lines for it in self.face.lacking(line)]
            if lacking:
                yield _lacking(self, lines, lacking, Place(file=table.name, line=record.line))
            elif self.size_pt(lines) == 0:
                yield _too_long(self, lines, Place(file=table.name, line=record.line))

    def size_pt(self, lines: Sequence[str]) -> float:
        """Return the size that lines are set in; 0 where they fit in none that is allowed."""
        field = self.field
        widest = max((self.face.width(line) for line in lines), default=0.0)
        fitting = min(
            field.width * 1000 / widest if widest else field.type,
            field.height / (_UP + _DOWN + LEADING * (len(lines) - 1)) if lines else field.type,
        )
        if fitting >= field.type - 1e-6:
            return field.type
        if fitting < field.least_pt - 1e-6:
            return 0.0
        return max(fitting // _STEP_PT * _STEP_PT, field.least_pt)

    def shown(self, record: int, height_pt: float) -> bytes:
        """Return the operators that show a record's text on a trim of a height."""
        lines, field = self.lines[record], self.field
        size = self.size_pt(lines)
        run = LEADING * size * (len(lines) - 1)
        top, bottom = height_pt - field.top, height_pt - field.top - field.height
        match field.stand:
            case Stand.TOP:
                first = top - _UP * size
            case Stand.MIDDLE:
                first = (top + bottom + run - _CAPITAL * size) / 2
            case Stand.BOTTOM:
                first = bottom + _DOWN * size + run
        parts = []
        for number, line in enumerate(lines):
            spare = field.width - self.face.width(line) * size / 1000
            share = {Align.LEFT: 0.0, Align.CENTRE: 0.5, Align.RIGHT: 1.0}[field.align]
            at = numbers(1, 0, 0, 1, field.left + share * spare, first - number * LEADING * size)
            parts.append(f"{at} Tm ".encode() + self.face.show(line, size))
        return b"BT " + b"\n".join(parts) + b" ET"


@dataclass(frozen=True)
class CodeField:
    """A field that is a QR code, with what each record's says."""

    name: str
    field: RecordField
    texts: tuple[str, ...]
    codes: QrCodes

    def findings(self, table: RecordTable) -> Iterator[Diagnostic]:
        """Yield the records whose code can't be drawn, or not be scanned."""
        for record, text in zip(table.records, self.texts, strict=True):
            place = Place(file=table.name, line=record.line)
            if not text:
                yield error(
                    "record-empty",
                    f"the code '{self.name}' would say nothing",
                    place=place,
                    hint="fill its cell, or take the line out",
                )
            elif self.codes.is_too_long(text):
                yield error(
                    "record-too-long",
                    f"{self.name}: {shown(text)} is more than a code of its size holds",
                    place=place,
                    hint="say less in it: a short address that leads to the long one",
                )
        side, module = min(self.field.width, self.field.height), self.codes.module_pt(self.field)
        if module < self.codes.LEAST_MODULE_PT:
            yield error(
                "code-too-small",
                f"a code of {mm(side):.1f} mm has modules of {mm(module):.2f} mm: expected at "
                f"least {mm(self.codes.LEAST_MODULE_PT):.2f} mm",
                place=Place(field=self.name),
                hint="make the field larger, or let the code say less",
            )

    def shown(self, record: int, height_pt: float) -> bytes:
        """Return the operators that draw a record's code on a trim of a height."""
        return self.codes.drawn(self.texts[record], self.field, height_pt)


SetField = TextField | CodeField


def set_field(
    name: str, field: RecordField, table: RecordTable, faces: Mapping[str, Face]
) -> SetField:
    """Return a field with what every record has in it; its columns and face have to be there."""
    template = field.template(name)
    texts = [filled(template, record.cells) for record in table.records]
    if field.qr is not None:
        told = tuple(text.strip() for text in texts)
        return CodeField(name, field, told, QrCodes.for_texts(told))
    return TextField(name, field, faces[field.font], tuple(tuple(lines_of(it)) for it in texts))


def _lacking(
    field: TextField, lines: Sequence[str], letters: Sequence[str], place: Place
) -> Diagnostic:
    told = [f"'{it}' ({unicodedata.name(it, f'U+{ord(it):04X}').lower()})" for it in letters[:3]]
    ours = field.face.name.startswith("our ")
    hint = (
        "spell it otherwise, or set the field in a typeface that is embedded in the artwork"
        if ours
        else "a PDF holds the letters alone that stand in it: set the whole alphabet once outside "
        "the bleed, where it is cut off, or take one of our typefaces"
    )
    return error(
        "letter-missing",
        f"{field.name}: {shown(' '.join(lines))} has {', '.join(told)}, which {field.face.name} "
        "lacks",
        place=place,
        hint=hint,
    )


def _too_long(field: TextField, lines: Sequence[str], place: Place) -> Diagnostic:
    least, size = field.field.least_pt, field.field
    widest = max(lines, key=field.face.width)
    width = field.face.width(widest) * least / 1000
    high = (_UP + _DOWN + LEADING * (len(lines) - 1)) * least
    if width > size.width:
        what = f"{shown(widest)} is {mm(width):.1f} mm wide"
        room = f"{mm(size.width):.1f} mm"
    else:
        what, room = f"{len(lines)} lines are {mm(high):.1f} mm high", f"{mm(size.height):.1f} mm"
    return error(
        "record-too-long",
        f"{field.name}: {what} at {least:g} pt, its field {room}",
        place=place,
        hint="shorten it, make the field larger, or allow smaller type: the field's 'least'",
    )


def standing_for_all(fields: Sequence[SetField]) -> list[int]:
    """Return the records that stand for all: the first, and of each text the one set smallest."""
    chosen = [0]
    for field in fields:
        if isinstance(field, TextField):
            sizes = [field.size_pt(lines) for lines in field.lines]
            if min(sizes) < sizes[0]:
                chosen.append(sizes.index(min(sizes)))
    return list(dict.fromkeys(chosen))
