"""Unpacking a picture with what pikepdf and Pillow know. A worker loads this module alone."""

import io
import warnings
from collections.abc import Iterator
from typing import Any


def unpack_grey(data: bytes) -> Iterator[dict[str, Any]]:
    """Unpack the picture that a file holds as ``/Picture`` of its catalog.

    Yields
    ------
    ``width``, ``height`` and ``pixels``, grey in 8 bits. What the libraries raise comes through.
    """
    import pikepdf  # noqa: PLC0415 - a worker's other tasks need none of it
    from PIL import Image  # noqa: PLC0415 - as above

    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        picture: Any = pdf.Root["/Picture"]
        grey = pikepdf.PdfImage(picture).as_pil_image().convert("L")
    yield {"width": grey.width, "height": grey.height, "pixels": grey.tobytes()}
