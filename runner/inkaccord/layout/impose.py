"""Write imposed sheets as a PDF.

Every distinct artwork page becomes one form, whatever the number of its copies; a layout's
sheets share one content stream; the page tree is written once. The same input gives the same
bytes.
"""

import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Literal

from pikepdf import Array, Dictionary, Name, Object, ObjectStreamMode, Pdf, StreamDecodeLevel

from inkaccord import __version__
from inkaccord.diagnostics import Diagnostic, Place, error, note
from inkaccord.errors import OrderError
from inkaccord.files import replacing
from inkaccord.layout.duplex import back_of, blank_backs
from inkaccord.layout.markdraw import draw_marks
from inkaccord.layout.marks import MarkRules, MarkSet, marks_for
from inkaccord.layout.model import Box, Imposition, Item, Placement, SheetLayout
from inkaccord.layout.sources import Artwork, BleedMend, Sources, form, numbers, packed
from inkaccord.models import Frozen
from inkaccord.sizes import Size

Art = Mapping[tuple[str, int], bytes | Path | Artwork]
"""The artwork of each piece and side (1 front, 2 back)."""


COMPACT_FORMS = 1000
"""With more forms than that, objects are not packed into streams."""


class RecordOrder(StrEnum):
    """Where the next record lies, when every copy of a piece has its own page."""

    ACROSS = "across"
    """Next to the last one on the same sheet."""
    STACKS = "stacks"
    """Under the last one: when the sheets are cut, every pile is in order."""


class ImposeRules(Frozen):
    """What the file of sheets holds."""

    marks: MarkRules | None = None
    side: Literal[1, 2] | None = None
    """Only this side; None writes fronts and backs in turn."""
    repeat: bool = False
    """Write every sheet of a run as a page, not one for each layout."""
    records: RecordOrder = RecordOrder.STACKS
    bleed: BleedMend = BleedMend.NONE
    pdf_version: str = "1.7"
    title: str = ""


class Imposed(Frozen):
    """A written file of sheets and what is to be said of it."""

    data: bytes
    pages: int
    findings: tuple[Diagnostic, ...] = ()


def impose(art: Art, imposition: Imposition, rules: ImposeRules | None = None) -> bytes:
    """Return the PDF of imposed sheets. See :func:`impose_sheets`."""
    return impose_sheets(art, imposition, rules).data


def impose_sheets(art: Art, imposition: Imposition, rules: ImposeRules | None = None) -> Imposed:
    """Return imposed sheets as bytes, with what is to be said of them.

    Parameters
    ----------
    art
        The artwork of each piece and side. Artwork with several pages has a record for every
        copy.
    imposition
        From :func:`inkaccord.layout.packing.lay_out`.
    rules
        Marks, sides, repeated sheets, order of records, mended bleed.

    Raises
    ------
    OrderError
        If artwork is missing, has another trim than the piece, or its pages do not go together.
    FileError
        If artwork is not a PDF that can be read.
    """
    with tempfile.TemporaryDirectory() as folder:  # writing to a file is quicker than to memory
        path = Path(folder) / "sheets.pdf"
        pages, findings = _write(art, imposition, rules or ImposeRules(), path)
        return Imposed(data=path.read_bytes(), pages=pages, findings=findings)


def impose_file(
    art: Art, imposition: Imposition, path: Path, rules: ImposeRules | None = None
) -> tuple[Diagnostic, ...]:
    """Write imposed sheets to a file and return the findings. See :func:`impose_sheets`."""
    with replacing(path) as temporary:
        return _write(art, imposition, rules or ImposeRules(), temporary)[1]


def _write(
    art: Art, imposition: Imposition, rules: ImposeRules, path: Path
) -> tuple[int, tuple[Diagnostic, ...]]:
    artworks = {
        _label(key): value if isinstance(value, Artwork) else Artwork(data=value)
        for key, value in art.items()
    }
    _check_art(artworks, imposition)
    with Sources({label: artwork.data for label, artwork in artworks.items()}) as sources:
        book = _Book(sources, artworks, imposition, rules)
        sides = [side for layout in imposition.layouts for side in book.sides(layout)]
        marks = _marks(sides, imposition.items, rules.marks)
        with _open_marks(sides, marks, rules.marks) as drawn:
            overlays = [None] * len(sides) if drawn is None else book.overlays(drawn)
            pages = book.pages(sides, overlays)
        rebuild(sources.pdf, pages, title=rules.title)
        compact = len(sources.forms) <= COMPACT_FORMS
        save(sources.pdf, path, pdf_version=rules.pdf_version, compact=compact)
        findings = (*sources.findings, *book.findings, *(f for m in marks for f in m.findings))
        return len(pages), tuple(dict.fromkeys(findings))


