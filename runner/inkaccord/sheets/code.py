"""The 2D code that names a sheet and its page: a QR code (ISO/IEC 18004)."""

from functools import cache

from inkaccord.drawing.qr import qr_code

CODE_MODULES = 21
"""Modules along a side: version 1, which holds 20 capitals and digits at level M."""


def code_text(sheet_id: str, page: int) -> str:
    """Return what a page's code says, such as ``K7Q-XM3/2``."""
    return f"{sheet_id}/{page}"


def read_code_text(text: str) -> tuple[str, int] | None:
    """Return sheet id and page from a code's text, or None when it is not one of ours."""
    sheet_id, slash, page = text.strip().rpartition("/")
    return (sheet_id, int(page)) if slash and sheet_id and page.isdecimal() else None


@cache
def code_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the rows of the code from the top, True where it is dark.

    Version 1, with as much error correction as fits. Raises ValueError for a longer text than
    our ids give.
    """
    return tuple(tuple(bool(module) for module in row) for row in qr_code(text, version=1).matrix)
