"""Unpacking pictures with what pikepdf and Pillow know. A worker loads this module alone."""

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


def unpack_jpeg(data: bytes) -> Iterator[dict[str, Any]]:
    """Unpack JPEG data.

    Yields
    ------
    ``mode`` as Pillow names it, ``width``, ``height`` and ``pixels``, 8 bits for each channel.
    What Pillow raises comes through.
    """
    from PIL import Image  # noqa: PLC0415 - as above

    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    with Image.open(io.BytesIO(data), formats=("JPEG",)) as picture:
        size = {"width": picture.width, "height": picture.height}
        yield {"mode": picture.mode, **size, "pixels": picture.tobytes()}


def unpack_jpeg_of_inks(data: bytes) -> Iterator[dict[str, Any]]:
    """Unpack JPEG data of up to four channels, two among them, which Pillow does not know.

    Yields
    ------
    ``pixels``, 8 bits for each channel. What pikepdf raises comes through.
    """
    import pikepdf  # noqa: PLC0415 - as above

    with pikepdf.new() as pdf:
        packed = pdf.make_stream(bytes(data), Filter=pikepdf.Name.DCTDecode)
        yield {"pixels": packed.read_bytes(decode_level=pikepdf.StreamDecodeLevel.all)}
