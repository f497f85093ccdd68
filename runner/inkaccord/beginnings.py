"""What a file is by how it begins: its name tells nothing, since anybody may have changed it."""

from pathlib import Path

_HEAD = 64
_PACKED, _COMPOUND, _PDF = b"pk\3\4", b"\xd0\xcf\x11\xe0", b"%pdf-"
_BEGINNINGS = (
    # JPEG: ITU-T T.81; PNG: W3C; GIF: GIF89a; TIFF 6.0; zip: ISO/IEC 21320-1; the compound file of
    # older office programs from memory.
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89png", "a PNG picture"),
    (b"gif8", "a GIF picture"),
    (b"ii*\0", "a TIFF picture"),
    (b"mm\0*", "a TIFF picture"),
    (_PACKED, "a packed file, such as a spreadsheet, a text document or a zip"),
    (_COMPOUND, "a document of an office program"),
    (_PDF, "a PDF"),
    (b"%!ps", "a PostScript file"),
    (b"<!doctype html", "a web page"),
    (b"<html", "a web page"),
    (b"<svg", "an SVG drawing"),
)  # fmt: skip


def head_of(source: Path | bytes) -> bytes:
    """Return the first bytes of a file, enough to see what it is. Raises OSError."""
    if isinstance(source, bytes):
        return source[:_HEAD]
    with source.open("rb") as file:
        return file.read(_HEAD)


def may_be_spreadsheet(head: bytes) -> bool:
    """Tell whether a file begins as those of spreadsheet programs do: packed, or compound."""
    return head.lower().startswith((_PACKED, _COMPOUND))


def may_be_pdf(head: bytes) -> bool:
    """Tell whether a file begins as a PDF does."""
    return head.lstrip().lower().startswith(_PDF)


def what_begins(head: bytes) -> str | None:
    """Return what a file is that begins so, in words; None for what is not known here."""
    if not head:
        return "empty"
    begun = head.lstrip().lower()
    return next((what for begin, what in _BEGINNINGS if begun.startswith(begin)), None)
