"""Artwork pages as forms: one form XObject for every distinct page content.

A page's content is kept as it is, byte for byte, where it is a single deflated stream; several
streams are joined, and what is not deflated yet is. Layers stay layers. Annotations that print
are flattened into the page, others are left out.
"""

import contextlib
import re
from collections.abc import Hashable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Self

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream

from inkaccord.diagnostics import Diagnostic, Place, error, note
from inkaccord.errors import FileError, OrderError
from inkaccord.files import as_given, working_folder
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.forms import content_of, copied
from inkaccord.pdf.geometry import bounds_of
from inkaccord.pdf.layers import merge_layers
from inkaccord.pdf.page_objects import inherited
from inkaccord.pdf.qpdf import closing, make_room
from inkaccord.sizes import Box, Size

_CODING = ("/Filter", "/DecodeParms")
_CONTENTS = re.compile(rb"/Contents \d+ \d+ R")
_RESOURCES = re.compile(rb"/Resources \d+ \d+ R")


class Artwork(Frozen):
    """The PDF that shows one side of a piece."""

    data: bytes | Path | str
    """The file's bytes, or the file: that is quicker for large ones."""
    pages: tuple[int, ...] | None = None
    """Page numbers from 0; None takes all. Several pages are records: one for each copy."""


@dataclass(frozen=True)
class _Document:
    """An open PDF with its pages listed once."""

    name: str
    pdf: Pdf
    pages: list[Object]
    used: set[tuple[int, int]] = field(default_factory=set)
    """Content streams that were made forms."""
    shapes: dict[int, bytes] = field(default_factory=dict)
    """Pages without their content, as they first were: what pages share that differ in that."""

    @classmethod
    def of(cls, name: str, pdf: Pdf) -> "_Document":
        return cls(name, pdf, [page.obj for page in pdf.pages])


@dataclass(frozen=True)
class _Frame:
    """What turns a content stream into a form: boxes, matrix, resources."""

    entries: dict[str, Object]
    drawn: Box
    """What it shows round the trim, whose lower left corner is at (0, 0)."""
    whole: dict[Hashable, Dictionary] = field(default_factory=dict)
    """Whole dictionaries of forms, by the filter of their streams; many forms share one."""
    forms: dict[bytes, int] = field(default_factory=dict)
    """The forms made so far, by their content."""

    def dress(self, content: Stream) -> None:
        """Make a content stream a form, in place."""
        # Asked before it is taken: what is missing costs an exception inside the library.
        coding = {name: content[name] for name in _CODING if name in content}
        key = tuple(part.unparse() for part in coding.values())
        if key not in self.whole:
            self.whole[key] = Dictionary({**self.entries, **coding})
        content.stream_dict = self.whole[key]


class ArtworkForms(AbstractContextManager["ArtworkForms"]):
    """Open artwork PDFs, gathered into one file that is to be written.

    Use as a context manager; :attr:`pdf` lives until it ends.
    """

    def __init__(self, artworks: Mapping[str, bytes | Path | str]) -> None:
        self.findings: list[Diagnostic] = []
        self.forms: list[Object] = []
        self.drawn: list[Box] = []
        """What each of them shows: the trim, whose corner is at (0, 0), with what bleed it has."""
        self._frames: dict[Hashable, _Frame] = {}
        self._looks: dict[Hashable, dict[bytes, _Frame]] = {}
        self._stack = ExitStack()
        self._documents: dict[str, _Document] = {}
        try:
            self._open_all(artworks)
        except BaseException:
            self._stack.close()
            raise

    def _open_all(self, artworks: Mapping[str, bytes | Path | str]) -> None:
        same: dict[bytes | Path, _Document] = {}
        for name, given in artworks.items():
            data = as_given(given)
            if data not in same:
                pdf = self._stack.enter_context(_opened(name, data))
                same[data] = self._flattened(_Document.of(name, pdf))
            self._documents[name] = same[data]
        opened = list(same.values())
        # The file with the most pages becomes the output, so that most objects are not copied.
        self.pdf = max(opened, key=lambda document: len(document.pages)).pdf
        merge_layers(self.pdf, [document.pdf for document in opened])

    def _flattened(self, document: _Document) -> _Document:
        if not any("/Annots" in page for page in document.pages):
            return document
        if Name.AcroForm in document.pdf.Root:
            document.pdf.generate_appearance_streams()
        document.pdf.flatten_annotations("print")
        self.findings.append(
            note(
                "annotations-flattened",
                "notes, links and form fields: those that print became part of the page, "
                "the others were left out",
                place=Place(file=document.name),
            )
        )
        return _Document.of(document.name, document.pdf)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def page_count(self, name: str) -> int:
        """Return how many pages an artwork has."""
        return len(self._documents[name].pages)

    def pages(
        self, name: str, numbers: Iterable[int], trim: Size, bleed_pt: float
    ) -> tuple[int, ...]:
        """Return the index in :attr:`forms` of each page, made ready for a trim and bleed.

        A form has the lower left corner of its trim at (0, 0) and stands upright. Raises
        OrderError if a page is missing or its trim is not the order's.
        """
        document = self._documents[name]
        frames = self._looks.setdefault((document.name, trim, bleed_pt), {})
        seen: dict[bytes, _Boxes] = {}
        found: list[int] = []
        for number in numbers:
            if not 0 <= number < len(document.pages):
                place = Place(file=name, page=number + 1)
                raise OrderError.of("no-such-page", "the PDF has no such page", place=place)
            page = document.pages[number]
            shape = document.shapes.get(number)
            if shape is None:
                shape = _CONTENTS.sub(b"", page.unparse(resolved=True))
                document.shapes[number] = shape
            frame = frames.get(shape)
            if frame is None:
                alike = _RESOURCES.sub(b"", shape)
                if alike not in seen:
                    place = Place(file=name, page=number + 1)
                    seen[alike] = _Boxes.of(pikepdf.Page(page), trim, bleed_pt, place)
                frame = frames[shape] = self._frame(document, page, seen[alike])
            content, raw = content_of(document.pdf, page)
            form = frame.forms.get(raw)
            if form is None:
                form = frame.forms[raw] = len(self.forms)
                self.forms.append(self._form(document, content, frame))
                self.drawn.append(frame.drawn)
            found.append(form)
        return tuple(found)

    def _frame(self, document: _Document, page: Object, boxes: "_Boxes") -> _Frame:
        resources = inherited(page, "/Resources")
        group = page["/Group"] if "/Group" in page else None  # noqa: SIM401 - get() is slower
        key = document.name, boxes.key, _identity(resources), _identity(group)
        if key in self._frames:
            return self._frames[key]
        entries = {
            "/Type": Name.XObject,
            "/Subtype": Name.Form,
            "/BBox": boxes.box,
            "/Matrix": boxes.matrix,
            "/Resources": _shared(document.pdf, resources),
        }
        if group is not None:
            entries["/Group"] = group
        self._frames[key] = _Frame(entries, boxes.drawn)
        return self._frames[key]

    def _form(self, document: _Document, content: Stream, frame: _Frame) -> Object:
        if content.objgen in document.used:  # it already serves a page with other boxes
            content = copied(document.pdf, content)
        document.used.add(content.objgen)
        frame.dress(content)
        if document.pdf is self.pdf:
            return content
        return self.pdf.copy_foreign(document.pdf.make_indirect(content))