def rebuild(pdf: Pdf, pages: Sequence[Object], *, title: str) -> None:
    """Replace a file's pages and everything else of its catalogue.

    Layers and output intents of the catalogue are kept.
    """
    tree = _page_tree(pdf, pages)
    for key in list(pdf.Root.keys()):
        if key not in {"/Type", "/OCProperties", "/OutputIntents"}:
            del pdf.Root[key]
    pdf.Root[Name.Pages] = tree
    for key in ("/Info", "/ID"):
        if key in pdf.trailer:
            del pdf.trailer[key]
    pdf.trailer[Name.Info] = pdf.make_indirect(
        Dictionary(Title=title, Producer="inkaccord", Creator=f"inkaccord {__version__}")
    )


def save(pdf: Pdf, path: Path, *, pdf_version: str, compact: bool = True) -> None:
    """Write a rebuilt file, the same bytes every time.

    ``compact`` packs objects into streams where the version allows it: smaller, but slower where
    there are many forms.
    """
    packs = compact and pdf_version >= "1.5"
    pdf.save(
        path,
        force_version=pdf_version,
        deterministic_id=True,
        compress_streams=True,  # what is deflated already stays as it is
        recompress_flate=False,
        stream_decode_level=StreamDecodeLevel.none,
        object_stream_mode=ObjectStreamMode.generate if packs else ObjectStreamMode.disable,
        encryption=False,
    )


def finish(pdf: Pdf, pages: Sequence[Object], *, pdf_version: str, title: str) -> bytes:
    """Rebuild a file from pages and return its bytes."""
    rebuild(pdf, pages, title=title)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pages.pdf"
        save(pdf, path, pdf_version=pdf_version)
        return path.read_bytes()


def page_mould(size: Size, trim: Box, bleed: Box, content: Object) -> Object:
    """Return what pages of one look share: all boxes and the content stream."""
    media = Box(0.0, 0.0, size.width_pt, size.height_pt)
    return Dictionary(
        Type=Name.Page,
        MediaBox=_array(media),
        BleedBox=_array(bleed.common(media)),
        TrimBox=_array(trim.common(media)),
        Contents=content,
    )


def page_object(pdf: Pdf, mould: Object, forms: Mapping[str, Object] | Object) -> Object:
    """Return a page that draws forms by their names, or that has ready resources."""
    page = copy(mould)
    page[Name.Resources] = forms if isinstance(forms, Object) else resources_of(forms)
    return pdf.make_indirect(page)


def resources_of(forms: Mapping[str, Object]) -> Dictionary:
    """Return page resources that name forms."""
    return Dictionary(XObject=Dictionary(dict(forms)))


def _array(box: Box) -> Array:
    return Array([round(edge, 4) for edge in box])


def _page_tree(pdf: Pdf, pages: Sequence[Object]) -> Object:
    """Return the root of a page tree with at most 100 kids a node."""
    level = list(pages)
    many = [1] * len(level)
    while True:
        nodes: list[Object] = []
        sums: list[int] = []
        for start in range(0, len(level), 100):
            kids = level[start : start + 100]
            count = sum(many[start : start + 100])
            node = pdf.make_indirect(Dictionary(Type=Name.Pages, Count=count, Kids=Array(kids)))
            for kid in kids:
                kid[Name.Parent] = node
            nodes.append(node)
            sums.append(count)
        if len(nodes) == 1:
            return nodes[0]
        level, many = nodes, sums


class _Side(Frozen):
    """One side of one layout."""

    layout: SheetLayout
    number: Literal[1, 2]
    placements: tuple[Placement, ...]
    blank: tuple[Box, ...] = ()
    """Pieces that have nothing on this side."""
    first: dict[str, int]
    """The first record of each piece that this layout shows."""

    @property
    def printable(self) -> Box:
        """What the device prints of this side."""
        # Both sides pass the device the same way: margins and gripper stand where they stood.
        return self.layout.sheet.printable

    @property
    def trim(self) -> Box:
        """The box round all trims."""
        box = self.placements[0].trim
        for placed in self.placements[1:]:
            box = box.around(placed.trim)
        return box

    @property
    def bleed(self) -> Box:
        """The box round all bleeds."""
        box = self.placements[0].bleed
        for placed in self.placements[1:]:
            box = box.around(placed.bleed)
        return box


@dataclass(frozen=True)
class _Slot:
    """A place on a side: it shows the pages from the first on, so many further on each sheet."""

    pages: tuple[int, ...]
    first: int
    step: int


