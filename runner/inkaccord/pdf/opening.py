"""Opening artwork files: a clear message for what can't be worked on."""

import contextlib
import io
import logging
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.beginnings import head_of, what_begins
from inkaccord.diagnostics import Diagnostic, Place, error, first_few, note, warning
from inkaccord.errors import FileError
from inkaccord.files import as_given, check_is_file, check_name, read_bytes
from inkaccord.pdf.budget import Budget
from inkaccord.pdf.double_entries import double_entries
from inkaccord.pdf.entries import BAD_OBJECT
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.lost_objects import LostObject, lost_objects
from inkaccord.pdf.qpdf import closing, identity, make_room, try_out
from inkaccord.pdf.rescue import Rescued, without_locked_attachments, written_anew

_PAGE_TREE_DEPTH = 128
_IN_MEMORY = re.compile(r"^stream <[^>]*>")
"""How pikepdf names a file that has none."""
_MOST_TOLD = 5
"""Double entries and lost objects that are told one by one."""
_SAID = "rescued"
"""Where an open file that stands in the place of another keeps what is said of that."""
_READ_FROM = "read_from"
"""Where an open file keeps what it is read from."""

# What pikepdf tells programmers of odd metadata, a traceback with it, is for no screen of ours.
logging.getLogger("pikepdf").addHandler(logging.NullHandler())


@contextlib.contextmanager
def open_artwork(
    source: Path | str | bytes,
    *,
    name: str | None = None,
    changing: bool = False,
) -> Iterator[pikepdf.Pdf]:
    """Open an artwork PDF for reading or changing.

    Parameters
    ----------
    source
        A path, or the bytes of the file.
    name
        What to call the file in messages; the path by default.
    changing
        Whether the file is to be changed, which its maker may have forbidden.

    Yields
    ------
    The open file, with a page tree that is known to be sound.

    Raises
    ------
    FileError
        Missing, no file, not a PDF, damaged beyond reading, needs a password, forbids changes,
        has no pages, a page tree with a loop, more pages than the limit, or asks for more than is
        done (:mod:`~inkaccord.pdf.budget`). Later too, for an object that makes no sense to
        whoever comes to it.
    """
    source = as_given(source)
    label = name or (str(source) if isinstance(source, Path) else None)
    place = Place(file=label)
    pdf, said = _opened(source, place)
    with closing(pdf), refusing_damage(label), refusing_memory(label):
        if said is not None:
            setattr(pdf, _SAID, said)
        setattr(pdf, _READ_FROM, source if said is None else said.data)
        if changing:
            _check_rights(pdf, place)
        _check_pages(pdf, place)
        _check_budget(pdf, source, label)
        yield pdf


def pdf_bytes(source: Path | str | bytes) -> bytes:
    """Return the bytes of a PDF given as such or as a path. Raises FileError."""
    given = as_given(source)
    return given if isinstance(given, bytes) else read_bytes(given)


def hold_to_limits(source: Path | bytes) -> None:
    """Raise what :func:`open_artwork` does for a file that it would not open as others draw it.

    One that was opened as it stands is not opened once more.
    """
    with contextlib.suppress(OSError):  # it is gone, and whoever opens it says so
        if identity(source) in _within:
            return
    with open_artwork(source):
        pass


def _opened(source: Path | bytes, place: Place) -> tuple[pikepdf.Pdf, Rescued | None]:
    """Open a file as it stands, or as it can be rescued."""
    try:
        if isinstance(source, Path):
            check_name(source)
            check_is_file(source)
        with _placed(place.file):
            try_out(source)
        make_room()
        try:
            # Not read here: qpdf reads a large file piece by piece from its path.
            return pikepdf.open(source if isinstance(source, Path) else io.BytesIO(source)), None
        except pikepdf.PasswordError as problem:
            rescued = without_locked_attachments(_bytes_of(source))
            refusal: FileError = _locked(place)
            cause: Exception = problem
        except (pikepdf.PdfError, NotImplementedError, RuntimeError, ValueError) as problem:
            rescued = written_anew(_bytes_of(source))
            refusal, cause = _no_pdf(source, problem, place), problem
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read the file: {problem.strerror or problem}",
            place=place,
            hint="check that it exists and that you may read it",
        ) from problem
    if rescued is None:
        raise refusal from cause
    return pikepdf.open(io.BytesIO(rescued.data)), rescued


def openable(data: bytes) -> bytes:
    """Return a file for readers that open it by themselves: as it stands, or as it is rescued.

    What can't be rescued stays what it is, for :func:`open_artwork` to refuse.
    """
    try:
        pdf, rescued = _opened(data, Place())
    except FileError:
        return data
    pdf.close()
    return data if rescued is None else rescued.data


