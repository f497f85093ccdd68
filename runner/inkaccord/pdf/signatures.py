"""Signatures, which any change to a file breaks, and the form fields that they stand in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import entry, objgen

SIGNED = "signed-file"
"""The code of what is said of a signed file. It holds a piece until someone lets it be."""


def is_signed(pdf: pikepdf.Pdf) -> bool:
    """Whether a file carries a signature: a field that was signed, or permissions that hang on one.

    An empty field that waits for a signature, whatever the flags of the form say, is none
    (ISO 32000-2, 12.7.5.5 and 12.8.6).
    """
    if entry(pdf.Root, "/Perms") is not None:
        return True
    return any(
        entry(field, "/FT") == "/Sig" and isinstance(entry(field, "/V"), pikepdf.Dictionary)
        for field in form_fields(pdf)
    )


def form_fields(pdf: pikepdf.Pdf) -> Iterator[Any]:
    """Yield all fields of a document's form, each once."""
    fields = entry(entry(pdf.Root, "/AcroForm"), "/Fields")
    pending = list(fields) if isinstance(fields, pikepdf.Array) else []
    seen: set[tuple[int, int]] = set()
    while pending:
        field = pending.pop()
        if not isinstance(field, pikepdf.Dictionary) or objgen(field) in seen:
            continue
        if objgen(field) != (0, 0):
            seen.add(objgen(field))
        yield field
        kids = field.get("/Kids")
        if isinstance(kids, pikepdf.Array):
            pending.extend(kids)
