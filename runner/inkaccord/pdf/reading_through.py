"""Having qpdf read a whole file. A worker loads this module alone: :mod:`inkaccord.apart`."""

import contextlib
import io
from collections.abc import Iterator
from typing import Any


def read_through(path: str | None, data: bytes, limits: Any) -> Iterator[dict[str, Any]]:
    """Open a file, from its path or its bytes, and come to every page and object of it.

    Parameters
    ----------
    limits
        qpdf's own limits, by their names there.

    Yields
    ------
    ``bounded``, what qpdf left out because of its limits, in its words; empty for nothing. Raises
    MemoryError, also where qpdf only warns and goes on.
    """
    import pikepdf  # noqa: PLC0415 - a worker's other tasks need none of it

    pikepdf.settings.set_qpdf_limits(**limits)
    with pikepdf.open(io.BytesIO(data) if path is None else path) as pdf:
        with contextlib.suppress(pikepdf.PdfError, ValueError, RuntimeError):
            len(pdf.pages)
        len(pdf.objects)
        said = [str(one) for one in pdf.get_warnings()]
    if any("bad_alloc" in one for one in said):
        raise MemoryError
    yield {"bounded": next((one for one in said if "memory limit exceeded" in one), "")}
