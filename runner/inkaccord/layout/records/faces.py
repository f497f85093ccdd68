"""Typefaces that records are set in: ours, and those that an artwork holds."""

import io
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import pikepdf
from pikepdf import Dictionary, Object, Pdf

from inkaccord.drawing.canvas import BOLD, ITALIC, REGULAR, Drawing, letter_widths
from inkaccord.pdf.typefaces import Typeface, read_typeface
from inkaccord.sizes import Size

OURS = {"regular": REGULAR, "bold": BOLD, "italic": ITALIC}
"""Our own typefaces, by the words that an order has for them."""
_CODES = {"/WinAnsiEncoding": "cp1252", "/MacRomanEncoding": "mac_roman"}
_SECTION = re.compile(rb"begin(bfchar|bfrange)(.*?)end\1", re.S)
_TOKEN = re.compile(rb"<([0-9A-Fa-f\s]*)>|[\[\]]")


@dataclass(frozen=True)
class Glyph:
    """How a letter is shown: the font's name on the page, the character code, its advance."""

    font: str
    code: bytes
    width: float
    """In thousandths of the size."""


@dataclass(frozen=True)
class Face:
    """A typeface with the letters that it can show."""

    name: str
    glyphs: Mapping[str, Glyph]

    def lacking(self, text: str) -> list[str]:
        """Return the letters that it can't show, each once."""
        return [letter for letter in dict.fromkeys(text) if letter not in self.glyphs]

    def width(self, line: str) -> float:
        """Return the length of a line, in thousandths of the size."""
        return sum(self.glyphs[letter].width for letter in line)

    def show(self, line: str, size_pt: float) -> bytes:
        """Return the operators that show a line where the text stands."""
        shown = []
        for font, glyphs in groupby((self.glyphs[letter] for letter in line), lambda it: it.font):
            codes = b"".join(glyph.code for glyph in glyphs).hex().encode()
            shown.append(b"/%s %g Tf <%s> Tj" % (font.encode(), size_pt, codes))
        return b" ".join(shown)


def our_faces(letters: Mapping[str, Iterable[str]]) -> tuple[dict[str, Face], bytes]:
    """Return our typefaces by the order's words for them, with the letters that are wanted of each.

    The fonts themselves stand in the PDF beside them, under the names that the glyphs have.
    """
    from reportlab.pdfbase.pdfmetrics import getFont  # noqa: PLC0415 - slow to load

    drawing = Drawing(Size(width_pt=1, height_pt=1), title="typefaces")
    canvas: Any = drawing.canvas
    document = canvas._doc  # noqa: SLF001 - the library's own way to take part of a face
    faces: dict[str, Face] = {}
    for word, wanted in letters.items():
        widths = letter_widths(OURS[word])
        font: Any = getFont(OURS[word])
        glyphs: dict[str, Glyph] = {}
        for letter in sorted(set(wanted)):
            if letter in widths and not unicodedata.combining(letter):
                ((subset, code),) = font.splitString(letter, document)
                name = font.getSubsetInternalName(subset, document)
                glyphs[letter] = Glyph(_on_page(name), code, widths[letter])
        faces[word] = Face(f"our {word} typeface", glyphs)
    drawing.canvas.showPage()
    return faces, drawing.bytes()


def fonts_for(pdf: Pdf, faces: Iterable[Face], ours: bytes) -> Object:
    """Return the fonts of some faces, by their names on a page, as objects of a file.

    ``pdf`` is the file that the artwork's own faces were found in, ``ours`` holds all others.
    """
    wanted = {glyph.font for face in faces for glyph in face.glyphs.values()}
    found = {f"/{_of_artwork(number)}": font for number, font in enumerate(_fonts(pdf))}
    with Pdf.open(io.BytesIO(ours)) as drawn:
        embedded = drawn.pages[0].obj.get("/Resources", Dictionary()).get("/Font", Dictionary())
        for name, font in embedded.items():
            if _on_page(name) in wanted:
                found[f"/{_on_page(name)}"] = pdf.copy_foreign(font)
    fonts = {name: font for name, font in found.items() if name.removeprefix("/") in wanted}
    return pdf.make_indirect(Dictionary(fonts))