@dataclass(frozen=True)
class _Look:
    """What the sheets of one side have in common."""

    mould: Object
    slots: list[_Slot]
    overlay: Object | None
    shared: Object | None
    """The resources of all sheets, when every sheet shows the same."""


class _Book:
    """Turns layouts into pages."""

    def __init__(
        self,
        sources: Sources,
        artworks: Mapping[str, Artwork],
        imposition: Imposition,
        rules: ImposeRules,
    ) -> None:
        self._sources = sources
        self._artworks = artworks
        self._rules = rules
        self._items = {item.name: item for item in imposition.items}
        self._imposition = imposition
        self._next = dict.fromkeys(self._items, 0)
        self._forms: dict[tuple[str, int], tuple[int, ...]] = {}
        self._blank: Object | None = None
        self.findings: list[Diagnostic] = []
        for item in imposition.items:
            self._check_records(item)

    def sides(self, layout: SheetLayout) -> Iterator[_Side]:
        """Yield the sides of a layout that are to be written."""
        first = dict(self._next)
        for name in self._items:
            self._next[name] += layout.run * layout.copies_of(name)
        back = () if layout.duplex.one_forme else back_of(layout, self._imposition.items)
        if self._rules.side != 2 or layout.duplex.one_forme:
            yield _Side(layout=layout, number=1, placements=layout.placements, first=first)
        if self._rules.side != 1 and back:
            blank = blank_backs(layout, self._imposition.items)
            yield _Side(layout=layout, number=2, placements=back, blank=blank, first=first)

    def overlays(self, drawn: Pdf) -> list[Object | None]:
        """Return the drawn marks as forms."""
        pdf = self._sources.pdf
        return [pdf.copy_foreign(page.as_form_xobject()) for page in drawn.pages]

    def pages(self, sides: Sequence[_Side], overlays: Sequence[Object | None]) -> list[Object]:
        """Return the pages of all sides, fronts and backs of a sheet one after the other."""
        found: list[Object] = []
        by_layout: dict[int, list[tuple[_Side, Object | None]]] = {}
        for side, overlay in zip(sides, overlays, strict=True):
            by_layout.setdefault(id(side.layout), []).append((side, overlay))
        for pairs in by_layout.values():
            layout = pairs[0][0].layout
            every = self._rules.repeat or any(
                self._records(p.item, side.number) > 1 for side, _ in pairs for p in side.placements
            )
            looks = [self._look(side, overlay) for side, overlay in pairs]
            for sheet in range(layout.run if every else 1):
                for look in looks:
                    forms = look.shared or self._forms_on(look, sheet)
                    found.append(page_object(self._sources.pdf, look.mould, forms))
        return found

    def _look(self, side: _Side, overlay: Object | None) -> _Look:
        slots = self._slots(side)
        look = _Look(self._mould(side, overlay), slots, overlay, None)
        if any(slot.step for slot in slots):
            return look
        shared = self._sources.pdf.make_indirect(resources_of(self._forms_on(look, 0)))
        return replace(look, shared=shared)

    def _forms_on(self, look: _Look, sheet: int) -> dict[str, Object]:
        """Return the forms that one sheet draws, by the names in its content."""
        forms = {f"/P{n}": self._shown(slot, sheet) for n, slot in enumerate(look.slots)}
        if look.overlay is not None:
            forms["/M"] = look.overlay
        return forms

    def _mould(self, side: _Side, overlay: Object | None) -> Object:
        lines = [
            f"q {placing(placed)} cm /P{slot} Do Q" for slot, placed in enumerate(side.placements)
        ]
        if overlay is not None:
            lines.append("q /M Do Q")
        content = packed(self._sources.pdf, "\n".join(lines).encode())
        return page_mould(side.layout.sheet.size, side.trim, side.bleed, content)

    def _shown(self, slot: _Slot, sheet: int) -> Object:
        record = slot.first + sheet * slot.step
        if record < len(slot.pages):
            return self._sources.forms[slot.pages[record]]
        if self._blank is None:
            self._blank = form(self._sources.pdf, b"", Box(0, 0, 1, 1), {})
        return self._blank

    def _slots(self, side: _Side) -> list[_Slot]:
        """Return which form each place shows on each sheet of the run."""
        layout = side.layout
        nth: dict[tuple[str, int], int] = {}
        found: list[_Slot] = []
        for placed in side.placements:
            key = placed.item, placed.side if layout.duplex.one_forme else side.number
            copy_number = nth[key] = nth.get(key, -1) + 1
            pages = self._pages_of(*key)
            if len(pages) == 1:
                found.append(_Slot(pages, 0, 0))
            elif self._rules.records is RecordOrder.ACROSS:
                across = layout.copies_of(placed.item)
                found.append(_Slot(pages, side.first[placed.item] + copy_number, across))
            else:
                first = side.first[placed.item] + copy_number * layout.run
                found.append(_Slot(pages, first, 1))
        return found

    def _pages_of(self, name: str, side: int) -> tuple[int, ...]:
        key = name, side
        if key not in self._forms:
            label, item = _label(key), self._items[name]
            numbers_of = self._artworks[label].pages or range(self._sources.page_count(label))
            self._forms[key] = self._sources.pages(
                label, numbers_of, item.trim, item.bleed_pt, self._rules.bleed
            )
        return self._forms[key]

    def _records(self, name: str, side: int) -> int:
        artwork = self._artworks[_label((name, side))]
        if artwork.pages is not None:
            return len(artwork.pages)
        return self._sources.page_count(_label((name, side)))

    def _check_records(self, item: Item) -> None:
        place = Place(field=f"pieces.{item.name}")
        counts = [self._records(item.name, side) for side in range(1, item.sides + 1)]
        records = max(counts)
        if records == 1:
            return
        if any(count not in {1, records} for count in counts):
            raise OrderError(
                error(
                    "records-differ",
                    f"front and back have {counts[0]} and {counts[1]} pages",
                    place=place,
                    hint="give both the same number of pages, or one page to all",
                )
            )
        if any(layout.duplex.one_forme for layout in self._imposition.layouts):
            raise OrderError(
                error(
                    "records-need-two-formes",
                    "one forme for both sides shows the same page twice, so records cannot differ",
                    place=place,
                    hint="print sheetwise, or let the device turn the sheet",
                )
            )
        printed = self._imposition.printed[item.name]
        if records > printed:
            raise OrderError(
                error(
                    "too-few-copies",
                    f"{records} pages, but only {printed} copies are laid",
                    place=place,
                    hint="raise the quantity to the number of pages",
                )
            )
        if records < printed:
            self.findings.append(
                note(
                    "copies-left-blank",
                    f"{printed - records} of {printed} places have no page and stay blank",
                    place=place,
                )
            )


