"""Unpacking JPEG pictures of artwork, once their own header says that they can be unpacked.

What the file says of a picture need not be so: a small one may say in its own data that it has
billions of pixels, or go over them thousands of times.
"""

import contextlib
import io
import warnings
from collections.abc import Iterator

from PIL import Image

from inkaccord.errors import FileError
from inkaccord.pdf.limits import MIB, FileLimits
from inkaccord.pdf.streams import too_big

_MOST_SCANS = 100
"""Times that a progressive picture may go over its pixels; programs write some ten."""
_SCAN = b"\xff\xda"


@contextlib.contextmanager
def open_jpeg(data: bytes, limits: FileLimits | None = None) -> Iterator[Image.Image]:
    """Open JPEG data, unpacked when its pixels are asked for.

    Raises FileError for more bytes of pixels than one stream may have, or more scans than any
    program writes; OSError where it is none.
    """
    most_mib = (limits or FileLimits()).stream_mib
    with warnings.catch_warnings():
        # Pillow warns from 90 million pixels on; ours is a limit of its own.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            picture = Image.open(io.BytesIO(data), formats=("JPEG",))
        except Image.DecompressionBombError:
            raise too_big("a picture", most_mib) from None
    with picture:
        if picture.width * picture.height * len(picture.getbands()) > most_mib * MIB:
            raise too_big("a picture", most_mib)
        if data.count(_SCAN) > _MOST_SCANS:
            raise FileError.of(
                "too-many-scans",
                f"a progressive JPEG goes over its pixels more than {_MOST_SCANS} times",
                in_program="save the picture again as a plain JPEG, and place it anew",
            )
        yield picture
