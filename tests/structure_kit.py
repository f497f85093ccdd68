"""Small files whose structure is made to harm whoever opens them, byte by byte."""

import io
import struct
import zlib
from collections.abc import Callable, Mapping

import numpy as np
from isal import isal_zlib
from numpy.typing import NDArray
from PIL import Image

from hostile_kit import SQUARE

DRAWN = SQUARE + b"q 200 0 0 200 0 0 cm /I Do Q"
MIB = 1 << 20


def stream(entries: bytes, data: bytes) -> bytes:
    """Return a stream object's body."""
    return b"<< %s /Length %d >>\nstream\n%s\nendstream" % (entries, len(data), data)


def a_page(more: Mapping[int, bytes] = {}, page: bytes = b"") -> dict[int, bytes]:
    """Return the objects of a file of one page; more of them from number 5 on."""
    return {
        1: b"<< /Type /Catalog /Pages 2 0 R >>",
        2: b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
        3: b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 200] /Contents 4 0 R "
        b"/Resources << /XObject << /I 5 0 R >> >> %s >>" % page,
        4: stream(b"", SQUARE),
        **more,
    }


def with_table(objects: Mapping[int, bytes], trailer: bytes = b"", size: int = 0) -> bytes:
    """Return a file whose objects stand in a plain cross-reference table (7.5.4)."""
    out, places = _body(objects)
    count, start = max(objects) + 1, len(out)
    rows = (b"%010d 00000 n \n" % places[n] for n in range(1, count))
    out += b"xref\n0 %d\n0000000000 65535 f \n" % count + b"".join(rows)
    out += b"trailer\n<< /Size %d /Root 1 0 R %s >>\n" % (size or count, trailer)
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % start)


def with_stream(
    objects: Mapping[int, bytes],
    held: Mapping[int, tuple[int, int]] = {},
    *,
    entries: bytes = b"",
    table: Callable[[bytes], bytes] = zlib.compress,
    filters: bytes = b"/FlateDecode",
) -> bytes:
    """Return a file with a cross-reference stream (7.5.8).

    ``held`` says of objects in object streams in which, in what place; ``table`` packs the rows.
    """
    out, places = _body(objects)
    number, start = max([*objects, *held]) + 1, len(out)
    rows = [(0, 0, 65535)] + [
        (2, *held[n]) if n in held else (1, places[n], 0) if n in places else (0, 0, 0)
        for n in range(1, number)
    ]
    data = table(b"".join(struct.pack(">BIH", *row) for row in [*rows, (1, start, 0)]))
    head = b"/Type /XRef /W [1 4 2] /Root 1 0 R /Filter %s %s" % (filters, entries)
    if b"/Size" not in entries:
        head += b" /Size %d" % (number + 1)
    out += b"%d 0 obj\n%s\nendobj\n" % (number, stream(head, data))
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % start)


def _body(objects: Mapping[int, bytes]) -> tuple[bytearray, dict[int, int]]:
    out, places = bytearray(b"%PDF-1.7\n"), {}
    for number, body in objects.items():
        places[number] = len(out)
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    return out, places


def packed_twice(mib: int) -> bytes:
    """Return so many MiB of zeros in a few KiB."""
    return zlib.compress(bytes(isal_zlib.compress(bytes(mib * MIB))), 9)


def in_an_object_stream(
    data: bytes, *, filters: bytes = b"/FlateDecode", more: bytes = b""
) -> bytes:
    """Return a file of which object 6 stands in the object stream 5."""
    packs = stream(b"/Type /ObjStm /N 1 /First 4 /Filter %s %s" % (filters, more), data)
    return with_stream(a_page({5: packs}, b"/Foo 6 0 R"), {6: (5, 0)})


def objects_in_streams(count: int) -> bytes:
    """Return a file of so many dictionaries in object streams."""
    streams, held, each = {}, {}, 50_000
    first = 5 + count // each
    body = b"<</A 1/B[2 3]>> "
    for number in range(5, first):
        ids = range(first + (number - 5) * each, first + (number - 4) * each)
        head = b"".join(b"%d %d " % (one, at * len(body)) for at, one in enumerate(ids))
        entries = b"/Type /ObjStm /N %d /First %d /Filter /FlateDecode" % (each, len(head))
        streams[number] = stream(entries, zlib.compress(head + body * each))
        held |= {one: (number, at) for at, one in enumerate(ids)}
    return with_stream(a_page(streams, b"/Foo %d 0 R" % first), held)