def placing(placed: Placement) -> str:
    """Return the matrix from a piece's space to the sheet's, as a content stream writes it."""
    x, y, box = placed.x_pt, placed.y_pt, placed.trim
    if placed.rotation == 90:
        return numbers(0, 1, -1, 0, box.right, y)
    if placed.rotation == 180:
        return numbers(-1, 0, 0, -1, box.right, box.top)
    if placed.rotation == 270:
        return numbers(0, -1, 1, 0, x, box.top)
    return numbers(1, 0, 0, 1, x, y)


def _label(key: tuple[str, int]) -> str:
    return f"{key[0]} ({'front' if key[1] == 1 else 'back'})"


def _check_art(artworks: Mapping[str, Artwork], imposition: Imposition) -> None:
    missing = [
        error(
            "no-artwork",
            f"{_label((item.name, side))} has no artwork",
            place=Place(field=f"pieces.{item.name}"),
            hint="give a PDF for each side of the piece",
        )
        for item in imposition.items
        for side in range(1, item.sides + 1)
        if _label((item.name, side)) not in artworks
    ]
    if missing:
        raise OrderError(missing)


def _marks(sides: Sequence[_Side], items: Sequence[Item], rules: MarkRules | None) -> list[MarkSet]:
    if rules is None:
        return []
    return [
        marks_for(
            side.placements,
            side.printable,
            items,
            rules.model_copy(update={"slug": _slug(rules.slug, side)}),
            size=side.layout.sheet.size,
            blank=side.blank,
        )
        for side in sides
    ]


def _slug(text: str | None, side: _Side) -> str | None:
    """Return the slug line with the sheet's own words filled in."""
    if text is None:
        return None
    names = sorted({placed.item for placed in side.placements})
    sides = "front and back" if side.layout.duplex.one_forme else ("front", "back")[side.number - 1]
    return text.replace("{pieces}", ", ".join(names)).replace("{side}", sides)


def _open_marks(
    sides: Sequence[_Side], marks: Sequence[MarkSet], rules: MarkRules | None
) -> "Pdf | _Nothing":
    if rules is None:
        return _Nothing()
    sizes = [side.layout.sheet.size for side in sides]
    return Pdf.open(io.BytesIO(draw_marks(list(zip(sizes, marks, strict=True)), rules)))


class _Nothing:
    """Stands in for marks that nobody wants."""

    def __enter__(self) -> None:
        return None

    def __exit__(self, *_: object) -> None:
        return None
