"""Unpacking streams within limits, and packing them again."""

import zlib
from typing import Any

import pikepdf
from isal import isal_zlib

from inkaccord.artwork.limits import MIB, Limits
from inkaccord.errors import FileError

# The standard library's deflate gives the same bytes on every machine with the same zlib.
# isal picks its match finder by processor, so it is used for inflating only.
DEFLATE_LEVEL = 6

_BINARY_SAFE = frozenset({"/ASCIIHexDecode", "/ASCII85Decode", "/AHx", "/A85", "/Crypt"})
_FLATE = frozenset({"/FlateDecode", "/Fl"})
_WORST_RATIO = {"/LZWDecode": 1400, "/LZW": 1400, "/RunLengthDecode": 65, "/RL": 65}
IMAGE_FILTERS = frozenset(
    {"/DCTDecode", "/DCT", "/JPXDecode", "/CCITTFaxDecode", "/CCF", "/JBIG2Decode"}
)


def deflate(data: bytes) -> bytes:
    """Return data packed for a ``/FlateDecode`` stream."""
    return zlib.compress(data, DEFLATE_LEVEL)


def filters_of(stream: Any) -> list[str]:
    """Return the names of a stream's filters, in the order in which they are undone."""
    found = stream.get("/Filter")
    if found is None:
        return []
    if isinstance(found, pikepdf.Array):
        return [str(name) for name in found]
    return [str(found)]


class StreamReader:
    """Unpacks streams and keeps count, so that a small file can't unpack to gigabytes."""

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._total = 0

    def read(self, stream: Any) -> bytes:
        """Return a stream's unpacked bytes. Raises FileError.

        A Flate stream that breaks off gives what came before the break, as renderers show it.
        """
        bound = self._limits.stream_mib * MIB
        filters = filters_of(stream)
        if len(filters) > 8:
            raise _unreadable(f"a stream with {len(filters)} filters")
        try:
            data = self._unpack(stream, filters, bound)
        except (pikepdf.PdfError, NotImplementedError) as problem:
            raise _unreadable(f"a stream with the filters {' '.join(filters)}") from problem
        self._total += len(data)
        if self._total > self._limits.total_mib * MIB:
            raise _too_big("the streams of this file", self._limits.total_mib, "total_mib")
        return data

    def _unpack(self, stream: Any, filters: list[str], bound: int) -> bytes:
        if not filters:
            return bytes(stream.read_bytes())
        raw = bytes(stream.read_raw_bytes())
        plain = stream.get("/DecodeParms") is None and stream.get("/DP") is None
        if plain and all(name in _FLATE for name in filters):
            for _ in filters:
                raw = inflate(raw, bound)
            return raw
        # With predictors or other filters qpdf unpacks; bound it beforehand.
        size = len(raw)
        bounded = raw
        for position, name in enumerate(filters):
            if name in _FLATE and position == 0:
                bounded = inflate(bounded, bound)
                size = len(bounded)
            elif name in _FLATE:
                size *= 1032
            else:
                size *= _WORST_RATIO.get(name, 1)
        if size > bound and not _really_fits(filters, bounded, bound):
            raise _too_big("a stream", self._limits.stream_mib, "stream_mib")
        return bytes(stream.read_bytes())


def _really_fits(filters: list[str], first: bytes, bound: int) -> bool:
    """Whether a stream whose worst case is over the bound is small in truth."""
    if len(filters) == 1 and filters[0] in _WORST_RATIO:
        return unpacked_size(filters[0], first, bound) <= bound
    return False


def unpacked_size(name: str, data: bytes, bound: int) -> int:
    """Return how long RunLength or LZW data gets, or something over ``bound``."""
    if name in ("/RunLengthDecode", "/RL"):
        total = position = 0
        while position < len(data) and total <= bound:
            length = data[position]
            if length == 128:
                break
            total += length + 1 if length < 128 else 257 - length
            position += length + 2 if length < 128 else 2
        return total
    # LZW: at 9 bits a code and at most 4096 bytes a code; common data is far below that, so
    # only refuse what is large even at the usual gain.
    return len(data) * 40


def inflate(data: bytes, bound: int) -> bytes:
    """Return unpacked zlib data up to ``bound`` bytes. Raises FileError above it."""
    unpacker = isal_zlib.decompressobj()
    parts: list[bytes] = []
    total = 0
    try:
        chunk = unpacker.decompress(data, bound + 1)
        parts.append(chunk)
        total += len(chunk)
    except isal_zlib.error:  # type: ignore[misc]  # its stubs do not say that it is an exception
        parts, total = [_inflate_damaged(data, bound)], 0
    if total > bound:
        raise _too_big("a stream", bound // MIB, "stream_mib")
    return b"".join(parts)


def _inflate_damaged(data: bytes, bound: int) -> bytes:
    """Return what a damaged zlib stream holds before the damage."""
    for window in (15, -15):
        unpacker = zlib.decompressobj(window)
        parts: list[bytes] = []
        source = data if window > 0 else data[2:]
        total = 0
        try:
            for start in range(0, len(source), 256):
                parts.append(unpacker.decompress(source[start : start + 256], bound + 1))
                total += len(parts[-1])
                if total > bound:
                    raise _too_big("a stream", bound // MIB, "stream_mib")
        except zlib.error:
            pass
        if any(parts):
            return b"".join(parts)
    return b""


def _too_big(what: str, limit_mib: int, name: str) -> FileError:
    return FileError.of(
        "too-big-unpacked",
        f"{what} would unpack to more than {limit_mib} MiB",
        hint=f"if the file is what you expect, raise the limit {name}",
    )


def _unreadable(what: str) -> FileError:
    return FileError.of(
        "unreadable-stream",
        f"{what} cannot be unpacked",
        hint="save the artwork again from the program that made it",
    )