def deep_pages(levels: int) -> bytes:
    """Return a file whose page tree is so many levels deep."""
    nodes = {
        n: b"<< /Type /Pages /Count 1 /Kids [%d 0 R] >>" % (n + 1) for n in range(2, levels + 2)
    }
    page = b"<< /Type /Page /Parent %d 0 R /MediaBox [0 0 200 200] >>" % (levels + 1)
    return with_table({1: b"<< /Type /Catalog /Pages 2 0 R >>", **nodes, levels + 2: page})


def previous_tables(count: int) -> bytes:
    """Return a file with so many updates that change nothing; with 0, one that follows itself."""
    data = with_table(a_page())
    at = data.rfind(b"xref\n0")
    if not count:
        return data.replace(b"/Root", b"/Prev %d /Root" % at)
    out = bytearray(data)
    for _ in range(count):
        update = b"xref\n0 1\n0000000000 65535 f \ntrailer\n<< /Size 5 /Root 1 0 R /Prev %d >>\n"
        at, before = len(out), at
        out += update % before + b"startxref\n%d\n%%%%EOF\n" % at
    return bytes(out)


def predicted(predictor: int, columns: int) -> bytes:
    """Return a page whose contents say that their rows are so wide."""
    parms = b"<< /Predictor %d /Columns %d >>" % (predictor, columns)
    contents = stream(b"/Filter /FlateDecode /DecodeParms " + parms, zlib.compress(SQUARE))
    return with_table({**a_page(), 4: contents})


def picture(entries: bytes, data: bytes, *, mask: bytes | None = None) -> bytes:
    """Return a page with a square and a picture; with a soft mask, that is the picture said."""
    one = stream(b"/Type /XObject /Subtype /Image " + entries, data)
    more = {5: one}
    if mask is not None:
        flat = b"/Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceRGB /SMask 6 0 R"
        more = {5: stream(b"/Type /XObject /Subtype /Image " + flat, b"\xff\0\0"), 6: one}
    return with_table({**a_page(more), 4: stream(b"", DRAWN)})


def jpeg(width: int, height: int, *, scans: int = 0) -> bytes:
    """Return a JPEG of 16 pixels a side that claims to be larger; progressive with scans."""
    out = io.BytesIO()
    Image.new("RGB", (16, 16), (30, 90, 40)).save(out, "JPEG", progressive=bool(scans))
    data = bytearray(out.getvalue())
    at = max(data.find(b"\xff\xc0"), data.find(b"\xff\xc2"))
    data[at + 5 : at + 9] = struct.pack(">HH", height, width)
    last = data.rfind(b"\xff\xda")
    return bytes(data[:-2] + data[last:-2] * max(scans - 1, 0) + data[-2:])


def jpeg_of_inks(shares: NDArray[np.uint8]) -> bytes:
    """Return shares of inks, shape (height, width, inks), as a JPEG with a scan for each.

    Put together of grey ones, which all have the same tables (ITU-T T.81, B.2.2 and B.2.3).
    """
    scans = b""
    for at in range(shares.shape[2]):
        out = io.BytesIO()
        Image.fromarray(shares[..., at]).save(out, "JPEG", quality=95)
        data = out.getvalue()
        frame, scan = data.find(b"\xff\xc0"), data.find(b"\xff\xda")
        scans += data[scan : scan + 5] + bytes([at + 1]) + data[scan + 6 : -2]
    size = 2 + int.from_bytes(data[frame + 2 : frame + 4], "big")
    parts = b"".join(bytes([at + 1, 0x11, 0]) for at in range(shares.shape[2]))
    head = data[frame + 4 : frame + 9] + bytes([shares.shape[2]]) + parts
    header = b"\xff\xc0" + struct.pack(">H", 2 + len(head)) + head
    return data[:frame] + header + data[frame + size : scan] + scans + b"\xff\xd9"


def jpx(width: int, height: int) -> bytes:
    """Return the header of JPEG 2000 code of three channels, and nothing after it (ISO 15444-1)."""
    size = struct.pack(">HHIIIIIIIIH", 47, 0, width, height, 0, 0, width, height, 0, 0, 3)
    coding = struct.pack(">HBBHBBBBBB", 12, 0, 0, 1, 0, 5, 4, 4, 0, 1)
    steps = struct.pack(">HB", 19, 0x40) + b"\x48" * 16
    tile = struct.pack(">HHIBB", 10, 0, 14, 0, 1)
    parts = b"\xff\x52" + coding + b"\xff\x5c" + steps + b"\xff\x90" + tile + b"\xff\x93\xff\xd9"
    return b"\xff\x4f\xff\x51" + size + b"\x07\x01\x01" * 3 + parts


