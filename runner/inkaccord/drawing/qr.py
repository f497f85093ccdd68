"""QR codes (ISO/IEC 18004): the clear rim that they need, and their modules."""

from typing import Any

QUIET_MODULES = 4
"""Clear modules round the code that ISO/IEC 18004 asks for (read in the documentation of barcode
readers, not in the standard)."""


def qr_code(text: str, **given: Any) -> Any:
    """Return the code of a text at level M, with as much more error correction as fits.

    Its ``matrix`` has the rows from the top, its ``version`` and ``mask`` say how it is made; both
    can be given. Raises ValueError for a text that does not fit.
    """
    import segno  # noqa: PLC0415 - only drawing needs it

    return segno.make_qr(text, error="M", boost_error=True, **given)