def _bytes_of(source: Path | bytes) -> bytes:
    return source.read_bytes() if isinstance(source, Path) else bytes(source)


def _locked(place: Place) -> FileError:
    return FileError.of(
        "needs-password",
        "the file is encrypted and opens only with a password",
        place=place,
        in_program="save a copy without a password",
    )


def _no_pdf(source: Path | bytes, problem: Exception, place: Place) -> FileError:
    words = _without_source(_words(problem), str(source))
    if "encryption" in words or "security handler" in words:
        return FileError.of(
            "needs-password",
            "the file is encrypted for certain readers only, and can't be opened here",
            place=place,
            in_program="save a copy that is not encrypted",
        )
    with contextlib.suppress(OSError):
        if (other := what_begins(head_of(source))) and other != "a PDF":
            words = f"it is {other}, whatever its name says"
    return FileError.of(
        "not-a-pdf",
        f"the file cannot be read as a PDF: {words}",
        place=place,
        in_program="export the artwork again as PDF",
    )


@contextlib.contextmanager
def refusing_damage(name: str | None = None) -> Iterator[None]:
    """Turn what a damaged object makes pikepdf raise into a refusal of the file.

    The net under careful reading: entries of a wrong type can stand anywhere in a file. It is
    spread wherever artwork is open; what works on objects outside spreads its own.
    """
    try:
        yield
    except BAD_OBJECT as problem:
        raise FileError.of(
            "damaged-object",
            f"an object of the file makes no sense: {_words(problem)}",
            place=Place(file=name),
            in_program="export the artwork again as PDF",
        ) from problem


@contextlib.contextmanager
def refusing_memory(name: str | None) -> Iterator[None]:
    """Turn a want of memory into a refusal of the file: its counts should have bounded it."""
    try:
        yield
    except MemoryError as problem:
        raise FileError.of(
            "took-too-much-memory",
            "the file needs more memory than there is",
            place=Place(file=name),
            in_program="export the artwork again, with fewer objects and smaller pictures",
        ) from problem


def opening_findings(pdf: pikepdf.Pdf, name: str | None = None) -> list[Diagnostic]:
    """Return what was odd about the file, though it could be opened."""
    place = Place(file=name)
    rescued: Rescued | None = getattr(pdf, _SAID, None)
    found = [rescued.finding(name)] if rescued is not None else []
    read_from = getattr(pdf, _READ_FROM, b"")
    told = double_entries(map(str, pdf.get_warnings()), pdf, read_from)
    doubles = [
        error(
            "double-entry",
            double.spoken,
            place=place,
            in_program="export it again, from the program in which it was drawn",
        )
        for double in dict.fromkeys(filter(None, told.values()))
    ]
    found += first_few(doubles, _MOST_TOLD, "entries")
    lost = [
        error(
            "lost-object",
            one.spoken,
            place=place.model_copy(update={"page": one.page}),
            in_program="export it again, from the program in which it was drawn",
        )
        for one in _lost(pdf, sound=not told)
    ]
    found += first_few(lost, _MOST_TOLD, "objects")
    warnings = list(
        dict.fromkeys(
            _without_source(_words(text), pdf.filename)
            for text, double in told.items()
            if double is None
        )
    )
    if warnings:
        more = f" (and {len(warnings) - 1} more)" if len(warnings) > 1 else ""
        found.append(
            warning(
                "damaged-file",
                f"the file is damaged and was mended while reading: {warnings[0]}{more}",
                place=place,
                in_program="export it again",
            )
        )
    if _forbids_changes(pdf):
        found.append(
            note(
                "changes-forbidden",
                "the file is protected: it can be looked at, but its maker does not allow changes",
                place=place,
                in_program="save a copy that may be changed",
            )
        )
    elif pdf.is_encrypted:
        message = "the file is encrypted; a copy that is made of it is not"
        found.append(note("was-encrypted", message, place=place))
    return found


def is_as_it_stands(pdf: pikepdf.Pdf) -> bool:
    """Tell whether nothing was odd about an open file; what was is forgotten with that."""
    return not hasattr(pdf, _SAID) and not pdf.get_warnings() and not _lost(pdf, sound=True)


def _lost(pdf: pikepdf.Pdf, *, sound: bool) -> tuple[LostObject, ...]:
    """Return what a file needs and does not lead to; of one that is read in parts it was asked."""
    read_from = getattr(pdf, _READ_FROM, None)
    return () if read_from is None else lost_objects(read_from, sound=sound)


