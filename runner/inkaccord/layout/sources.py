"""Artwork pages as forms: one form XObject for every distinct page content.

A page's content is kept as it is, byte for byte, where it is a single deflated stream; several
streams are joined, and what is not deflated yet is. Layers stay layers. Annotations that print
are flattened into the page, others are left out.
"""

import contextlib
import re
import tempfile
import zlib
from collections.abc import Hashable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Self

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream

from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import FileError, OrderError
from inkaccord.layout.layers import merge_layers
from inkaccord.layout.model import Box
from inkaccord.models import Frozen
from inkaccord.sizes import Size
from inkaccord.units import mm

SIZE_TOLERANCE_PT = 0.75
"""How far the artwork's trim may differ from the order's before it is refused."""
_BLEED_TOLERANCE_PT = 0.1
_CONTENTS = re.compile(rb"/Contents \d+ \d+ R")
_RESOURCES = re.compile(rb"/Resources \d+ \d+ R")


class BleedMend(StrEnum):
    """What to do where artwork has too little bleed. Only ever done when the order asks."""

    NONE = "none"
    MIRRORED = "mirrored"
    """What lies inside the edge is mirrored outward."""
    SCALED = "scaled"
    """The artwork is enlarged about its middle until it covers the bleed."""


class Artwork(Frozen):
    """The PDF that shows one side of a piece."""

    data: bytes | Path
    """The file's bytes, or the file: that is quicker for large ones."""
    pages: tuple[int, ...] | None = None
    """Page numbers from 0; None takes all. Several pages are records: one for each copy."""


@dataclass(frozen=True)
class _Document:
    """An open PDF with its pages listed once."""

    name: str
    pdf: Pdf
    pages: list[Object]
    shapes: list[bytes]
    """Each page without its content: what pages share that differ in content alone."""
    used: set[tuple[int, int]]
    """Content streams that were made forms."""

    @classmethod
    def of(cls, name: str, pdf: Pdf) -> "_Document":
        pages: list[Object] = [page.obj for page in pdf.pages]
        shapes = [_CONTENTS.sub(b"", page.unparse(resolved=True)) for page in pages]
        return cls(name, pdf, pages, shapes, set())


@dataclass(frozen=True)
class _Frame:
    """What turns a content stream into a form: boxes, matrix, resources."""

    geometry: "_Geometry"
    entries: dict[str, Object]
    whole: dict[bytes, Dictionary] = field(default_factory=dict)
    """Whole dictionaries of forms, by the filter of their streams; many forms share one."""
    forms: dict[bytes, int] = field(default_factory=dict)
    """The forms made so far, by their content."""

    def dress(self, content: Stream) -> None:
        """Make a content stream a form, in place."""
        used = content.get("/Filter")
        if "/DecodeParms" in content:
            for name, value in self.entries.items():
                content[name] = value
            return
        key = b"" if used is None else used.unparse()
        if key not in self.whole:
            filters = {} if used is None else {"/Filter": used}
            self.whole[key] = Dictionary({**self.entries, **filters})
        content.stream_dict = self.whole[key]


