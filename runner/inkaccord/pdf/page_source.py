"""The pages of a file in turn: of a file of many, some at a time, each time opened anew.

An open file keeps every object that anybody came to, 5 to 7 kB a page (measured), for as long as it
is open. So a large one is read in parts, and what was read of a part is let go with it. What is to
be kept of a part (:meth:`PageSource.hold`) keeps that part open.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.files import working_folder
from inkaccord.pdf.entries import entry, objgen
from inkaccord.pdf.opening import (
    is_as_it_stands,
    open_artwork,
    refusing_damage,
    refusing_memory,
    version_of,
)
from inkaccord.pdf.qpdf import opened_bare
from inkaccord.pdf.writing import keep_pages

PAGES_AT_ONCE = 1000
_FROM_ABOVE = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
"""What a page may have from the nodes above it (ISO 32000-2, 7.7.3.4)."""
_NOT_DRAWN = frozenset(
    {"/Pages", "/Names", "/Dests", "/Outlines", "/StructTreeRoot", "/PageLabels", "/Threads"}
)
"""Entries of the catalogue that lead through all pages, and by which none is drawn."""


class PageSource:
    """The pages of a file that is open as a whole.

    Attributes
    ----------
    pdf
        What is open now: that in which the page stands that came last.
    """

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self.pdf = pdf

    def __len__(self) -> int:
        """Return how many pages there are."""
        return len(self.pdf.pages)

    def pages(self, *, backwards: bool = False) -> Iterator[tuple[int, pikepdf.Page]]:
        """Yield the pages with their numbers, from 1."""
        numbered = enumerate(self.pdf.pages, start=1)
        yield from reversed(list(numbered)) if backwards else numbered

    def numbers(self) -> set[tuple[int, int]]:
        """Return the pages' object numbers."""
        return {objgen(page.obj) for page in self.pdf.pages}

    def hold(self) -> None:
        """Keep open what the page stands in that came last: something of it is asked for later."""

    @contextmanager
    def anew(self) -> Iterator[pikepdf.Pdf]:
        """Open the file for what is no page's."""
        yield self.pdf

    def get_object(self, number: tuple[int, int]) -> Any:
        """Return an object to look at, which stays in memory."""
        return self.pdf.get_object(number)

    def whole(self) -> pikepdf.Pdf:
        """Return the file, open as a whole until the end."""
        return self.pdf

    def some(self, numbers: Sequence[int]) -> SomePages:
        """Return some pages, which may be changed and written; the others are lost with that."""
        return SomePages(self.pdf, {number: self.pdf.pages[number - 1] for number in numbers})


class SomePages:
    """Some pages of a file, by their numbers, with all that says how they are drawn."""

    def __init__(self, pdf: pikepdf.Pdf, pages: dict[int, pikepdf.Page]) -> None:
        self.pdf = pdf
        self.pages = pages

    def here(self, thing: Any) -> Any:
        """Return an object of the file as one that may stand on these pages."""
        return thing

    def get_object(self, number: tuple[int, int]) -> Any:
        """Return an object of the file, as these pages have it."""
        return self.pdf.get_object(number)

    def leave(self, more: pikepdf.Object) -> None:
        """Leave these pages alone in the file, and one more behind them."""
        kept = {objgen(page.obj) for page in self.pages.values()}
        for page in self.pdf.pages:
            if objgen(page.obj) not in kept:
                del page.obj["/Parent"]  # else a link to it leads to all others
        keep_pages(self.pdf, [*(page.obj for page in self.pages.values()), more])


class _InParts(PageSource):
    """The pages of a file that is opened anew for each thousand of them."""

    def __init__(
        self,
        source: Path | bytes,
        numbers: Sequence[int],
        stack: ExitStack,
    ) -> None:
        super().__init__(stack.enter_context(opened_bare(source)))
        self._source, self._numbers, self._stack = source, numbers, stack
        self._few = self.pdf
        self._held = False

    def __len__(self) -> int:
        return len(self._numbers)

    def pages(self, *, backwards: bool = False) -> Iterator[tuple[int, pikepdf.Page]]:
        way = -1 if backwards else 1
        for start in range(0, len(self), PAGES_AT_ONCE)[::way]:
            with self.anew() as pdf:
                for at in range(start, min(start + PAGES_AT_ONCE, len(self)))[::way]:
                    yield at + 1, pikepdf.Page(pdf.get_object((self._numbers[at], 0)))

    def numbers(self) -> set[tuple[int, int]]:
        return {(number, 0) for number in self._numbers}

    def hold(self) -> None:
        self._held = True

    @contextmanager
    def anew(self) -> Iterator[pikepdf.Pdf]:
        with ExitStack() as stack:
            self.pdf, self._held = stack.enter_context(opened_bare(self._source)), False
            try:
                yield self.pdf
            finally:
                if self._held:
                    self._stack.enter_context(stack.pop_all())
                self.pdf = self._few

    def get_object(self, number: tuple[int, int]) -> Any:
        return self._few.get_object(number)

    def whole(self) -> pikepdf.Pdf:
        return self._stack.enter_context(open_artwork(self._source))

    def some(self, numbers: Sequence[int]) -> SomePages:
        made = self._stack.enter_context(pikepdf.new())
        bare = self._stack.enter_context(opened_bare(self._source))
        return _Copied(made, bare, {at: self._numbers[at - 1] for at in numbers})


