"""What a PDF font dictionary says: its name, whether it is embedded, how wide its glyphs are."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cache

import pikepdf

from inkaccord.pdf.entries import plain

_FILES = ("/FontFile", "/FontFile2", "/FontFile3")
_USUAL_ASCENT, _USUAL_DESCENT = 750.0, -250.0
_USUAL_WIDTH = 500.0


@dataclass(frozen=True)
class Typeface:
    """One font of a file.

    Attributes
    ----------
    name
        Its name, without the subset tag.
    kind
        Type1, TrueType, Type0, Type3 …
    embedded
        Whether the glyphs stand in the file (a Type 3 font's always do).
    subset
        Whether only some of them do.
    code_bytes
        Bytes in one character code.
    widths, usual_width
        Advance by code, in thousandths of the size (of the glyph space for Type 3).
    ascent, descent
        Reach above and below the baseline, in the same unit.
    """

    name: str
    kind: str
    embedded: bool
    subset: bool = False
    code_bytes: int = 1
    widths: Mapping[int, float] = field(default_factory=dict, repr=False)
    usual_width: float = _USUAL_WIDTH
    ascent: float = _USUAL_ASCENT
    descent: float = _USUAL_DESCENT

    def codes(self, text: bytes) -> list[int]:
        """Split a shown string into character codes."""
        if self.code_bytes == 1:
            return list(text)
        return [int.from_bytes(text[at : at + 2]) for at in range(0, len(text) - 1, 2)]

    def is_blank(self, text: bytes) -> bool:
        """Whether a string shows only word spaces (simple fonts; else whether it is empty)."""
        return not text.strip(b" ") if self.code_bytes == 1 else not text


def read_typeface(font: object) -> Typeface:
    """Return the facts of a font dictionary; usual values where it says nothing sensible."""
    if not isinstance(font, pikepdf.Dictionary):
        return Typeface(name="unnamed", kind="missing", embedded=False)
    kind = plain(font.get("/Subtype", "/unknown"))
    name = plain(font.get("/BaseFont", font.get("/Name", "/unnamed")))
    subset = len(name) > 7 and name[6] == "+" and name[:6].isalpha() and name[:6].isupper()
    own = name[7:] if subset else name
    if kind == "Type0":
        return _composite(font, own, subset=subset)
    descriptor = font.get("/FontDescriptor")
    embedded = kind == "Type3" or _has_file(descriptor)
    widths = _simple_widths(font)
    if not widths and kind != "Type3":
        widths = _standard_widths(own)
    ascent, descent = _reach(descriptor)
    if kind == "Type3":
        ascent, descent = _type3_reach(font)
    return Typeface(
        own, kind, embedded, subset, 1, widths, _number(descriptor, "/MissingWidth", 0.0)
        if widths else _USUAL_WIDTH, ascent, descent,
    )  # fmt: skip


def _has_file(descriptor: object) -> bool:
    return isinstance(descriptor, pikepdf.Dictionary) and any(key in descriptor for key in _FILES)


def _number(holder: object, key: str, otherwise: float) -> float:
    if not isinstance(holder, pikepdf.Dictionary):
        return otherwise
    try:
        return float(holder.get(key, otherwise))
    except (TypeError, ValueError, ArithmeticError):
        return otherwise


def _reach(descriptor: object) -> tuple[float, float]:
    ascent = _number(descriptor, "/Ascent", 0.0) or _USUAL_ASCENT
    descent = _number(descriptor, "/Descent", 0.0) or _USUAL_DESCENT
    return ascent, -abs(descent)


def _type3_reach(font: pikepdf.Dictionary) -> tuple[float, float]:
    try:
        low, high = sorted((float(font["/FontBBox"][1]), float(font["/FontBBox"][3])))
        scale = abs(float(font["/FontMatrix"][3])) * 1000
    except (KeyError, IndexError, TypeError, ValueError, ArithmeticError):
        return _USUAL_ASCENT, _USUAL_DESCENT
    if high <= low or scale <= 0:
        return _USUAL_ASCENT, _USUAL_DESCENT
    return high * scale, low * scale


def _simple_widths(font: pikepdf.Dictionary) -> dict[int, float]:
    widths, scale = font.get("/Widths"), 1.0
    if not isinstance(widths, pikepdf.Array):
        return {}
    try:
        first = int(font.get("/FirstChar", 0))
        if font.get("/Subtype") == "/Type3":
            scale = abs(float(font["/FontMatrix"][0])) * 1000
        return {first + at: float(width) * scale for at, width in enumerate(widths)}
    except (KeyError, IndexError, TypeError, ValueError, ArithmeticError):
        return {}


@cache
def _standard_widths(name: str) -> dict[int, float]:
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - slow to load, rarely needed

    if name not in pdfmetrics.standardFonts:
        return {}
    encoded = [bytes([code]).decode("latin-1") for code in range(32, 256)]
    return {ord(letter): float(pdfmetrics.stringWidth(letter, name, 1000)) for letter in encoded}


def _composite(font: pikepdf.Dictionary, name: str, *, subset: bool) -> Typeface:
    below = font.get("/DescendantFonts")
    descendant = below[0] if isinstance(below, pikepdf.Array) and len(below) else None
    if not isinstance(descendant, pikepdf.Dictionary):
        return Typeface(name=name, kind="Type0", embedded=False, code_bytes=2)
    descriptor = descendant.get("/FontDescriptor")
    ascent, descent = _reach(descriptor)
    widths: dict[int, float] = {}
    with suppress(IndexError, TypeError, ValueError, ArithmeticError):  # what was read stands
        _read_w(descendant.get("/W"), widths)
    return Typeface(
        name=name,
        kind="Type0",
        embedded=_has_file(descriptor),
        subset=subset,
        code_bytes=2,
        widths=widths,
        usual_width=_number(descendant, "/DW", 1000.0),
        ascent=ascent,
        descent=descent,
    )


def _read_w(array: object, widths: dict[int, float]) -> None:
    """Read the W array of a CIDFont: runs ``c [w …]`` and ranges ``first last w``."""
    if not isinstance(array, pikepdf.Array):
        return
    items = list(array)
    at = 0
    while at + 1 < len(items):
        first, second = int(items[at]), items[at + 1]
        if isinstance(second, pikepdf.Array):
            widths.update({first + n: float(w) for n, w in enumerate(second)})
            at += 2
        else:
            last = min(int(second), first + 65535)
            widths.update(dict.fromkeys(range(first, last + 1), float(items[at + 2])))
            at += 3
