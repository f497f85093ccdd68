"""What operators that choose a space or set a colour do, to the pen and to the new stream."""

from __future__ import annotations

import math

import pikepdf

from inkaccord.artwork.content.graphics_state import ColourPen
from inkaccord.artwork.content.reading import AGAIN, FILL, STROKE, ColourReading, Guide
from inkaccord.artwork.content.scan import paints_before_setting
from inkaccord.artwork.content.steps import BLANKS, SPACE, ColourStep, Lexicon
from inkaccord.artwork.swap_table import Mapped
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.space_reader import MISSING
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    PLAIN_PATTERN,
    Space,
    SpaceKind,
    write_number,
    write_paint,
)

_DEVICE_SUFFIX = {SpaceKind.CMYK: "CMYK", SpaceKind.RGB: "RGB", SpaceKind.GRAY: "Gray"}


class Pens:
    """Follows the pens of one stream, for fills and for strokes, and writes what they become."""

    def __init__(
        self, lexicon: Lexicon, scope: Scope, guide: Guide, reading: ColourReading
    ) -> None:
        self._lexicon = lexicon
        self._scope = scope
        self._guide = guide
        self._reading = reading

    def misspelt(self, token: bytes, step: ColourStep, pen: ColourPen) -> None:
        """Report operands that can't be read; an error if some reader may take them as swapped."""
        text = token.strip(BLANKS).decode("latin-1")[:60]
        if step.space is None and pen.inherited:
            self._reading.consulted.add(FILL if step.fill else STROKE)
        old = self._lexicon.old_among(step.readings, step.space or pen.space)
        if old is None:
            self._guide.finding("bad-operands", f"{text!r} is not a valid operator")
        else:
            self._guide.finding(
                "misspelt-colour", f"{text!r} is misspelt, and may be read as {old}, which changes"
            )

    def chosen_again(
        self, data: bytes, start: int, before: ColourPen, pen: ColourPen, *, fill: bool
    ) -> None:
        """Report a space that is chosen a second time, if its first colour is then painted with.

        By the standard that colour is set anew (ISO 32000-2, 8.6.8): so poppler has it. Ghostscript
        10.00 and PDFium go on with the last one (tried).
        """
        if not paints_before_setting(data, start, fill=fill):
            return
        if before.inherited:
            self._reading.consulted |= {FILL if fill else STROKE, AGAIN}
        if before.space.key == pen.space.key and before.colour != pen.colour:
            self._guide.finding(
                "chosen-again",
                f"{pen.space.name} is chosen again after {before.colour or 'another colour'}, and "
                f"painted with as it is: some devices make {pen.colour} of it, others go on",
            )

    def set(self, step: ColourStep, pen: ColourPen, start: int, end: int) -> ColourPen:
        """Return the pen after a colour is set in its space (``sc``, ``scn``)."""
        if pen.inherited:
            self._reading.consulted.add(FILL if step.fill else STROKE)
            self._reading.uses_caller = True
        space = pen.space
        if space.kind is SpaceKind.PATTERN:
            return self._set_pattern(step, pen, start, end)
        if step.name or len(step.numbers) < space.components or space.kind is SpaceKind.UNKNOWN:
            if space.kind is not SpaceKind.UNKNOWN:
                self._guide.finding(
                    "bad-operands", f"sc or scn with wrong operands for {space.name}"
                )
            return self._keep_set(ColourPen(space, None, pen.out), step, pen, start)
        numbers = step.numbers[len(step.numbers) - space.components :]
        if space.kind is SpaceKind.INDEXED and numbers[0] % 1:
            self._between(numbers[0], space)
        known = self._lexicon.pen(space, numbers)
        if known.mapped is None:
            return self._keep_set(known, step, pen, start)
        if known.mapped.inks:
            return self._swap_inks(known, step, pen, start, end)
        self._swap(known.mapped, step, start, end)
        return known

    def _between(self, place: float, space: Space) -> None:
        """Report a place between two of a table, if one of those is swapped.

        By the standard the nearest counts (ISO 32000-2, 8.6.6.3): so poppler has it. Ghostscript
        10.00 and PDFium take the one before (tried).
        """
        old = self._lexicon.old_among([(math.floor(place),), (math.ceil(place),)], space)
        if old is not None:
            self._guide.finding(
                "misspelt-colour",
                f"'{place:g}' is no place of a colour table, and may be read as {old}, which "
                "changes",
            )

    def _keep_set(
        self, new: ColourPen, step: ColourStep, before: ColourPen, start: int
    ) -> ColourPen:
        """Leave the operands; if the rewritten stream has left the space, select it again."""
        if before.out.key != new.space.key and new.space.kind is not SpaceKind.UNKNOWN:
            word = b" cs" if step.fill else b" CS"
            text = self._name_of(new.space) + word
            text = b" " + text if step.lead else text + b" "
            self._reading.edits.append((start, start, text))
        new.out = new.space
        return new

    def _name_of(self, space: Space) -> bytes:
        if space.kind in DEVICE:
            return f"/Device{_DEVICE_SUFFIX[space.kind]}".encode()
        return self._scope.add_space(space).encode()

    def _swap(self, mapped: Mapped, step: ColourStep, start: int, end: int) -> None:
        new = _lead(step, start) + self._lexicon.setting(mapped, fill=step.fill)
        self._reading.edits.append((start, end, new))
        self._reading.swapped[mapped.swap, mapped.tint] += 1

    def _swap_inks(
        self, known: ColourPen, step: ColourStep, before: ColourPen, start: int, end: int
    ) -> ColourPen:
        """Write a mixture in which spots stay, in the space of the inks that it is now made of."""
        mapped, space = known.mapped, known.space
        assert mapped is not None  # noqa: S101 - who calls has asked
        target = self._target(mapped, space)
        if target is None:
            return self._keep_set(ColourPen(space, known.colour, space), step, before, start)
        chosen, setting = (b" cs ", b" scn") if step.fill else (b" CS ", b" SCN")
        text = _operands(mapped) + setting
        if step.code == SPACE and target is space:
            text = _write_name(step.name) + chosen + text
        elif step.code == SPACE or before.out.key != target.key:
            text = self._name_of(target) + chosen + text
        self._reading.edits.append((start, end, _lead(step, start) + text))
        self._reading.swapped[mapped.swap, mapped.tint] += 1
        return ColourPen(space, known.colour, target, mapped)

    def _target(self, mapped: Mapped, space: Space) -> Space | None:
        """Return the space of a new colour; None where spots that stay can't be told beside it."""
        if not mapped.inks:
            return self._lexicon.target(mapped)
        names = tuple(name for name, _ in mapped.inks)
        return space if names == space.colorants else self._guide.mixture(space, names)

    def _set_pattern(self, step: ColourStep, pen: ColourPen, start: int, end: int) -> ColourPen:
        space = pen.space
        base = space.base
        if not step.name:  # readers pass it over: Ghostscript 10.00, poppler and PDFium (tried)
            self._guide.finding("bad-operands", "scn without a name where it takes a pattern")
            return pen
        new = ColourPen(space, None, space, pattern=step.name)
        self._reading.named.add(("/Pattern", step.name))
        if not step.numbers and pen.out is PLAIN_PATTERN:
            new.out = PLAIN_PATTERN  # it has colours of its own
            return new
        if base is None or not step.numbers:
            return self._keep_set(new, step, pen, start)
        if len(step.numbers) < base.components:
            self._guide.finding("bad-operands", "scn with too few operands for a pattern")
            return self._keep_set(new, step, pen, start)
        new.colour = base.colour(step.numbers[-base.components :])
        new.mapped = self._lexicon.becomes(base, new.colour)
        target = self._target(new.mapped, base) if new.mapped is not None else None
        if new.mapped is None or target is None:
            new.mapped = None
            return self._keep_set(new, step, pen, start)
        word = b"scn" if step.fill else b"SCN"
        digits = _operands(new.mapped)
        text = digits + b" " + _write_name(step.name) + b" " + word
        if target.key != base.key or pen.out.key != space.key:
            definition = target.definition
            if definition is None:
                definition = pikepdf.Name("/Device" + _DEVICE_SUFFIX[target.kind])
            name = self._scope.add(
                "/ColorSpace",
                f"pattern {target.key}",
                lambda: pikepdf.Array([pikepdf.Name.Pattern, definition]),
            )
            text = name.encode() + (b" cs " if step.fill else b" CS ") + text
            new.out = Space(
                SpaceKind.PATTERN,
                target.components,
                "pattern",
                base=target,
                key=f"pattern {target.key}",
            )
        self._reading.edits.append((start, end, step.lead + text))
        self._reading.swapped[new.mapped.swap, new.mapped.tint] += 1
        return new

    def select(self, step: ColourStep, before: ColourPen, start: int, end: int) -> ColourPen:
        """Return the pen after a space is chosen (``cs``)."""
        space = self._scope.space(step.name)
        if space is MISSING:
            return before
        known = self._lexicon.pen(space, None)
        # Its own object each time: a colour chosen by cs alone may never be painted with.
        pen = ColourPen(space, known.colour, known.out, known.mapped)
        if known.mapped is not None and known.mapped.inks:
            return self._swap_inks(pen, step, pen, start, end)
        if known.mapped is not None:
            self._swap(known.mapped, step, start, end)
        elif space.kind is SpaceKind.PATTERN and self._lexicon.loses_inks(space.base):
            # Its name may be forgotten; what no pattern has paints nothing in either.
            chosen = b"/Pattern cs" if step.fill else b"/Pattern CS"
            self._reading.edits.append((start, end, _lead(step, start) + chosen))
            pen.out = PLAIN_PATTERN
        return pen


def _lead(step: ColourStep, start: int) -> bytes:
    """Return what stands before an operator; a name needs no blank ('cm/C cs'), a number does."""
    return step.lead or (b" " if start else b"")


def _operands(mapped: Mapped) -> bytes:
    if mapped.inks:
        return " ".join(write_number(percent / 100) for _, percent in mapped.inks).encode()
    text = write_paint(mapped.paint, fill=True)
    return text.rsplit(b" ", 1)[0]


def _write_name(name: str) -> bytes:
    raw = name.removeprefix("/").encode("utf-8", "surrogateescape")
    return b"/" + b"".join(
        bytes([byte]) if 33 <= byte <= 126 and byte not in b"()<>[]{}/%#" else b"#%02X" % byte
        for byte in raw
    )
