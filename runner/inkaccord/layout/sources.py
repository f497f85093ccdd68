"""Artwork pages as forms: one form XObject for every distinct page content.

A page's content stream is kept as it is, byte for byte, where it is a single stream; several
streams are joined. Layers stay layers. Annotations that print are flattened into the page,
others are left out.
"""

import hashlib
import io
import zlib
from collections.abc import Mapping
from contextlib import AbstractContextManager, ExitStack
from enum import StrEnum
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


class BleedMend(StrEnum):
    """What to do where artwork has too little bleed. Only ever done when the order asks."""

    NONE = "none"
    MIRRORED = "mirrored"
    """What lies inside the edge is mirrored outward."""
    SCALED = "scaled"
    """The artwork is enlarged about its middle until it covers the bleed."""


class Artwork(Frozen):
    """The PDF that shows one side of a piece."""

    data: bytes
    pages: tuple[int, ...] | None = None
    """Page numbers from 0; None takes all. Several pages are records: one for each copy."""


class Sources(AbstractContextManager["Sources"]):
    """Open artwork PDFs, gathered into one file that is to be written.

    Use as a context manager; :attr:`pdf` lives until it ends.
    """

    def __init__(self, artworks: Mapping[str, bytes]) -> None:
        self.findings: list[Diagnostic] = []
        self.forms: list[Object] = []
        self._known: dict[object, int] = {}
        self._stack = ExitStack()
        self._opened: dict[str, Pdf] = {}
        self._by_content: dict[str, str] = {}
        try:
            self._open_all(artworks)
        except BaseException:
            self._stack.close()
            raise

    def _open_all(self, artworks: Mapping[str, bytes]) -> None:
        same: dict[str, str] = {}
        for name, data in artworks.items():
            digest = hashlib.sha256(data).hexdigest()
            self._by_content[name] = same.setdefault(digest, name)
            if same[digest] == name:
                self._opened[name] = self._stack.enter_context(_open(name, data))
        base = max(self._opened, key=lambda name: len(self._opened[name].pages), default=None)
        # The file with the most pages becomes the output, so that most objects are not copied.
        self.pdf = self._stack.enter_context(Pdf.new()) if base is None else self._opened[base]
        for name, pdf in self._opened.items():
            self._flatten(name, pdf)
        merge_layers(self.pdf, list(self._opened.values()))

    def _flatten(self, name: str, pdf: Pdf) -> None:
        if any("/Annots" in page.obj for page in pdf.pages):
            if "/AcroForm" in pdf.Root:
                pdf.generate_appearance_streams()
            pdf.flatten_annotations("print")
            self.findings.append(
                note(
                    "annotations-flattened",
                    "notes, links and form fields: those that print became part of the page, "
                    "the others were left out",
                    place=Place(file=name),
                )
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def page_count(self, name: str) -> int:
        """Return how many pages an artwork has."""
        return len(self._opened[self._by_content[name]].pages)

    def page(self, name: str, number: int, trim: Size, bleed_pt: float, mend: BleedMend) -> int:
        """Return the index in :attr:`forms` of a page, made ready for a trim and bleed.

        Raises OrderError if the page's trim is not the order's.
        """
        pdf = self._opened[self._by_content[name]]
        page = pdf.pages[number]
        place = Place(file=name, page=number + 1)
        geometry = _Geometry.of(page, trim, bleed_pt, place)
        content, content_key = _content(pdf, page)
        resources = _inherited(page.obj, "/Resources")
        resources_key: object = None
        if resources is not None:
            resources_key = resources.objgen if resources.is_indirect else resources.unparse()
        key = (self._by_content[name], content_key, resources_key, geometry, mend)
        if key in self._known:
            return self._known[key]
        self.findings.extend(geometry.findings(mend, place))
        art = self._form(pdf, page, content, resources, geometry)
        if mend is not BleedMend.NONE and geometry.missing_pt > _BLEED_TOLERANCE_PT:
            art = _mended(self.pdf, art, geometry, mend)
        self.forms.append(self.pdf.make_indirect(art))
        self._known[key] = len(self.forms) - 1
        return len(self.forms) - 1

    def _form(
        self,
        pdf: Pdf,
        page: pikepdf.Page,
        content: Stream,
        resources: Object | None,
        geometry: "_Geometry",
    ) -> Object:
        if "/BBox" in content:  # the stream already serves a page with other boxes
            copy = Stream(pdf, content.read_raw_bytes())
            for key in ("/Filter", "/DecodeParms"):
                if key in content:
                    copy[key] = content[key]
            content = copy
        content[Name.Type] = Name.XObject
        content[Name.Subtype] = Name.Form
        content[Name.BBox] = Array(geometry.shown)
        content[Name.Matrix] = Array(geometry.matrix)
        content[Name.Resources] = Dictionary() if resources is None else resources
        group = page.obj.get(Name.Group)
        if group is not None:
            content[Name.Group] = group
        if pdf is self.pdf:
            return content
        return self.pdf.copy_foreign(pdf.make_indirect(content))


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


def _open(name: str, data: bytes) -> Pdf:
    try:
        pdf = Pdf.open(io.BytesIO(data))
    except (pikepdf.PdfError, pikepdf.PasswordError) as problem:
        raise FileError.of(
            "not-a-pdf",
            f"cannot be read as a PDF: {problem}",
            place=Place(file=name),
            hint="export it again, without a password",
        ) from problem
    if not len(pdf.pages):
        raise OrderError.of("no-pages", "the PDF has no page", place=Place(file=name))
    return pdf


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


def _content(pdf: Pdf, page: pikepdf.Page) -> tuple[Stream, object]:
    """Return a page's content as one stream, and what tells it from others."""
    contents = page.obj.get(Name.Contents)
    if isinstance(contents, Stream):
        streams = [contents]
    else:
        streams = [part for part in contents or () if isinstance(part, Stream)]
    if len(streams) == 1:
        return streams[0], (_digest(streams[0].read_raw_bytes()), str(streams[0].get("/Filter")))
    joined = b"\n".join(part.read_bytes() for part in streams)
    return packed(pdf, joined), (_digest(joined), "joined")


def _digest(data: bytes) -> bytes:
    return hashlib.blake2b(data, digest_size=16).digest()


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