REFUSED: dict[str, Callable[[], bytes]] = {
    "a table of zeros packed twice": lambda: with_stream(
        a_page(), table=lambda _: packed_twice(300),
        filters=b"[/FlateDecode /FlateDecode]", entries=b"/Size 9 /Index [0 900000]",
    ),
    "objects packed twice": lambda: in_an_object_stream(
        packed_twice(300), filters=b"[/FlateDecode /FlateDecode]"
    ),
    "an array of 50 million numbers": lambda: in_an_object_stream(
        zlib.compress(b"6 0 [" + b"0 " * 50_000_000 + b"]")
    ),
    "a table of 3 million objects": lambda: with_table(a_page(), size=3_000_000),
    "1.5 million objects in streams": lambda: objects_in_streams(1_500_000),
    "1.2 million tiny objects": lambda: with_table(a_page(dict.fromkeys(range(5, 1200005), b"[]"))),
    "a page tree of 100,000 levels": lambda: deep_pages(100_000),
    "a page named a million times": lambda: with_table(
        {**a_page(), 2: b"<< /Type /Pages /Count 9 /Kids [" + b"3 0 R " * 1_000_000 + b"] >>"}
    ),
}  # fmt: skip
"""What is refused at the opening."""
OPENED: dict[str, Callable[[], bytes]] = {
    "objects in streams that hold each other": lambda: with_stream(
        a_page(page=b"/Foo 7 0 R"), {5: (6, 0), 6: (5, 0), 7: (5, 0)}
    ),
    "an object stream that extends itself": lambda: in_an_object_stream(
        zlib.compress(b"6 0 <</A 6 0 R>>"), more=b"/Extends 5 0 R"
    ),
    "a predictor of 2 billion columns": lambda: predicted(12, 2_000_000_000),
    "the other predictor of 2 billion columns": lambda: predicted(2, 2_000_000_000),
    "a table with a predictor of 1.9 billion columns": lambda: with_stream(
        a_page(), entries=b"/DecodeParms << /Predictor 12 /Columns 1900000000 >>"
    ),
    "a page tree of 100 levels": lambda: deep_pages(100),
    "a table that follows itself": lambda: previous_tables(0),
    "10,000 updates": lambda: previous_tables(10_000),
    "arrays 100,000 deep": lambda: with_table(
        a_page(page=b"/Foo " + b"[" * 100_000 + b"]" * 100_000)
    ),
    "an array 400 deep": lambda: with_table(a_page(page=b"/Foo " + b"[" * 400 + b"]" * 400)),
    "100,000 tiny objects": lambda: with_table(a_page(dict.fromkeys(range(5, 100005), b"[]"))),
    "fax of 2 billion columns": lambda: picture(
        b"/Width 100 /Height 100 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter "
        b"/CCITTFaxDecode /DecodeParms << /K -1 /Columns 2000000000 /Rows 2000000000 >>",
        b"\x00\x10\x01" * 10,
    ),
    "two-colour code of 2 billion pixels a side": lambda: picture(
        b"/Width 100 /Height 100 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /JBIG2Decode",
        struct.pack(">IBBBIIIIIBH", 0, 48, 0, 1, 19, 2**31 - 1, 2**31 - 1, 0, 0, 0, 0),
    ),
    "wavelets of 60,000 pixels a side": lambda: picture(
        b"/Width 100 /Height 100 /Filter /JPXDecode", jpx(60_000, 60_000)
    ),
    "a mask in wavelets of 60,000 pixels a side": lambda: picture(
        b"/Width 100 /Height 100 /ColorSpace /DeviceGray /Filter /JPXDecode", jpx(60_000, 60_000),
        mask=b"",
    ),
    "a JPEG of 65,000 pixels a side": lambda: picture(
        b"/Width 16 /Height 16 /BitsPerComponent 8 /ColorSpace /DeviceRGB /Filter /DCTDecode",
        jpeg(65_000, 65_000),
    ),
    "a JPEG of 2,000 scans": lambda: picture(
        b"/Width 8000 /Height 8000 /BitsPerComponent 8 /ColorSpace /DeviceRGB /Filter /DCTDecode",
        jpeg(8000, 8000, scans=2000),
    ),
}  # fmt: skip
"""What is opened, with at most a part of it refused."""
