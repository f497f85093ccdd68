"""Whether two PDF files are the same but for colour.

Both object trees are walked side by side from their roots; what stands in content streams is
compared by :mod:`~inkaccord.artwork.proof.same_content`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import Any

import pikepdf

from inkaccord.artwork.proof.borrowed_names import ADDED, BorrowedNames
from inkaccord.artwork.proof.colour_tables import TablePair, is_table, tables_in
from inkaccord.artwork.proof.entry_colours import COLOUR_ENTRIES, EntryPair
from inkaccord.artwork.proof.ink_pictures import PicturePair, leaves_its_inks
from inkaccord.artwork.proof.kept_spaces import kept_spaces
from inkaccord.artwork.proof.masks import Masks
from inkaccord.artwork.proof.mixtures import MixturePair, mixtures_in
from inkaccord.artwork.proof.same_content import ContentSameness
from inkaccord.artwork.proof.shading_pairs import ShadingPair
from inkaccord.errors import FileError
from inkaccord.pdf.entries import entry, holds_names, objgen
from inkaccord.pdf.page_objects import inherited
from inkaccord.pdf.page_source import PageSource, in_pairs
from inkaccord.pdf.streams import StreamReader

_PACKING = frozenset({"/Length", "/Filter", "/DecodeParms"})
_ADDED_TO = frozenset({"/ColorSpace", "/XObject", "/ExtGState"})
_COLOUR_KEYS = COLOUR_ENTRIES | {"/ColorSpace"}
_SHADING_KEYS = frozenset(
    {"/ColorSpace", "/Function", "/Background", "/Decode", "/BitsPerComponent"}
)
_PAINTED_FROM = frozenset({"Resources", "DR"})
"""What marks take from is held by one of these (ISO 32000-2, 7.8.3 and 12.7.3)."""
WRITER_S_OWN = frozenset({"/Extensions"})
"""Which extension level a file claims: qpdf sets it by the version that it writes."""
_OF_MASK = re.compile(r" SMask G Resources(?: \w+)?$")
_REFERENCE = re.compile(rb"(\d+) (\d+) R")
_REFERENCES = re.compile(rb"\[(?: \d+ \d+ R)* \]")
MOST = 100

Pair = tuple[Any, Any, str, str]
"""An object of each file, the path to it, and what it is."""


class Sameness:
    """Compares two files; ``differences`` says in words what is not the same.

    ``groups`` is the device space that transparency groups of the new file may name in place of
    another; without it they are to name the same. ``changing`` are the spots whose spaces may be
    others, or gone; with None any space may.
    """

    def __init__(
        self,
        old: PageSource,
        new: PageSource,
        *,
        groups: str | None = None,
        changing: Collection[str] | None = (),
    ) -> None:
        self._old, self._new = old, new
        self._groups = groups
        self._changing = changing
        self._old_streams, self._new_streams = StreamReader(), StreamReader()
        self._seen: set[int] = set()
        self._pending: list[Pair] = []
        self._contents: set[int] = set()
        self._data: list[tuple[int, str]] = []
        self._borrowed = BorrowedNames()
        self._around: dict[tuple[int, int], tuple[Any, Any]] = {}
        """By forms that have no resources, those that hold them; while they are open."""
        self.shadings: list[ShadingPair] = []
        self.mixtures: list[MixturePair] = []
        self.tables: list[TablePair] = []
        self.pictures: list[PicturePair] = []
        self.entries: list[EntryPair] = []
        """Of shadings, mixtures, tables, pictures and entries both: others judge their colours."""
        self.differences: list[str] = []
        self.objects = 0
        self.content = ContentSameness()

    def compare(self) -> None:
        """Walk both files."""
        if len(self._old) != len(self._new):
            self._differ("pages", "their number")
            return
        called: dict[int, list[Pair]] = {}
        masks = Masks(self._old_streams), Masks(self._new_streams)
        of_masks: list[str] = []
        for number, old, new in in_pairs(self._old, self._new):
            with self._keeping():
                self._page_content(old.obj, new.obj, f"page {number}")
                if self._pending:
                    called[number], self._pending = self._pending, []
                    self._hold()
                if masks[0].on(old.obj) != masks[1].on(new.obj):
                    of_masks.append(f"page {number}: a soft mask differs")
        with self._old.anew() as one, self._new.anew() as other, self._keeping():
            self._documents(one, other)
            self._pair_all()
        # Page by page, since what waits to be compared of a page is more than the page.
        for number, old, new in in_pairs(self._old, self._new, backwards=True):
            with self._keeping():
                self._take_callers(*(inherited(it.obj, "/Resources") for it in (old, new)))
                self._page_entries(old.obj, new.obj, f"page {number}")
                self._pending += called.pop(number, [])
                self._pair_all()
        self.differences += of_masks
        for path in self._borrowed.others():
            self._differ(path, "the value")
        for both, path in self._data:
            # An odd file can point to a content stream from where none belongs.
            if both not in self._contents:
                self._differ(path, "the data")

    @contextmanager
    def _keeping(self) -> Iterator[None]:
        """Keep open what is open now if anything of it is left for others to judge."""
        before = self._left()
        self._around.clear()
        yield
        if self._left() != before:
            self._hold()

    def _left(self) -> int:
        ours = len(self.shadings) + len(self.mixtures) + len(self.tables)
        return ours + len(self.pictures) + len(self.entries)

    def _hold(self) -> None:
        self._old.hold()
        self._new.hold()

    def _documents(self, old: pikepdf.Pdf, new: pikepdf.Pdf) -> None:
        for key in sorted({*old.Root.keys(), *new.Root.keys()} - WRITER_S_OWN):
            self._push(entry(old.Root, key), entry(new.Root, key), f"document {key[1:]}", key, {})
        self._pending.append((old.trailer.get("/Info"), new.trailer.get("/Info"), "Info", ""))

    def _differ(self, path: str, what: str) -> None:
        self.differences.append(f"{path}: {what} differs")

    def _pair_all(self) -> None:
        while self._pending and len(self.differences) < MOST:
            self._pair(*self._pending.pop())

    def _page_entries(self, old: Any, new: Any, path: str) -> None:
        for key in sorted({*old.keys(), *new.keys()} - {"/Contents"}):
            self._push(entry(old, key), entry(new, key), f"{path} {key[1:]}", key, old)

    def _page_content(self, old: Any, new: Any, path: str) -> None:
        self._seen.add(_both(old, new))
        chunks = [_chunks(page) for page in (old, new)]
        self._contents.update(_both(one, other) for one, other in zip(*chunks, strict=False))
        self._content(
            self._joined(old, self._old_streams), self._joined(new, self._new_streams),
            inherited(old, "/Resources"), inherited(new, "/Resources"), path,
        )  # fmt: skip

    @staticmethod
    def _joined(page: Any, streams: StreamReader) -> bytes:
        return b"\n".join(_read(streams, one) for one in _chunks(page))

    # -- objects ----------------------------------------------------------------------------

    def _push(self, old: Any, new: Any, path: str, key: str, holder: Any) -> None:
        of_mask = key == "/BC" and "/G" in holder
        if key in _COLOUR_KEYS and (key != "/C" or "/Subtype" in holder) and not of_mask:
            if key == "/ColorSpace":
                if " SMask G " not in path:  # a mask keeps its spots
                    self.mixtures += mixtures_in(old, new, path)
                self._tables(old, new, path)
                if self._changing is not None:
                    kept = kept_spaces(old, new, path, self._changing)
                    self._pending += [(*pair, "") for pair in kept]
            else:
                self.entries.append(EntryPair(old, new, path))
            return
        if key == "/CS" and self._groups is not None and old is not None and new == self._groups:
            return  # of a group; those of soft masks are compared by value, see masks
        self._pending.append((old, new, path, key))

    def _tables(self, old: Any, new: Any, path: str) -> None:
        if old == new and (" SMask G " in path or not _PAINTED_FROM & set(path.split())):
            return  # of a mask, a page's thumbnail, or a program's own data: never printed
        if is_table(old) and not (is_table(new) and old[2] == new[2]):
            self._differ(path, "the size of a colour table")
        self.tables += tables_in(old, new, path)

    def _pair(self, old: Any, new: Any, path: str, key: str) -> None:
        if objgen(old) != (0, 0):
            both = _both(old, new)
            if both in self._seen:
                return
            self._seen.add(both)
        self.objects += 1
        if isinstance(old, pikepdf.Stream) and isinstance(new, pikepdf.Stream):
            self._stream(old, new, path, key)
        elif isinstance(old, pikepdf.Dictionary) and isinstance(new, pikepdf.Dictionary):
            self._dictionary(old, new, path, key, ())
        elif isinstance(old, pikepdf.Array) and isinstance(new, pikepdf.Array):
            if len(old) != len(new):
                self._differ(path, "the number of entries")
                return
            met = self._met(old, new) if key == "/Kids" else set()
            for index in range(len(old)):
                if index not in met:
                    self._pending.append((old[index], new[index], f"{path} {index}", key))
        elif old is None and key in _ADDED_TO and isinstance(new, pikepdf.Dictionary):
            self._borrowed.take(key, new, path)
        elif old != new:
            self._differ(path, f"the value ({old!r:.40} and {new!r:.40})")

    def _met(self, old: Any, new: Any) -> set[int]:
        """Return at which places two arrays name objects that were compared, none of them read."""
        written = old.unparse(), new.unparse()
        if not all(map(_REFERENCES.fullmatch, written)):
            return set()
        ones, others = ([(int(a), int(b)) for a, b in _REFERENCE.findall(it)] for it in written)
        pairs = zip(ones, others, strict=True)
        return {at for at, pair in enumerate(pairs) if _number(*pair) in self._seen}

    def _dictionary(
        self, old: Any, new: Any, path: str, key: str, without: tuple[str, ...] | frozenset[str]
    ) -> None:
        names = {*old.keys(), *new.keys()} - set(without)
        if old.get("/Type") == "/Pages" or "/Kids" in new:
            names -= {"/Count"}  # qpdf mends it; the pages themselves are compared
        if key in _ADDED_TO:
            # Added entries are compared where they are used.
            names = {n for n in names if n in old or not n.startswith(ADDED)}
            self._borrowed.offer(key, new, names & set(old.keys()))
        if _OF_MASK.search(path):
            names = {n for n in names if n in old}  # its surroundings' own, now its own: see masks
        if "/ShadingType" in old and " SMask G " not in path:  # a mask keeps its gradients
            names -= _SHADING_KEYS
            self.shadings.append(ShadingPair(old, new, path))
            spaces = entry(old, "/ColorSpace"), entry(new, "/ColorSpace")
            self.mixtures += mixtures_in(*spaces, path)
            self._tables(*spaces, path)
        # A resource may have any name, and a form called /BG is no colour.
        named = holds_names(old, key)
        self._take_callers(old, new)
        for name in sorted(names):
            inner = "" if named else name
            self._push(entry(old, name), entry(new, name), f"{path} {name[1:]}", inner, old)

    def _take_callers(self, old: Any, new: Any) -> None:
        """Take note of which resources forms take that have none of their own."""
        forms = entry(old, "/XObject")
        for _, one in forms.items() if isinstance(forms, pikepdf.Dictionary) else ():
            if entry(one, "/Subtype") == "/Form" and entry(one, "/Resources") is None:
                self._around.setdefault(objgen(one), (old, new))

    def _stream(self, old: Any, new: Any, path: str, key: str) -> None:
        if old.get("/Type") == "/ObjStm":
            return  # the file's own packing, made anew; what is in it is compared where it is used
        if "/ShadingType" in old:
            self._dictionary(old, new, path, key, _PACKING | _SHADING_KEYS)
            return
        without: frozenset[str] = _PACKING
        if path.endswith(" SMask G") and "/Resources" not in old:
            without = _PACKING | {"/Resources"}  # its surroundings' own, now its own: see masks
        if old.get("/Subtype") == "/Image" and leaves_its_inks(old, new):
            self._picture(old, new, path, key)
            return
        self._dictionary(old, new, path, key, without)
        if bytes(old.read_raw_bytes()) == bytes(new.read_raw_bytes()):
            self.content.identical += 1
            return
        content = (
            old.get("/Subtype") == "/Form"
            or old.get("/PatternType") == 1
            or "CharProcs" in path
            or " AP " in path
        )
        one, other = _read(self._old_streams, old), _read(self._new_streams, new)
        if content:
            self._contents.add(_both(old, new))
            own = entry(old, "/Resources"), entry(new, "/Resources")
            self._content(one, other, *self._around.get(objgen(old), own), path)
        elif one != other:
            self._data.append((_both(old, new), path))

    def _picture(self, old: Any, new: Any, path: str, key: str) -> None:
        """Compare all but the samples of a picture that leaves its inks; others judge those."""
        self._dictionary(old, new, path, key, _PACKING | {"/Decode", "/BitsPerComponent"})
        if entry(entry(old, "/SMask"), "/Matte") is not None:
            self._differ(path, "what the matte colour of its mask is mixed into")
        as_packed = bytes(old.read_raw_bytes()) == bytes(new.read_raw_bytes())
        if not as_packed and isinstance(old.get("/Mask"), pikepdf.Array):
            self._differ(path, "which samples its mask leaves out")
        self.pictures.append(PicturePair(old, new, path))

    # -- content ----------------------------------------------------------------------------

    def _content(
        self, old: bytes, new: bytes, old_resources: Any, new_resources: Any, path: str
    ) -> None:
        found = self.content.compare(old, new, (old_resources, new_resources))
        if found.differs:
            self._differ(path, found.differs)
        if found.drawn:  # and compared before the resources that they are drawn from
            self._take_callers(old_resources, new_resources)
        self._pending += [
            (one, other, f"{path} {name[1:]}", "/XObject") for one, other, name in found.drawn
        ]
        image = f"{path} inline image"
        self.pictures += [PicturePair(one, other, image) for one, other in found.leaving]
        for was, now in found.spaces:
            self._tables(was, now, image)


def _both(old: Any, new: Any) -> int:
    """Return what tells a pair of objects from others: one number, since there are many pairs."""
    return _number(objgen(old), objgen(new))


def _number(old: tuple[int, int], new: tuple[int, int]) -> int:
    number = 0
    for part in (*old, *new):
        number = number << 32 | part
    return number


def _chunks(page: Any) -> list[Any]:
    contents = page.get("/Contents")
    parts = contents if isinstance(contents, pikepdf.Array) else [contents]
    return [one for one in parts if isinstance(one, pikepdf.Stream)]


def _read(streams: StreamReader, stream: Any) -> bytes:
    try:
        return streams.read(stream)
    except FileError:
        return bytes(stream.read_raw_bytes())
