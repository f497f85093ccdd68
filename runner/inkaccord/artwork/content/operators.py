"""Which operators set a colour, and which paint with it (ISO 32000-2, 8.6.8 and annex A)."""

DEVICE_OPERATORS: dict[bytes, tuple[str, int, bool]] = {
    b"k": ("cmyk", 4, True),
    b"K": ("cmyk", 4, False),
    b"rg": ("rgb", 3, True),
    b"RG": ("rgb", 3, False),
    b"g": ("gray", 1, True),
    b"G": ("gray", 1, False),
}
"""Operator: colour space, number of operands, whether it sets the fill."""
NAMED_OPERATORS = frozenset((b"cs", b"CS", b"scn", b"SCN", b"gs", b"Do", b"sh", b"Tf"))
COLOUR_OPERATORS = frozenset(DEVICE_OPERATORS) | {b"cs", b"CS", b"sc", b"SC", b"scn", b"SCN"}
COLOUR_WORDS = frozenset(word.decode() for word in COLOUR_OPERATORS)
LEAN_OPERATORS = COLOUR_OPERATORS | {b"gs", b"Do", b"sh", b"q", b"Q", b"BI", b"d1"}
"""What rewriting needs to see."""
PAINT_OPERATORS: dict[bytes, tuple[bool, bool, bool]] = {
    b"f": (True, False, False),
    b"F": (True, False, False),
    b"f*": (True, False, False),
    b"S": (False, True, False),
    b"s": (False, True, False),
    b"B": (True, True, False),
    b"B*": (True, True, False),
    b"b": (True, True, False),
    b"b*": (True, True, False),
    b"Tj": (True, True, True),
    b"TJ": (True, True, True),
    b"'": (True, True, True),
    b'"': (True, True, True),
}
"""Operator: whether it paints the fill, the stroke, and text (where the text mode decides)."""
FULL_OPERATORS = LEAN_OPERATORS | frozenset(PAINT_OPERATORS) | {b"Tr", b"Tf"}
"""What telling where a colour is used needs to see."""


def text_paints(mode: int) -> tuple[bool, bool]:
    """Whether a text rendering mode fills the glyphs, and whether it strokes them (table 104)."""
    return mode % 4 in (0, 2), mode % 4 in (1, 2)