class Sources(AbstractContextManager["Sources"]):
    """Open artwork PDFs, gathered into one file that is to be written.

    Use as a context manager; :attr:`pdf` lives until it ends.
    """

    def __init__(self, artworks: Mapping[str, bytes | Path]) -> None:
        self.findings: list[Diagnostic] = []
        self.forms: list[Object] = []
        self._frames: dict[Hashable, _Frame] = {}
        self._looks: dict[Hashable, dict[bytes, _Frame]] = {}
        self._stack = ExitStack()
        self._documents: dict[str, _Document] = {}
        try:
            self._open_all(artworks)
        except BaseException:
            self._stack.close()
            raise

    def _open_all(self, artworks: Mapping[str, bytes | Path]) -> None:
        same: dict[bytes | Path, _Document] = {}
        for name, data in artworks.items():
            if data not in same:
                pdf = self._stack.enter_context(_opened(name, data))
                same[data] = self._flattened(_Document.of(name, pdf))
            self._documents[name] = same[data]
        opened = list(same.values())
        # The file with the most pages becomes the output, so that most objects are not copied.
        self.pdf = max(opened, key=lambda document: len(document.pages)).pdf
        merge_layers(self.pdf, [document.pdf for document in opened])

    def _flattened(self, document: _Document) -> _Document:
        if not any(b"/Annots" in shape for shape in document.shapes):
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
        self,
        name: str,
        numbers: Iterable[int],
        trim: Size,
        bleed_pt: float,
        mend: BleedMend = BleedMend.NONE,
    ) -> tuple[int, ...]:
        """Return the index in :attr:`forms` of each page, made ready for a trim and bleed.

        A form has the lower left corner of its trim at (0, 0) and stands upright. Raises
        OrderError if a page is missing or its trim is not the order's.
        """
        document = self._documents[name]
        frames = self._looks.setdefault((document.name, trim, bleed_pt, mend), {})
        boxes: dict[bytes, _Geometry] = {}
        found: list[int] = []
        for number in numbers:
            if not 0 <= number < len(document.pages):
                place = Place(file=name, page=number + 1)
                raise OrderError.of("no-such-page", "the PDF has no such page", place=place)
            page, shape = document.pages[number], document.shapes[number]
            frame = frames.get(shape)
            if frame is None:
                alike = _RESOURCES.sub(b"", shape)
                if alike not in boxes:
                    place = Place(file=name, page=number + 1)
                    boxes[alike] = _Geometry.of(pikepdf.Page(page), trim, bleed_pt, place)
                    self.findings.extend(boxes[alike].findings(mend, place))
                frame = frames[shape] = self._frame(document, page, boxes[alike], mend)
            content, raw = _content(document.pdf, page)
            form = frame.forms.get(raw)
            if form is None:
                form = frame.forms[raw] = len(self.forms)
                self.forms.append(self._form(document, content, frame, mend))
            found.append(form)
        return tuple(found)

    def _frame(
        self, document: _Document, page: Object, geometry: "_Geometry", mend: BleedMend
    ) -> _Frame:
        resources, group = _inherited(page, "/Resources"), page.get(Name.Group)
        key = document.name, geometry, _identity(resources), _identity(group), mend
        if key in self._frames:
            return self._frames[key]
        entries = {
            "/Type": Name.XObject,
            "/Subtype": Name.Form,
            "/BBox": Array(_plain(geometry.shown)),
            "/Matrix": Array(_plain(geometry.matrix)),
            "/Resources": _shared(document.pdf, resources),
        }
        if group is not None:
            entries["/Group"] = group
        self._frames[key] = _Frame(geometry, entries)
        return self._frames[key]

    def _form(
        self,
        document: _Document,
        content: Stream,
        frame: _Frame,
        mend: BleedMend,
    ) -> Object:
        if content.objgen in document.used:  # it already serves a page with other boxes
            content = _copied(document.pdf, content)
        document.used.add(content.objgen)
        frame.dress(content)
        art: Object = content
        if document.pdf is not self.pdf:
            art = self.pdf.copy_foreign(document.pdf.make_indirect(content))
        if mend is not BleedMend.NONE and frame.geometry.missing_pt > _BLEED_TOLERANCE_PT:
            art = self.pdf.make_indirect(_mended(self.pdf, art, frame.geometry, mend))
        return art


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


def _copied(pdf: Pdf, content: Stream) -> Stream:
    copy = Stream(pdf, content.read_raw_bytes())
    for key in ("/Filter", "/DecodeParms"):
        if key in content:
            copy[key] = content[key]
    return copy


