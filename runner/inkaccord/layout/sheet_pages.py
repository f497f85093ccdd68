"""Layouts as pages: which form lies in which place of which sheet, and with which marks."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pikepdf import Object, Pdf

from inkaccord.diagnostics import Diagnostic, Place, error, note
from inkaccord.errors import OrderError
from inkaccord.layout.model import Imposition, Item, Placement, RecordOrder, SheetLayout
from inkaccord.layout.placing import placed_at, placing
from inkaccord.layout.sides import Side, side_word, sides_of
from inkaccord.layout.sources import Artwork, ArtworkForms
from inkaccord.pdf.forms import blank_form, packed
from inkaccord.pdf.writing import PageMould, page_mould, page_object, resources_of

OVERLAY = "/M"
"""What a page calls the form that has its marks."""


@dataclass(frozen=True)
class _Slot:
    """A place on a side: it shows the pages from the first on, so many further on each sheet."""

    pages: tuple[int, ...]
    first: int
    step: int


@dataclass(frozen=True)
class _Look:
    """What the sheets of one side have in common."""

    mould: PageMould
    slots: list[_Slot]
    overlay: Object | None
    shared: Object | None
    """The resources of all sheets, when every sheet shows the same."""


class Book:
    """Turns layouts into pages."""

    def __init__(
        self,
        sources: ArtworkForms,
        artworks: Mapping[str, Artwork],
        imposition: Imposition,
    ) -> None:
        self._sources = sources
        self._artworks = artworks
        self._items = {item.name: item for item in imposition.items}
        self._imposition = imposition
        self._next = dict.fromkeys(self._items, 0)
        self._forms: dict[tuple[str, int], tuple[int, ...]] = {}
        self._blank: Object | None = None
        self.findings: list[Diagnostic] = []
        for item in imposition.items:
            self._check_records(item)

    def sides(self, layout: SheetLayout) -> Iterator[Side]:
        """Yield the sides of a layout that are to be written."""
        first = dict(self._next)
        for name in self._items:
            self._next[name] += layout.run * layout.copies_of(name)
        yield from sides_of(layout, self._imposition.items, first)

    def overlays(self, drawn: Pdf) -> list[Object | None]:
        """Return the drawn marks as forms."""
        pdf = self._sources.pdf
        return [pdf.copy_foreign(page.as_form_xobject()) for page in drawn.pages]

    def pages(self, sides: Sequence[Side], overlays: Sequence[Object | None]) -> list[Object]:
        """Return the pages of all sides, fronts and backs of a sheet one after the other."""
        found: list[Object] = []
        by_layout: dict[int, list[tuple[Side, Object | None]]] = {}
        for side, overlay in zip(sides, overlays, strict=True):
            by_layout.setdefault(id(side.layout), []).append((side, overlay))
        for pairs in by_layout.values():
            layout = pairs[0][0].layout
            every = any(
                self._records(p.item, side.number) > 1 for side, _ in pairs for p in side.placements
            )
            looks = [self._look(side, overlay) for side, overlay in pairs]
            for sheet in range(layout.run if every else 1):
                for look in looks:
                    forms = look.shared or self._forms_on(look, sheet)
                    found.append(page_object(self._sources.pdf, look.mould, forms))
        return found

    def _look(self, side: Side, overlay: Object | None) -> _Look:
        slots = self._slots(side)
        look = _Look(self._mould(side, slots, overlay), slots, overlay, None)
        if any(slot.step for slot in slots):
            return look
        shared = self._sources.pdf.make_indirect(resources_of(self._forms_on(look, 0)))
        return replace(look, shared=shared)

    def _forms_on(self, look: _Look, sheet: int) -> dict[str, Object]:
        """Return the forms that one sheet draws, by the names in its content."""
        forms = {f"/P{n}": self._shown(slot, sheet) for n, slot in enumerate(look.slots)}
        if look.overlay is not None:
            forms[OVERLAY] = look.overlay
        return forms

    def _mould(self, side: Side, slots: Sequence[_Slot], overlay: Object | None) -> PageMould:
        lines = [
            f"q {placing(placed)} cm /P{slot} Do Q" for slot, placed in enumerate(side.placements)
        ]
        if overlay is not None:
            lines.append(f"q {OVERLAY} Do Q")
        content = packed(self._sources.pdf, "\n".join(lines).encode())
        bleed = side.trim
        for slot, placed in zip(slots, side.placements, strict=True):
            for drawn in {self._sources.drawn[page] for page in slot.pages}:
                bleed = bleed.around(placed_at(placed, drawn))
        return page_mould(side.layout.sheet.size, side.trim, bleed, content)

    def _shown(self, slot: _Slot, sheet: int) -> Object:
        record = slot.first + sheet * slot.step
        if record < len(slot.pages):
            return self._sources.forms[slot.pages[record]]
        if self._blank is None:
            self._blank = blank_form(self._sources.pdf)
        return self._blank

    def _slots(self, side: Side) -> list[_Slot]:
        """Return which form each place shows on each sheet of the run."""
        layout = side.layout
        found: list[_Slot] = []
        # The back's places stand in the order of the front's.
        for placed, copy_number in zip(side.placements, _numbered(layout), strict=True):
            key = placed.item, placed.side if layout.duplex.one_forme else side.number
            pages = self._pages_of(*key)
            if len(pages) == 1:
                found.append(_Slot(pages, 0, 0))
            elif self._items[placed.item].records is RecordOrder.ACROSS:
                across = layout.copies_of(placed.item)
                found.append(_Slot(pages, side.first[placed.item] + copy_number, across))
            else:
                first = side.first[placed.item] + copy_number * layout.run
                found.append(_Slot(pages, first, 1))
        return found

    def _pages_of(self, name: str, side: int) -> tuple[int, ...]:
        key = name, side
        if key not in self._forms:
            art, item = label(key), self._items[name]
            numbers = self._artworks[art].pages or range(self._sources.page_count(art))
            self._forms[key] = self._sources.pages(art, numbers, item.trim, item.bleed_pt)
        return self._forms[key]

    def _records(self, name: str, side: int) -> int:
        artwork = self._artworks[label((name, side))]
        if artwork.pages is not None:
            return len(artwork.pages)
        return self._sources.page_count(label((name, side)))

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


def _numbered(layout: SheetLayout) -> list[int]:
    """Return the number of each copy of its piece, from 0, as the front is read."""
    numbers = [0] * len(layout.placements)
    places = range(len(numbers))
    nth: dict[str, int] = {}
    for place in sorted(places, key=lambda place: _reading_order(layout.placements[place])):
        item = layout.placements[place].item
        numbers[place] = nth[item] = nth.get(item, -1) + 1
    return numbers


def _reading_order(placed: Placement) -> tuple[float, float]:
    return -round(placed.trim.top, 1), placed.trim.left


def label(key: tuple[str, int]) -> str:
    """Name a piece's side, for the artwork that shows it and for findings."""
    return f"{key[0]} ({side_word(key[1])})"
