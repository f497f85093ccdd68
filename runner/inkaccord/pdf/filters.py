"""Undoing stream filters step by step, never past a bound (ISO 32000-2, 7.4).

qpdf unpacks a stream as a whole, however big it gets; a file made to harm could fill the memory.
"""

import base64
import contextlib
import re
import zlib

from isal import isal_zlib

_LZW_CLEAR, _LZW_END, _LZW_FIRST = 256, 257, 258
_CHUNK = 256


class TooBigError(Exception):
    """Unpacking would pass the bound."""


def undo(name: str, data: bytes, bound: int) -> bytes:
    """Return data with one filter undone. Raises TooBigError, ValueError."""
    match name:
        case "/FlateDecode" | "/Fl":
            return inflate(data, bound)
        case "/LZWDecode" | "/LZW":
            return lzw(data, bound)
        case "/RunLengthDecode" | "/RL":
            return run_length(data, bound)
        case "/ASCIIHexDecode" | "/AHx":
            digits = re.sub(rb"[\x00\s]", b"", data.split(b">")[0])
            return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("latin-1"))
        case "/ASCII85Decode" | "/A85":
            body = re.sub(rb"[\x00\s]", b"", data.split(b"~")[0].removeprefix(b"<~"))
            if body.count(b"z") * 4 > bound:
                raise TooBigError
            return base64.a85decode(body)
        case "/Crypt":
            return data  # qpdf has decrypted it
    raise ValueError(f"the filter {name} is not known")


def inflate(data: bytes, bound: int) -> bytes:
    """Return unpacked zlib data; of damaged data what comes before the damage."""
    unpacker = isal_zlib.decompressobj()
    try:
        unpacked = bytes(unpacker.decompress(data, bound + 1))
    except isal_zlib.error:  # type: ignore[misc]  # its stubs do not say that it is an exception
        unpacked = _inflate_damaged(data, bound)
    if len(unpacked) > bound:
        raise TooBigError
    return unpacked


def _inflate_damaged(data: bytes, bound: int) -> bytes:
    """Return what can be unpacked before the damage, to the last byte, as viewers show it."""
    for window, start in ((zlib.MAX_WBITS, 0), (-zlib.MAX_WBITS, 2)):
        unpacker = zlib.decompressobj(window)
        unpacked = bytearray()
        for at in range(start, len(data), _CHUNK):
            before, piece = unpacker.copy(), data[at : at + _CHUNK]
            try:
                unpacked += unpacker.decompress(piece)
            except zlib.error:  # and that call gave nothing of what it had
                unpacked += _up_to_damage(before, piece)
                break
            if len(unpacked) > bound:
                raise TooBigError
        if unpacked:
            return bytes(unpacked)
    return b""


def _up_to_damage(unpacker: "zlib._Decompress", piece: bytes) -> bytes:
    unpacked = bytearray()
    with contextlib.suppress(zlib.error):
        while piece and not unpacker.eof:
            unpacked += unpacker.decompress(piece[:1], 1)
            piece = unpacker.unconsumed_tail + piece[1:]
    return bytes(unpacked)


def run_length(data: bytes, bound: int) -> bytes:
    """Return unpacked run-length data."""
    out = bytearray()
    position = 0
    while position < len(data):
        length = data[position]
        if length == 128:
            break
        if length < 128:
            out += data[position + 1 : position + 2 + length]
            position += length + 2
        else:
            out += data[position + 1 : position + 2] * (257 - length)
            position += 2
        if len(out) > bound:
            raise TooBigError
    return bytes(out)


def lzw(data: bytes, bound: int) -> bytes:
    """Return unpacked LZW data, with the early change of code lengths that is the default."""
    table: list[bytes] = []
    out: list[bytes] = []
    total = held = bits = 0
    width = 9
    last = b""
    for byte in data:
        held = (held << 8 | byte) & 0xFFFFFF
        bits += 8
        if bits < width:
            continue
        bits -= width
        code = held >> bits & ((1 << width) - 1)
        if code == _LZW_END:
            break
        if code == _LZW_CLEAR:
            table, width, last = [], 9, b""
            continue
        if code < _LZW_CLEAR:
            piece = bytes((code,))
        elif code - _LZW_FIRST < len(table):
            piece = table[code - _LZW_FIRST]
        elif last:
            piece = last + last[:1]
        else:
            raise ValueError("damaged LZW data")
        out.append(piece)
        total += len(piece)
        if total > bound:
            raise TooBigError
        if last and len(table) < 4096 - _LZW_FIRST:
            table.append(last + piece[:1])
        last = piece
        size = len(table) + _LZW_FIRST + 1
        width = 12 if size >= 2048 else 11 if size >= 1024 else 10 if size >= 512 else 9
    return b"".join(out)