class _Geometry(Frozen):
    """A page's boxes in its own space, and the way from there to the piece."""

    trim: Box
    shown: Box
    """Trim and bleed as far as the page has them."""
    turn: int
    unit: float
    width_pt: float
    height_pt: float
    bleed_pt: float
    missing_pt: float
    """How much bleed is missing on the worst edge, in points as printed."""
    guessed: bool

    @classmethod
    def of(cls, page: pikepdf.Page, trim: Size, bleed_pt: float, place: Place) -> "_Geometry":
        media = _box(page.mediabox)
        unit = float(_inherited(page.obj, "/UserUnit") or 1)
        turn = int(_inherited(page.obj, "/Rotate") or 0) % 360
        own = page.obj.get(Name.TrimBox)
        width, height = trim.width_pt / unit, trim.height_pt / unit
        if turn in {90, 270}:
            width, height = height, width
        seen = _box(own) if own is not None else _box(page.cropbox)
        box, guessed = seen, False
        if own is None and not _same(seen, width, height):
            guessed = not _same(seen, width + 2 * bleed_pt / unit, height + 2 * bleed_pt / unit)
            x, y = (seen.left + seen.right - width) / 2, (seen.bottom + seen.top - height) / 2
            box = Box(x, y, x + width, y + height)
        if not _same(box, width, height) or not media.holds(box, SIZE_TOLERANCE_PT):
            got = Size(width_pt=seen.width * unit, height_pt=seen.height * unit)
            raise OrderError(_wrong_size(got.turned if turn in {90, 270} else got, trim, place))
        # The order's trim, in the middle of the artwork's.
        x, y = (box.left + box.right - width) / 2, (box.bottom + box.top - height) / 2
        box = Box(x, y, x + width, y + height)
        wanted = box.grown(bleed_pt / unit)
        shown = wanted.common(media)
        missing = max(abs(a - b) for a, b in zip(wanted, shown, strict=True)) * unit
        return cls(
            trim=box,
            shown=shown,
            turn=turn,
            unit=unit,
            width_pt=trim.width_pt,
            height_pt=trim.height_pt,
            bleed_pt=bleed_pt,
            missing_pt=missing,
            guessed=guessed,
        )

    @property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """From the page's space to the piece's: upright, in points, trim corner at (0, 0)."""
        u, box = self.unit, self.trim
        if self.turn == 90:
            return 0, -u, u, 0, -u * box.bottom, u * box.right
        if self.turn == 180:
            return -u, 0, 0, -u, u * box.right, u * box.top
        if self.turn == 270:
            return 0, u, -u, 0, u * box.top, -u * box.left
        return u, 0, 0, u, -u * box.left, -u * box.bottom

    def placed(self, box: Box) -> Box:
        """Return a box of the page in the piece's space."""
        a, b, c, d, e, f = self.matrix
        xs = sorted((a * box.left + c * box.bottom + e, a * box.right + c * box.top + e))
        ys = sorted((b * box.left + d * box.bottom + f, b * box.right + d * box.top + f))
        return Box(xs[0], ys[0], xs[1], ys[1])

    def findings(self, mend: BleedMend, place: Place) -> list[Diagnostic]:
        """Return what is to be said of this page."""
        found: list[Diagnostic] = []
        if self.guessed:
            found.append(
                note(
                    "trim-guessed",
                    "the page has no TrimBox and is larger than the piece: its middle was taken",
                    place=place,
                    hint="export the artwork with its trim box",
                )
            )
        if self.missing_pt > _BLEED_TOLERANCE_PT:
            lacks = (
                f"{mm(self.missing_pt):.2f} mm of the {mm(self.bleed_pt):.2f} mm bleed are missing"
            )
            if mend is BleedMend.NONE:
                found.append(
                    warning(
                        "too-little-bleed",
                        lacks,
                        place=place,
                        hint="draw the artwork over the trim, or ask for mirrored or scaled bleed",
                    )
                )
            else:
                found.append(note(f"bleed-{mend}", f"{lacks}: {mend} bleed, as asked", place=place))
        return found


@contextlib.contextmanager
def _opened(name: str, data: bytes | Path) -> Iterator[Pdf]:
    """Open a PDF; bytes through a file of their own, twice as quick as from memory."""
    with tempfile.TemporaryDirectory() as folder:
        path = data if isinstance(data, Path) else Path(folder) / "artwork.pdf"
        if isinstance(data, bytes):
            path.write_bytes(data)
        try:
            pdf = Pdf.open(path, inherit_page_attributes=False)
        except (pikepdf.PdfError, pikepdf.PasswordError, OSError) as problem:
            raise FileError.of(
                "not-a-pdf",
                f"cannot be read as a PDF: {problem}",
                place=Place(file=name),
                hint="export it again, without a password",
            ) from problem
        with pdf:
            if not len(pdf.pages):
                raise OrderError.of("no-pages", "the PDF has no page", place=Place(file=name))
            yield pdf


