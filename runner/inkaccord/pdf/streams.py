"""Unpacking streams within limits, and packing them again."""

import zlib
from typing import Any

import pikepdf

from inkaccord.errors import FileError
from inkaccord.pdf import filters
from inkaccord.pdf.entries import word
from inkaccord.pdf.limits import MIB, FileLimits

DEFLATE_LEVEL = 5
"""Half the time of zlib's level 6 for 3 % more bytes.

The standard library's deflate gives the same bytes wherever its zlib is the same. isal is several
times faster but picks its match finder by processor, so it is used for inflating only.
"""
JPEG_FILTERS = frozenset({"/DCTDecode", "/DCT"})
IMAGE_FILTERS = JPEG_FILTERS | {"/JPXDecode", "/CCITTFaxDecode", "/CCF", "/JBIG2Decode"}
MOST_FILTERS = 8


def deflate(data: bytes, level: int = DEFLATE_LEVEL) -> bytes:
    """Return data packed for a ``/FlateDecode`` stream."""
    return zlib.compress(data, level)


def filters_of(stream: Any, key: str = "/Filter") -> list[str]:
    """Return the names of a stream's filters, in the order in which they are undone."""
    found = stream.get(key)
    if found is None:
        return []
    if isinstance(found, pikepdf.Array):
        return [word(name) for name in found]
    return [word(found)]


class StreamReader:
    """Unpacks streams and keeps count, so that a small file can't unpack to gigabytes."""

    def __init__(self, most_mib: int | None = None) -> None:
        """``most_mib`` is what one stream may have unpacked, where that is less than usual."""
        self._most_mib = most_mib or FileLimits.stream_mib
        self._total = 0

    def read(self, stream: Any) -> bytes:
        """Return a stream's unpacked bytes.

        A Flate stream that breaks off gives what came before the break, as renderers show it.
        Raises FileError when a limit is passed or a filter is not known.
        """
        names = filters_of(stream)
        try:
            data = self._unpack(stream, names)
        except filters.TooBigError:
            raise too_big("a stream", self._most_mib) from None
        except (pikepdf.PdfError, NotImplementedError, ValueError) as problem:
            raise _unreadable(names) from problem
        self._total += len(data)
        if self._total > FileLimits.total_mib * MIB:
            raise too_big("the streams of this file", FileLimits.total_mib)
        return data

    def read_or_nothing(self, stream: Any) -> bytes:
        """Return a stream's unpacked bytes, none where it is damaged: whoever uses it says so.

        Raises FileError when a limit is passed.
        """
        try:
            return self.read(stream)
        except FileError as problem:
            if problem.findings[0].code == "too-big-unpacked":
                raise
            return b""

    def read_to_image(self, stream: Any) -> bytes:
        """Return an image's bytes as its last filter packed them, what lies over that undone.

        For images whose last filter is one of ``IMAGE_FILTERS``. Raises FileError.
        """
        data = bytes(stream.read_raw_bytes())
        names = filters_of(stream)
        try:
            for name in names[:-1]:
                data = filters.undo(name, data, self._most_mib * MIB)
        except filters.TooBigError:
            raise too_big("a stream", self._most_mib) from None
        except ValueError as problem:
            raise _unreadable(names) from problem
        return data

    def _unpack(self, stream: Any, names: list[str]) -> bytes:
        if len(names) > MOST_FILTERS:
            raise ValueError(f"{len(names)} filters")
        bound = self._most_mib * MIB
        data = bytes(stream.read_raw_bytes())
        parameters = [stream.get(key) for key in ("/DecodeParms", "/DP")]
        plain = all(one is None for one in parameters)
        for name in names:
            data = filters.undo(name, data, bound)
        if len(data) > bound:
            raise filters.TooBigError
        # Predictors and odd parameters are left to qpdf, now that the size is known.
        return data if plain else bytes(stream.read_bytes())


class ContentParser:
    """Takes the operators of content apart, one content after the other.

    In a file of its own: an open file keeps the streams that it is given, and to take one more qpdf
    looks at all that a large one holds.
    """

    def __init__(self) -> None:
        self._file = pikepdf.new()
        self._stream = self._file.make_stream(b"")

    def instructions(self, data: bytes) -> list[Any]:
        """Return the instructions as pikepdf has them, which warns of what is odd about them."""
        self._stream.write(data)
        return list(pikepdf.parse_content_stream(self._stream))


def _unreadable(names: list[str]) -> FileError:
    return FileError.of(
        "unreadable-stream",
        "a part of the file is damaged, or packed in a way that is not known "
        f"({', '.join(name[1:] for name in names) or 'not packed at all'})",
        in_program="save the artwork again from the program that made it",
    )


def too_big(what: str, limit_mib: int) -> FileError:
    """Return the refusal of what would fill the memory."""
    return FileError.of(
        "too-big-unpacked",
        f"{what} would unpack to more than {limit_mib} MiB",
        in_program="make its pictures smaller and its illustrations simpler, and export it again",
    )