def _of_artwork(number: int) -> str:
    return f"LaidArtwork{number}"


def _on_page(name: str) -> str:
    """Return the name of one of our fonts on a page, which nothing of the artwork's has."""
    return f"Laid{name.removeprefix('/').replace('+', '-')}"


def faces_in(pdf: Pdf) -> dict[str, Face]:
    """Return the typefaces that a file embeds, by name, with the letters that are known there.

    A letter is there where the font's ToUnicode map or its usual encoding names it and its advance
    is not 0. A typeface may stand in the file in several parts, each with some letters.
    """
    glyphs: dict[str, dict[str, Glyph]] = {}
    for number, font in enumerate(_fonts(pdf)):
        face = read_typeface(font)
        if not face.embedded:
            continue
        letters = glyphs.setdefault(face.name, {})
        for letter, code in _letters(font, face):
            width = face.widths.get(int.from_bytes(code), face.usual_width)
            if width > 0:
                letters.setdefault(letter, Glyph(_of_artwork(number), code, width))
    return {name: Face(name, letters) for name, letters in glyphs.items()}


def _fonts(pdf: Pdf) -> Iterator[Any]:
    for thing in pdf.objects:
        if (
            isinstance(thing, pikepdf.Dictionary)
            and thing.get("/Type") == "/Font"
            and str(thing.get("/Subtype")) in {"/Type0", "/TrueType", "/Type1", "/MMType1"}
        ):
            yield thing


def _letters(font: Any, face: Typeface) -> Iterator[tuple[str, bytes]]:
    """Yield the letters that a font is known to show, with their codes."""
    mapped = font.get("/ToUnicode")
    if isinstance(mapped, pikepdf.Stream):
        for code, letter in unicode_map(mapped.read_bytes()):
            if len(code) == face.code_bytes and len(letter) == 1:
                yield letter, code
        return
    encoding = _CODES.get(str(font.get("/Encoding")))
    if encoding is not None:
        for number in face.widths.keys() & set(range(32, 256)):
            code = bytes([number])
            if letter := code.decode(encoding, "ignore"):
                yield letter, code


def unicode_map(data: bytes) -> Iterator[tuple[bytes, str]]:
    """Yield the codes of a ToUnicode map with what they mean (ISO 32000-2, 9.10.3)."""
    for section in _SECTION.finditer(data):
        tokens: list[bytes | str] = [
            found[0].decode() if found[1] is None else _bytes(found[1])
            for found in _TOKEN.finditer(section[2])
        ]
        yield from (_pairs(tokens) if section[1] == b"bfchar" else _ranges(tokens))


def _bytes(digits: bytes) -> bytes:
    plain = b"".join(digits.split())
    return bytes.fromhex((plain + b"0" * (len(plain) % 2)).decode())


def _pairs(tokens: list[bytes | str]) -> Iterator[tuple[bytes, str]]:
    for code, meaning in zip(tokens[::2], tokens[1::2], strict=False):
        if isinstance(code, bytes) and isinstance(meaning, bytes):
            yield code, meaning.decode("utf-16-be", "ignore")


def _ranges(tokens: list[bytes | str]) -> Iterator[tuple[bytes, str]]:
    waiting = iter(tokens)
    for low in waiting:
        high, meaning = next(waiting, ""), next(waiting, "")
        meanings: list[str] = []
        if meaning == "[":
            meanings += [_letter(one) for one in iter(lambda: next(waiting, "]"), "]")]
        if not isinstance(low, bytes) or not isinstance(high, bytes):
            return
        first = int.from_bytes(low)
        count = min(int.from_bytes(high) - first + 1, 65536)
        start = _letter(meaning)
        if len(start) == 1:
            meanings = [chr(min(ord(start) + n, 0x10FFFF)) for n in range(count)]
        for n, letter in enumerate(meanings[:count]):
            yield (first + n).to_bytes(len(low)), letter


def _letter(meaning: bytes | str) -> str:
    return meaning.decode("utf-16-be", "ignore") if isinstance(meaning, bytes) else ""