def _wrong_size(got: Size, wanted: Size, place: Place) -> Diagnostic:
    turned = got.turned.same_as(wanted, SIZE_TOLERANCE_PT)
    return error(
        "wrong-trim-size",
        f"the artwork's trim is {got}, expected {wanted}",
        place=place,
        hint="turn the page by a quarter" if turned else "set the trim in the order or the artwork",
    )


def _inherited(node: Object, key: str) -> Object | None:
    """Return a page attribute, from the page or the nearest parent that has it."""
    for _ in range(64):  # deeper trees are broken trees
        value = node.get(key)
        if value is not None:
            return value
        parent = node.get("/Parent")
        if parent is None:
            return None
        node = parent
    return None


def _box(array: object) -> Box:
    a, b, c, d = (float(value) for value in array)  # type: ignore[attr-defined]  # a PDF array
    return Box(min(a, c), min(b, d), max(a, c), max(b, d))


def _same(box: Box, width: float, height: float) -> bool:
    return (
        abs(box.width - width) <= SIZE_TOLERANCE_PT
        and abs(box.height - height) <= SIZE_TOLERANCE_PT
    )


def _content(pdf: Pdf, page: Object) -> tuple[Stream, bytes]:
    """Return a page's content as one stream, and the bytes that tell it from others."""
    contents = page.get("/Contents")
    if isinstance(contents, Stream):
        return contents, contents.read_raw_bytes()
    streams = [part for part in contents or () if isinstance(part, Stream)]
    if len(streams) == 1:
        return streams[0], streams[0].read_raw_bytes()
    joined = b"\n".join(part.read_bytes() for part in streams)
    return packed(pdf, joined), joined


def packed(pdf: Pdf, data: bytes, **entries: Object) -> Stream:
    """Return a compressed stream in a file."""
    stream = Stream(pdf, zlib.compress(data, 6), Filter=Name.FlateDecode)
    for key, value in entries.items():
        stream[f"/{key}"] = value
    return stream


def form(pdf: Pdf, data: bytes, box: Box, inner: dict[str, Object]) -> Stream:
    """Return a form that draws other forms."""
    return packed(
        pdf,
        data,
        Type=Name.XObject,
        Subtype=Name.Form,
        BBox=Array(box),
        Resources=Dictionary(XObject=Dictionary({f"/{k}": v for k, v in inner.items()})),
    )


def _mended(pdf: Pdf, art: Object, geometry: _Geometry, mend: BleedMend) -> Stream:
    """Return a form that fills the bleed from a form that has too little of it."""
    have = geometry.placed(geometry.shown)
    want = Box(0.0, 0.0, geometry.width_pt, geometry.height_pt).grown(geometry.bleed_pt)
    inner = {"A": pdf.make_indirect(art)}
    if mend is BleedMend.SCALED:
        scale = max(want.width / have.width, want.height / have.height)
        x, y = (want.left + want.right) / 2, (want.bottom + want.top) / 2
        hx, hy = (have.left + have.right) / 2, (have.bottom + have.top) / 2
        return form(
            pdf,
            f"{numbers(scale, 0, 0, scale, x - scale * hx, y - scale * hy)} cm /A Do".encode(),
            want,
            inner,
        )
    lines = []
    for across, left, right, fx, ex in _reflections(want.left, have.left, have.right, want.right):
        for up, low, high, fy, ey in _reflections(want.bottom, have.bottom, have.top, want.top):
            if right > left and high > low:
                clip = f"{numbers(left, low, right - left, high - low)} re W n "
                whole = across == up == 0
                lines.append(f"q {'' if whole else clip}{numbers(fx, 0, 0, fy, ex, ey)} cm /A Do Q")
    return form(pdf, "\n".join(lines).encode(), want, inner)


def _reflections(
    want_low: float, low: float, high: float, want_high: float
) -> list[tuple[int, float, float, int, float]]:
    """Return side, span from, span to, factor and shift of the middle and both mirror images."""
    return [
        (0, low, high, 1, 0.0),
        (-1, want_low, low, -1, 2 * low),
        (1, high, want_high, -1, 2 * high),
    ]


def numbers(*values: float) -> str:
    """Return numbers as a content stream writes them."""
    return " ".join(f"{value:.5f}".rstrip("0").rstrip(".") for value in values)