def check_contents(pdf: pikepdf.Pdf, name: str | None = None) -> None:
    """Raise FileError when what draws a page can't be unpacked: it would print in part or blank."""
    for number, page in enumerate(pdf.pages, start=1):
        contents = page.obj.get("/Contents")
        streams = contents if isinstance(contents, pikepdf.Array) else [contents]
        try:
            for stream in streams:
                if isinstance(stream, pikepdf.Stream):
                    stream.read_bytes()
        except pikepdf.PdfError as problem:
            raise FileError.of(
                "broken-page",
                f"page {number} is damaged and would print in part or blank",
                place=Place(file=name),
                in_program="export the artwork again as PDF",
            ) from problem


def version_of(pdf: pikepdf.Pdf) -> tuple[int, int]:
    """Return the PDF version: the later of the header's and the catalog's (ISO 32000-2, 7.7.2)."""
    said = [pdf.pdf_version, str(pdf.Root.get("/Version", "")).removeprefix("/")]
    parts = [text.split(".") for text in said]
    return max(
        (int(one[0]), int(one[1])) for one in parts if len(one) == 2 and "".join(one).isdigit()
    )


def _forbids_changes(pdf: pikepdf.Pdf) -> bool:
    return pdf.is_encrypted and not pdf.owner_password_matched and not pdf.allow.modify_other


def _check_rights(pdf: pikepdf.Pdf, place: Place) -> None:
    if _forbids_changes(pdf):
        raise FileError.of(
            "changes-forbidden",
            "the file is protected: its maker does not allow changes",
            place=place,
            in_program="save a copy that may be changed",
        )


def _check_pages(pdf: pikepdf.Pdf, place: Place) -> None:
    try:
        problem = _page_tree_problem(pdf)
        if problem is None:
            count = len(pdf.pages)
            if pdf.Root.Pages.get("/Count") != count:
                pdf.Root.Pages["/Count"] = count  # qpdf goes by it as soon as pages change
            if count > FileLimits.pages:
                problem = f"it has {count} pages; the limit is {FileLimits.pages}"
            elif count == 0:
                problem = "it has no pages"
    except (pikepdf.PdfError, RuntimeError, ValueError, TypeError, KeyError) as damage:
        problem = _words(damage)
    if problem is not None:
        raise FileError.of(
            "bad-pages",
            f"the pages of the file cannot be read: {problem}",
            place=place,
            in_program="export the artwork again as PDF",
        )


_within: set[tuple[object, ...]] = set()
"""Files that asked for no more than is done, so that each is weighed once."""
_MOST_KNOWN = 1000


def _check_budget(pdf: pikepdf.Pdf, source: Path | bytes, label: str | None) -> None:
    key = identity(source)
    if key in _within:
        return
    with _placed(label):
        Budget(pdf).check()
    if len(_within) >= _MOST_KNOWN:
        _within.clear()
    _within.add(key)


@contextlib.contextmanager
def _placed(label: str | None) -> Iterator[None]:
    """Name the file in what is raised of it."""
    try:
        yield
    except FileError as problem:
        (found,) = problem.findings
        place = found.place.model_copy(update={"file": label})
        raise FileError(found.model_copy(update={"place": place})) from problem


def _page_tree_problem(pdf: pikepdf.Pdf) -> str | None:
    """Walk the page tree ourselves first: a loop must end in a message, not in a hang."""
    root: Any = pdf.Root.get("/Pages")
    if not isinstance(root, pikepdf.Dictionary):
        return "the page tree is missing"
    pending: list[tuple[Any, int]] = [(root, 0)]
    seen: set[tuple[int, int]] = set()
    while pending:
        node, depth = pending.pop()
        if depth > _PAGE_TREE_DEPTH:
            return "the page tree is nested too deep"
        if node.objgen != (0, 0):
            if node.objgen in seen and "/Kids" in node:
                return "the page tree holds itself"
            seen.add(node.objgen)
        kids = node.get("/Kids")
        if isinstance(kids, pikepdf.Array):
            pending += [(kid, depth + 1) for kid in kids if isinstance(kid, pikepdf.Dictionary)]
    return None


def _without_source(words: str, source: str) -> str:
    """Return what qpdf says without the file's name, which we give in our own way."""
    return _IN_MEMORY.sub("", words.removeprefix(source)).lstrip(" ,:")


def _words(problem: object) -> str:
    text = str(problem).strip()
    return text.split("\n", maxsplit=1)[0][:200] or type(problem).__name__