@dataclass(frozen=True)
class _Boxes:
    """A page's geometry as the entries of a form."""

    key: Hashable
    box: Array
    matrix: Array
    drawn: Box

    @classmethod
    def of(cls, page: pikepdf.Page, trim: Size, bleed_pt: float, place: Place) -> "_Boxes":
        """Read a page's boxes. Raises OrderError when its trim is not the order's."""
        boxes = page_boxes(page, place.file)
        if not boxes.fits(trim):
            raise OrderError(_wrong_size(boxes, trim, place))
        middle = boxes.trim_as(trim)
        shown = Box(*(edge / boxes.user_unit for edge in boxes.with_bleed(middle, bleed_pt)))
        upright = boxes.upright(middle)
        box, matrix = _plain(shown), _plain(upright)
        drawn = Box(*bounds_of(shown, upright))
        return cls((*box, *matrix), Array(box), Array(matrix), drawn)


def _wrong_size(boxes: PageBoxes, wanted: Size, place: Place) -> Diagnostic:
    return error(
        "wrong-trim-size",
        f"the artwork's trim is {boxes.trim_size}, expected {wanted}",
        place=place,
        in_program="turn the page by a quarter, or set it to the size that is expected",
        hint="or turn the piece's 'trim'" if boxes.lies_turned(wanted) else "or set its 'trim'",
    )


def _shared(pdf: Pdf, resources: Object | None) -> Object:
    """Return resources as an object of its own, so that many forms can name it."""
    if resources is None:
        return pdf.make_indirect(Dictionary())
    return resources if resources.is_indirect else pdf.make_indirect(resources)


def _plain(values: Iterable[float]) -> list[float]:
    """Return numbers as short as a PDF can write them."""
    return [int(v) if v == int(v) else round(v, 5) for v in values]


def _identity(value: Object | None) -> Hashable:
    if value is None:
        return None
    return value.objgen if value.is_indirect else value.unparse()


@contextlib.contextmanager
def _opened(name: str, data: bytes | Path) -> Iterator[Pdf]:
    """Open a PDF; bytes through a file of their own, twice as quick as from memory."""
    with working_folder() as folder:
        path = data if isinstance(data, Path) else folder / "artwork.pdf"
        if isinstance(data, bytes):
            path.write_bytes(data)
        try:
            make_room()
            pdf = Pdf.open(path, inherit_page_attributes=False)
        except (pikepdf.PdfError, pikepdf.PasswordError, OSError) as problem:
            raise FileError.of(
                "not-a-pdf",
                f"cannot be read as a PDF: {problem}",
                place=Place(file=name),
                in_program="export it again, without a password",
            ) from problem
        with closing(pdf):
            if not len(pdf.pages):
                raise OrderError.of("no-pages", "the PDF has no page", place=Place(file=name))
            yield pdf
