"""qpdf, which reads files in our own process: bounded by its own counts, and tried apart first.

A small file may hold objects without end: packed in streams, listed in tables that are packed
themselves. What can hold more than a few is read through by a worker under limits, once; what it
could read there, we can read here.
"""

import contextlib
import ctypes
import gc
import io
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pikepdf import Pdf, settings

from inkaccord.apart.crew import Allowance, TaskError, answer
from inkaccord.files import sha256_of
from inkaccord.pdf.limits import MIB, FileLimits
from inkaccord.pdf.reading_through import read_through
from inkaccord.pdf.streams import MOST_FILTERS, too_big

_BOUND = FileLimits.stream_mib * MIB
_LIMITS: Any = {  # pikepdf types each name by itself
    "flate_max_memory": _BOUND,
    "run_length_max_memory": _BOUND,
    "dct_max_memory": _BOUND,
    "png_max_memory": 16 * MIB,  # for the rows of a predictor
    "tiff_max_memory": 16 * MIB,
    "max_stream_filters": MOST_FILTERS,
    "parser_max_container_size": FileLimits.objects,
    "doc_max_warnings": 10_000,
}
# They hold for the whole process, and so for whatever else reads PDFs in it.
settings.set_qpdf_limits(**_LIMITS)

_ALLOWANCE = Allowance(
    "qpdf", seconds=30, mib=768,
    in_program="export the artwork again, with nothing in it but the artwork",
)  # fmt: skip
_SMALL = 8 * MIB
"""Without packed objects a file of so many bytes takes 250 MB at most (measured: 28 times)."""
_PACKING = ("XRef", "ObjStm")
"""Types of streams that hold objects, or the table of all (ISO 32000-2, 7.5)."""
_SPELT = re.compile(
    "|".join(
        "".join(f"(?:{one}|#{ord(one):02x}|#{ord(one):02X})" for one in name) for name in _PACKING
    ).encode()
)
"""The same in any spelling of their names (7.3.5)."""
_ESCAPED = re.compile(b"#[4-7][0-9A-Fa-f]")
_LONGEST_SPELT = 3 * max(map(len, _PACKING))


_LIBRARY = ctypes.CDLL(None) if os.name == "posix" else None
_MANY_OBJECTS = 2000
"""From so many on, a file is let go when it is closed: each object takes a kilobyte or two."""
_closed = False
"""Whether a file of many objects was closed that somebody may still hold."""

_MOST_KNOWN = 1000
_read: set[tuple[object, ...]] = set()


def identity(source: Path | bytes) -> tuple[object, ...]:
    """Return what tells a file from others, and from itself once it has changed."""
    if isinstance(source, bytes):
        return (sha256_of(source),)
    state = source.stat()
    return str(source.absolute()), state.st_size, state.st_mtime_ns


def try_out(source: Path | bytes) -> None:
    """Have a worker read a file through that could hold more than it shows, once.

    Raises FileError where that takes too much memory or time. Of what can't be read at all nothing
    is said: who opens it says so.
    """
    path, data = (source, b"") if isinstance(source, Path) else (None, source)
    size = len(data) if path is None else path.stat().st_size
    if size <= _SMALL and not _may_pack(data if path is None else path.read_bytes()):
        return
    key = identity(source)
    if key in _read:
        return
    with contextlib.suppress(TaskError):
        found = answer(
            read_through, _ALLOWANCE, path=None if path is None else str(path), data=data,
            limits=_LIMITS,
        )  # fmt: skip
        if found["bounded"]:
            raise too_big("the objects of this file", FileLimits.stream_mib)
    if len(_read) >= _MOST_KNOWN:
        _read.clear()
    _read.add(key)


def _give_back() -> None:
    """Have the C library give back to the system what was freed: glibc keeps all between the ends.

    Python has memory of its own, so that what a closed file had would stand beside it.
    """
    trim = getattr(_LIBRARY, "malloc_trim", None)
    if trim is not None:
        trim(0)


def make_room() -> None:
    """Let go of what was still held of files when they were closed, before another is opened."""
    global _closed  # noqa: PLW0603 - of the process, as its memory is
    if _closed:
        _closed = False
        gc.collect()
        _give_back()


@contextlib.contextmanager
def closing(pdf: Pdf) -> Iterator[Pdf]:
    """Close a file at the end, and let it go.

    Readers hold each other, the file and all its objects: Python looks for such rings by the number
    of its own objects, which are few here, and the next file would be opened beside.
    """
    global _closed  # noqa: PLW0603 - as above
    many = False
    try:
        with pdf:
            size = pdf.trailer.get("/Size", 0)
            many = isinstance(size, int) and size >= _MANY_OBJECTS
            if many and not gc.get_freeze_count():
                gc.collect()
                gc.freeze()  # what is loaded by now is not looked through again
            yield pdf
    finally:
        if many:
            _closed = True
            gc.collect()
            _give_back()


@contextlib.contextmanager
def opened(source: Path | bytes, **how: Any) -> Iterator[Pdf]:
    """Open a file that is sound, such as our own."""
    make_room()
    given = source if isinstance(source, Path) else io.BytesIO(source)
    with closing(Pdf.open(given, **how)) as pdf:
        yield pdf


@contextlib.contextmanager
def opened_bare(source: Path | bytes) -> Iterator[Pdf]:
    """Open a file once more that was opened without a word, and look at none of its pages.

    They lack what the nodes above them hand on. Where warnings are bounded, qpdf looks at all pages
    at once.
    """
    make_room()
    settings.set_qpdf_limits(doc_max_warnings=0)
    try:
        given = source if isinstance(source, Path) else io.BytesIO(source)
        pdf = Pdf.open(given, inherit_page_attributes=False)
    finally:
        settings.set_qpdf_limits(doc_max_warnings=_LIMITS["doc_max_warnings"])
    with closing(pdf):
        yield pdf


def _may_pack(data: bytes) -> bool:
    """Whether a file may hold objects in streams; plain spellings are quickly found."""
    return any(name.encode() in data for name in _PACKING) or any(
        _SPELT.search(data, max(0, one.start() - _LONGEST_SPELT), one.end() + _LONGEST_SPELT)
        for one in _ESCAPED.finditer(data)
    )
