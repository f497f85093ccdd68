"""Where text goes: the text matrices of ISO 32000-2, 9.4."""

from dataclasses import dataclass

from inkaccord.artwork.marks.state import PageState
from inkaccord.pdf.geometry import (
    IDENTITY,
    NOWHERE,
    Bounds,
    Matrix,
    around,
    axes_of,
    bounds_of,
    times,
)


@dataclass(slots=True)
class TextCursor:
    """The text matrix and the text line matrix of one text object."""

    matrix: Matrix = IDENTITY
    line: Matrix = IDENTITY

    def set(self, matrix: Matrix) -> None:
        """Do what ``Tm`` does, and ``BT`` with the identity."""
        self.matrix = self.line = matrix

    def move(self, x: float, y: float) -> None:
        """Do what ``Td`` does."""
        self.matrix = self.line = times((1.0, 0.0, 0.0, 1.0, x, y), self.line)

    def shift(self, state: PageState, thousandths: float) -> None:
        """Move on by a number in a ``TJ`` array."""
        by = -thousandths / 1000 * state.size * state.stretch
        self.matrix = times((1.0, 0.0, 0.0, 1.0, by, 0.0), self.matrix)

    def show(self, state: PageState, text: bytes) -> Bounds:
        """Move on past a shown string; return the box it covers on the page.

        The box spans the font's ascent and descent and the strings' advance, without side
        bearings; word spaces at its ends are left out.
        """
        font = state.font
        if font is None:
            return NOWHERE
        advances = [
            (
                font.widths.get(code, font.usual_width) / 1000 * state.size
                + state.character_space
                + (state.word_space if code == 32 and font.code_bytes == 1 else 0.0)
            )
            * state.stretch
            for code in font.codes(text)
        ]
        start = 0.0
        end = total = sum(advances)
        if font.code_bytes == 1:
            lead = len(text) - len(text.lstrip(b" "))
            tail = len(text) - len(text.rstrip(b" "))
            start = sum(advances[:lead])
            end = total - sum(advances[len(advances) - tail :]) if tail < len(text) else start
        if state.character_space > 0 and advances:
            end = max(start, end - state.character_space * state.stretch)
        low = font.descent / 1000 * state.size + state.rise
        high = font.ascent / 1000 * state.size + state.rise
        onto = times(self.matrix, state.ctm)
        box = bounds_of((min(start, end), min(low, high), max(start, end), max(low, high)), onto)
        self.matrix = times((1.0, 0.0, 0.0, 1.0, total, 0.0), self.matrix)
        return box

    def size_on_page(self, state: PageState) -> float:
        """Return the type size in page points: the size as the matrices scale it upwards."""
        return abs(state.size) * axes_of(times(self.matrix, state.ctm))[1]


def joined(boxes: list[Bounds]) -> Bounds:
    """Return the box around the strings of one ``TJ``."""
    return around(box for box in boxes if box[0] <= box[2])
