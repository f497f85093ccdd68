"""What kind of program made a file, by what the file says of itself."""

from __future__ import annotations

import pikepdf

from inkaccord.artwork.programs import ProgramKind
from inkaccord.pdf.entries import entry

_WRITTEN: tuple[tuple[str, ProgramKind], ...] = (
    ("inkscape", ProgramKind.VECTOR),
    ("scribus", ProgramKind.LAYOUT),
    ("libreoffice", ProgramKind.OFFICE),
    ("openoffice", ProgramKind.OFFICE),
    ("pdftex", ProgramKind.TYPESETTER),
    ("luatex", ProgramKind.TYPESETTER),
    ("xetex", ProgramKind.TYPESETTER),
    ("latex", ProgramKind.TYPESETTER),
    ("typst", ProgramKind.TYPESETTER),
    ("weasyprint", ProgramKind.WEB),
    ("chromium", ProgramKind.WEB),
    ("skia/pdf", ProgramKind.WEB),
)
"""Words of open-source programs in a file's Creator or Producer; the first found counts."""


def program_kind(pdf: pikepdf.Pdf) -> ProgramKind:
    """Return the kind of program that made an open file, by what the file says of it."""
    info = pdf.trailer.get("/Info")
    for key in ("/Creator", "/Producer"):
        said = entry(info, key)
        text = str(said).casefold() if isinstance(said, pikepdf.String) else ""
        if text == "tex":
            return ProgramKind.TYPESETTER
        for word, kind in _WRITTEN:
            if word in text:
                return kind
    return ProgramKind.UNKNOWN