class _Copied(SomePages):
    """Copies of some pages in a file of their own: to copy one, qpdf follows no link to others."""

    def __init__(self, pdf: pikepdf.Pdf, source: pikepdf.Pdf, numbers: Mapping[int, int]) -> None:
        super().__init__(pdf, {})
        self._source = source
        tree = source.Root.Pages  # of which qpdf goes through all pages to copy an object
        tree["/Kids"], tree["/Count"] = pikepdf.Array(), 0
        for key, value in source.Root.items():
            if key not in _NOT_DRAWN:
                pdf.Root[key] = self.here(value)
        pdf.Root["/Version"] = pikepdf.Name("/{}.{}".format(*version_of(source)))
        for at, number in numbers.items():
            self.pages[at] = pikepdf.Page(self.get_object((number, 0)))

    def here(self, thing: Any) -> Any:
        if not isinstance(thing, pikepdf.Object):
            return thing
        if objgen(thing) != (0, 0):
            return self.pdf.copy_foreign(thing)
        if isinstance(thing, pikepdf.Array):
            return pikepdf.Array([self.here(one) for one in thing])
        if isinstance(thing, pikepdf.Dictionary):
            return pikepdf.Dictionary({key: self.here(one) for key, one in thing.items()})
        return thing

    def get_object(self, number: tuple[int, int]) -> Any:
        return self.here(self._source.get_object(number))

    def leave(self, more: pikepdf.Object) -> None:
        keep_pages(self.pdf, [*(page.obj for page in self.pages.values()), more])


@contextmanager
def open_pages(source: Path | bytes, *, name: str | None = None) -> Iterator[PageSource]:
    """Open an artwork PDF to read its pages in turn; :func:`open_artwork` says what it raises.

    In parts where it has many pages, and where those of each opening are sure to be the same: in
    a tree that is sound, without anything that hands on to pages what they do not say themselves.
    """
    with open_artwork(source, name=name) as pdf:
        numbers = _in_turn(pdf, source)
        if numbers is None:
            yield PageSource(pdf)
            return
        del pdf
    with refusing_damage(name), refusing_memory(name), ExitStack() as stack:
        yield _InParts(stack.enter_context(_on_disk(source)), numbers, stack)


@contextmanager
def _on_disk(source: Path | bytes) -> Iterator[Path]:
    """Give a file by its path: bytes are read by Python, piece by piece, and a path is not."""
    if isinstance(source, Path):
        yield source
        return
    with working_folder() as folder:
        (folder / "pages.pdf").write_bytes(source)
        yield folder / "pages.pdf"


@dataclass(frozen=True, slots=True)
class PagesToChange:
    """Some pages of a file, which is opened anew for them, and how many it has in all."""

    some: SomePages
    of: int


class ChangeablePages:
    """Opens a file for some of its pages after the other, each time anew, to change and write them.

    Where :func:`open_pages` reads in parts, no more of it is read each time than these pages need.
    """

    def __init__(self, source: Path | bytes, stack: ExitStack) -> None:
        self._source, self._stack = source, stack
        self._numbers: Sequence[int] | None = None

    @contextmanager
    def after(self, before: int, most: int) -> Iterator[PagesToChange]:
        """Open as many pages as there are, up to the most, behind those that come before.

        :func:`~inkaccord.pdf.opening.open_artwork` says what it raises.
        """
        if self._numbers is None:
            with open_artwork(self._source) as pdf:
                self._numbers = _in_turn(pdf, self._source)
                if self._numbers is None:
                    pages = enumerate(pdf.pages[before : before + most], before + 1)
                    yield PagesToChange(SomePages(pdf, dict(pages)), len(pdf.pages))
                    return
                del pdf
            self._source = self._stack.enter_context(_on_disk(self._source))
        numbers = self._numbers[before : before + most]
        with opened_bare(self._source) as bare, pikepdf.new() as made, refusing_damage():
            some = _Copied(made, bare, dict(enumerate(numbers, before + 1)))
            yield PagesToChange(some, len(self._numbers))


def in_pairs(
    old: PageSource, new: PageSource, *, backwards: bool = False
) -> Iterator[tuple[int, pikepdf.Page, pikepdf.Page]]:
    """Yield the pages of two files side by side, with their number; no more than both have."""
    ones, others = (one.pages(backwards=backwards) for one in (old, new))
    for (number, one), (_, other) in zip(ones, others, strict=False):
        yield number, one, other


def _in_turn(pdf: pikepdf.Pdf, source: Path | bytes) -> Sequence[int] | None:
    """Return the object numbers of a file's pages, if it can be read in parts."""
    if len(pdf.pages) <= PAGES_AT_ONCE or not is_as_it_stands(pdf):
        return None
    nodes: list[tuple[int, int]] = []
    pending = [pdf.Root.Pages]
    while pending:
        node = pending.pop()
        nodes.append(objgen(node))
        pending += [kid for kid in node.Kids if entry(kid, "/Kids") is not None]
    numbers = [objgen(page.obj) for page in pdf.pages]
    beyond = int(pdf.trailer.get("/Size", 0))
    if len({*numbers, *nodes, (0, 0)}) != len(numbers) + len(nodes) + 1:
        return None
    if any(of != 0 or number >= beyond for number, of in numbers):
        return None
    with opened_bare(source) as bare:
        if any(key in bare.get_object(node) for node in nodes for key in _FROM_ABOVE):
            return None
    return array("L", (number for number, _ in numbers))
