"""Objects that stand in a file without a line in its table: some readers search for them.

What a file refers to and its table calls free, or does not name, is nothing (ISO 32000-2, 7.3.10).
So qpdf takes it. Ghostscript 10.00, poppler and PDFium search the file for some of these objects,
each for others (tried), so that no copy or proof by one of them can vouch for another.
"""

import io
import mmap
import re
import struct
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import pikepdf

from inkaccord.errors import FileError
from inkaccord.pdf.entries import BAD_OBJECT, objgen, reached
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.qpdf import identity, opened, opened_bare
from inkaccord.pdf.streams import StreamReader

_Number = tuple[int, int]
"""An object's number and generation."""
_Bytes = bytes | mmap.mmap

_HEADER = re.compile(rb"(?<!\d)(\d{1,10})[\0\t\n\f\r ]+(\d{1,5})[\0\t\n\f\r ]+\Z")
_LONGEST_HEADER = 24
_EMPTY = re.compile(rb"obj[\0\t\n\f\r ]*(?:null\b|endobj)")
_PACKS = b"/ObjStm"
_NO_MORE = re.compile(rb"stream|endobj")
"""What follows an object's entries."""
_OF_THE_FILE = ("/Root", "/Encrypt", "/ID")
_PACKED = 2
"""The type of a line whose object stands in a stream of objects (table 18)."""
_LOOKED_AT = 1024
"""Bytes in which a file's head or an object's type is looked for."""
_NOT_PRINTED = frozenset(
    {
        "/A", "/AA", "/B", "/Dest", "/Dests", "/Metadata", "/Names", "/OpenAction", "/Outlines",
        "/P", "/PageLabels", "/Pages", "/Parent", "/PieceInfo", "/Popup", "/StructTreeRoot",
        "/Thumb", "/Threads", "/ToUnicode",
    }
)  # fmt: skip
"""Entries that lead to nothing that is on paper, or to another page."""
_MOST_STRAYS = 100_000
"""Objects without a line that are followed."""
_MOST_KNOWN = 1000


@dataclass(frozen=True, slots=True)
class LostObject:
    """An object that is printed with where a reader searches for it."""

    number: int
    page: int | None
    """The first that needs it; None for the file as a whole."""

    @property
    def spoken(self) -> str:
        """The same in words."""
        return (
            f"object {self.number} is needed and stands in the file, but the file's table of "
            "objects does not lead to it: some readers search for it, others go without, so that "
            "no copy can be right for each"
        )


_known: dict[tuple[object, ...], tuple[LostObject, ...]] = {}


def lost_objects(source: Path | bytes, *, sound: bool = False) -> tuple[LostObject, ...]:
    """Return what a file needs and its table does not lead to, though it stands in it.

    Parameters
    ----------
    sound
        Whether it is known that the file can be opened without a word: then it is not held once
        more to look at its pages.

    A file is looked through once. Few have anything that their table leaves out, mostly what a
    later version of them did without; only those are asked for what they need. Raises FileError
    where those are beyond counting.
    """
    key = identity(source)
    if key not in _known:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        # Opened anew: the table of a file that was read may have been mended since, too late for
        # what was read before.
        anew = opened_bare if sound else opened
        with _bytes_of(source) as data, anew(source) as pdf:
            strays = _strays(pdf, data)
            if len(strays) > _MOST_STRAYS:
                raise FileError.of(
                    "too-much-drawn",
                    f"the file holds {len(strays):,} objects that its table does not lead to; at "
                    f"most {_MOST_STRAYS:,} are taken",
                    in_program="save the artwork under another name, or export it again",
                )
            _known[key] = tuple(_needed(pdf, data, strays)) if strays else ()
    return _known[key]


@contextmanager
def _bytes_of(source: Path | bytes) -> Iterator[_Bytes]:
    if isinstance(source, bytes):
        yield source
        return
    with source.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        yield data


def _strays(pdf: pikepdf.Pdf, data: _Bytes) -> set[_Number]:
    """Return the objects that stand in a file, in streams of objects too, and not in its table."""
    table = pdf.get_xref_table().keys()
    strays: set[_Number] = set()
    streams: dict[_Number, int] = {}
    for number, at in _standing(data):
        if number not in table:
            strays.add(number)
        if _packs(data, at):
            streams[number] = at
        else:  # of two of a number the later one counts
            streams.pop(number, None)
    found = set(_packed_in(pdf, streams.keys() - strays))
    if lost := {n: at for n, at in streams.items() if n in strays}:
        with opened(_with_lines(pdf, data, lost)) as told:
            found |= set(_packed_in(told, lost))
    return (strays | found) - table


def _standing(data: _Bytes) -> Iterator[tuple[_Number, int]]:
    """Yield the objects that stand in a file, each with the place of its word ``obj``."""
    at = data.find(b"obj")
    while at >= 0:
        before = data[max(at - _LONGEST_HEADER, 0) : at]
        head = _HEADER.search(before) if before[-1:].isspace() else None
        if head and int(head[1]) <= FileLimits.objects and not _EMPTY.match(data, at):
            yield (int(head[1]), int(head[2])), at - len(before) + head.start()
        at = data.find(b"obj", at + 3)


def _packs(data: _Bytes, at: int) -> bool:
    """Whether what stands there is a stream of objects."""
    named = data.find(_PACKS, at, at + _LOOKED_AT)
    return named >= 0 and _NO_MORE.search(data, at, named) is None


def _packed_in(pdf: pikepdf.Pdf, streams: Iterable[_Number]) -> Iterator[_Number]:
    """Yield what stands in streams of objects (7.5.7)."""
    reader = StreamReader()
    for number in streams:
        with suppress(*BAD_OBJECT):
            stream = pdf.get_object(number)
            heads = reader.read_or_nothing(stream)[: int(stream["/First"])].split()
            yield from [(int(one), 0) for one in heads[::2]]


def _needed(pdf: pikepdf.Pdf, data: _Bytes, strays: set[_Number]) -> Iterator[LostObject]:
    """Yield those of the objects that something printed refers to.

    qpdf hides references that lead to nothing, so the file is read with lines for them.
    """
    with opened(_with_lines(pdf, data, dict.fromkeys(strays))) as told:
        seen: set[_Number] = set()
        starts = [(number, page.obj) for number, page in enumerate(told.pages, start=1)]
        for page, start in [*starts, (None, told.Root)]:
            for _, thing in reached([start], _NOT_PRINTED, seen):
                number = objgen(thing)
                if number in strays:
                    yield LostObject(number[0], page)


def _with_lines(pdf: pikepdf.Pdf, data: _Bytes, lines: Mapping[_Number, int | None]) -> bytes:
    """Return a file with a table of its own (7.5.8), which leads to these objects, too.

    None stands for an empty dictionary in the place of what stands in the file.
    """
    head = max(data.find(b"%PDF-", 0, _LOOKED_AT), 0)
    out = io.BytesIO()
    out.write(data[:])
    rows: dict[int, tuple[int, int, int]] = {}
    for (number, generation), line in pdf.get_xref_table().items():
        if line.type == _PACKED:
            rows[number] = _PACKED, line.obj_stream_number or 0, line.obj_stream_index or 0
        else:
            rows[number] = 1, line.offset or 0, generation
    for (number, generation), at in lines.items():
        rows[number] = (1, (out.tell() + 1 if at is None else at) - head, generation)
        if at is None:
            out.write(b"\n%d %d obj\n<< >>\nendobj\n" % (number, generation))
    own, start = max(rows) + 1, out.tell() + 1 - head
    rows[own] = (1, start, 0)
    told = b"".join(struct.pack(">BQI", *row) for row in rows.values())
    entries = {
        "/Type": pikepdf.Name.XRef, "/Size": own + 1, "/W": [1, 8, 4], "/Length": len(told),
        "/Index": [part for number in rows for part in (number, 1)],
        **{key: pdf.trailer[key] for key in _OF_THE_FILE if key in pdf.trailer},
    }  # fmt: skip
    text = pikepdf.Dictionary(entries).unparse()
    out.write(b"\n%d 0 obj\n%s\nstream\n%s\nendstream\nendobj\n" % (own, text, told))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    return out.getvalue()
