"""What a file may ask of us: counted before anything is drawn, so that every machine agrees.

A file of few bytes can ask for years of work: forms that call forms, cells laid a billion times,
streams packed twice. Each content stream is looked through once, however often it is drawn, and
what it draws is multiplied by the number of its calls. Counted is roughly, by the operators' words
alone, and rather too much than too little; the limits are far above what artwork for print needs.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from operator import add, attrgetter
from typing import Any

import pikepdf

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.pdf.computing import Computing
from inkaccord.pdf.entries import BAD_OBJECT, entry, objgen, unescaped
from inkaccord.pdf.limits import MIB, FileLimits
from inkaccord.pdf.page_objects import content_streams, inherited, matrix_of, rectangle_of
from inkaccord.pdf.streams import IMAGE_FILTERS, StreamReader, filters_of
from inkaccord.pdf.trees import most_branches

_BETWEEN = rb"[\s\[\]<>()/%]"
_MARK = re.compile(
    rb"(?<=[\s\])>])(?:f\*?|F|[Bb]\*?|[Ss]|sh|Do|T[jJ]|['\"]|EI)(?=" + _BETWEEN + rb"|$)"
)
_POINT = re.compile(rb"(?<=[\s\]])(?:[mlcvyh]|re)(?=[\s/\[(%]|$)")
_NAMED = re.compile(rb"/([^\s\[\]<>()/%]*)\s+(Do|scn|SCN|gs|sh)(?=" + _BETWEEN + rb"|$)")
_SHOWS_TEXT = re.compile(rb"(?<=[\s\])>])(?:T[jJ]|['\"])(?=" + _BETWEEN + rb"|$)")
_STATE = re.compile(rb"(?<![^\s\])>])[qQ](?=[\s\[(<%/]|$)")
_BLANKS = (b" ", b"\n", b"\r", b"\t")
_MOST_RATIO = 1032
"""Deflate makes of one byte at most so many (zlib's technical details, 'Maximum expansion')."""


@dataclass(frozen=True, slots=True)
class Weight:
    """What a content stream has us do, with all that it calls.

    Attributes
    ----------
    calls
        Content streams followed.
    marks
        Things painted.
    points
        Points and rectangles of paths.
    tiles
        Cells of patterns laid.
    numbers
        Numbers and words that are written, which fill the memory while they are read.
    """

    calls: int = 0
    marks: int = 0
    points: int = 0
    tiles: int = 0
    numbers: int = 0

    def __add__(self, other: Weight) -> Weight:
        return Weight(*map(add, _counts(self), _counts(other)))

    def times(self, count: int) -> Weight:
        """Return what so many calls have us do."""
        return Weight(*(one * count for one in _counts(self)))


_counts = attrgetter("calls", "marks", "points", "tiles", "numbers")
_WORDS = {
    "calls": "calls forms, patterns and characters {} times",
    "marks": "paints {} things",
    "points": "has paths of {} points",
    "tiles": "lays the cells of its patterns {} times",
    "numbers": "holds {} numbers",
}
_MENDS = {
    "calls": "expand forms and symbols, and merge what is painted alike",
    "marks": "merge shapes that are painted alike, or turn the illustration into a picture",
    "points": "simplify the paths, or turn the illustration into a picture",
    "tiles": "simplify the pattern: larger steps, or a picture in its place",
    "numbers": "simplify the paths, or turn the illustration into a picture",
}


_MEND_OF_MANY = "split it into files of fewer pages, and order those as pieces of their own"
_MEND_OF_BRANCHES = "flatten its form and its layers, and export the artwork again"
_MEND_OF_STEPS = (
    "give the gradients plain stops, and fewer of them, or turn the illustration into a picture"
)


class Budget:
    """Weighs the pages of one open file."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self._pdf = pdf
        self._streams = StreamReader()
        self._known: dict[tuple[object, ...], Weight] = {}
        self._open: list[object] = []
        self._area = 0.0
        self._number: int | None = None

    def check(self) -> None:
        """Raise FileError when a page, or the file, asks for more than is done."""
        size = self._pdf.trailer.get("/Size", 0)
        if isinstance(size, int) and size > FileLimits.objects:
            raise self._refused("the file", f"holds {size:,} objects", FileLimits.objects)
        branches = most_branches(self._pdf)
        if branches > FileLimits.branches:
            does = f"names its fields, names or conditions of layers {_rough(branches)} times"
            raise self._refused("the file", does, FileLimits.branches, _MEND_OF_BRANCHES)
        total = Weight()
        for number, page in enumerate(self._pdf.pages, start=1):
            self._number = number
            try:
                total += self._checked(self._page(page.obj), "the page", 1)
            except BAD_OBJECT:
                continue  # whoever reads the page says so
        self._number = None
        self._checked(total, "the file", FileLimits.pages_full)
        steps = Computing(self._pdf, self._streams).steps()
        if steps > FileLimits.steps:
            does = f"has gradients and mixtures of inks that take {_rough(steps)} steps to compute"
            raise self._refused("the file", does, FileLimits.steps, _MEND_OF_STEPS)

    def _checked(self, weight: Weight, what: str, times: int) -> Weight:
        for name, words in _WORDS.items():
            count, most = getattr(weight, name), getattr(FileLimits, name) * times
            if count > most:
                mend = _MENDS[name] if times == 1 else _MEND_OF_MANY
                raise self._refused(what, words.format(_rough(count)), most, mend)
        return weight

    def _refused(self, what: str, does: str, most: int, mend: str | None = None) -> FileError:
        return FileError.of(
            "too-much-drawn",
            f"{what} {does}; at most {most:,} are taken",
            place=Place(page=self._number),
            in_program=mend or "export the artwork again, with nothing in it but the artwork",
        )

    # -- weighing ---------------------------------------------------------------------------

    def _page(self, page: Any) -> Weight:
        box = rectangle_of(inherited(page, "/MediaBox")) or (0.0, 0.0, 0.0, 0.0)
        self._area = (box[2] - box[0]) * (box[3] - box[1])
        resources = inherited(page, "/Resources")
        streams = content_streams(page.get("/Contents"))
        weight = self._content(streams, resources)
        for look in _appearances(page):
            weight += self._called(look, resources)
        return weight

    def _called(self, stream: Any, resources: Any) -> Weight:
        """Return what one call of a form, a cell or a character has us do."""
        number = objgen(stream)
        own = stream.get("/Resources")
        under = resources if own is None else own
        key = (number, objgen(under) if own is None else (), self._area)
        if number != (0, 0) and key in self._known:
            return self._known[key]
        if number in self._open:
            return Weight()  # it calls itself, which whoever follows it says
        if len(self._open) >= FileLimits.nesting:
            raise FileError.of(
                "nested-too-deep",
                f"forms lie more than {FileLimits.nesting} deep inside each other",
                place=Place(page=self._number),
                in_program="expand the forms or flatten the artwork, and export it again",
            )
        self._open.append(number)
        try:
            weight = Weight(calls=1) + self._content([stream], under)
        finally:
            self._open.pop()
        self._known[key] = weight
        return weight

    def _content(self, streams: list[Any], resources: Any) -> Weight:
        data = self._joined(streams)
        deepest = _deepest(data)
        if deepest > FileLimits.states:  # a renderer's time grows by the square of it
            raise self._refused(
                "the page", f"nests what it draws {deepest:,} deep", FileLimits.states,
                "ungroup or flatten the artwork, and export it again",
            )  # fmt: skip
        weight = Weight(
            marks=len(_MARK.findall(data)),
            points=len(_POINT.findall(data)),
            numbers=sum(map(data.count, _BLANKS)),
        )
        for (name, word), count in Counter(_NAMED.findall(data)).items():
            try:
                weight += self._named(_text(name), word, count, resources)
            except BAD_OBJECT:
                continue  # whoever follows it says so
        drawn = self._heaviest_character(resources)
        if drawn.calls:
            weight += drawn.times(len(_SHOWS_TEXT.findall(data)))
        return weight

    def _named(self, name: str, word: bytes, count: int, resources: Any) -> Weight:
        if word == b"gs":
            mask = entry(entry(_resource(resources, "/ExtGState", name), "/SMask"), "/G")
            if isinstance(mask, pikepdf.Stream):
                return self._called(mask, resources).times(count)
        elif word == b"Do":
            found = _resource(resources, "/XObject", name)
            if isinstance(found, pikepdf.Stream):
                if found.get("/Subtype") != "/Image":
                    return self._called(found, resources).times(count)
                for picture in (found, found.get("/SMask"), found.get("/Mask")):
                    if isinstance(picture, pikepdf.Stream):
                        self._check_image(picture)
        elif word != b"sh":
            pattern = _resource(resources, "/Pattern", name)
            if isinstance(pattern, pikepdf.Stream):
                cell = self._called(pattern, resources).times(count)
                return cell + Weight(tiles=self._tiles(pattern) * count)
        return Weight()

    def _tiles(self, pattern: Any) -> int:
        """Return how many cells of a pattern cover the page."""
        a, b, c, d, _, _ = matrix_of(pattern.get("/Matrix"))
        step = abs(float(pattern.get("/XStep", 0)) * float(pattern.get("/YStep", 0)))
        cell = step * abs(a * d - b * c)
        return round(min(self._area / cell, 1e18)) if cell > 0 else 0

    def _heaviest_character(self, resources: Any) -> Weight:
        """Return what the heaviest character of fonts that are drawn (Type 3) has us do."""
        heaviest = Weight()
        fonts = entry(resources, "/Font")
        if not isinstance(fonts, pikepdf.Dictionary):
            return heaviest
        for font in fonts.values():
            if not isinstance(font, pikepdf.Dictionary) or font.get("/Subtype") != "/Type3":
                continue
            for glyph in _streams_in(font.get("/CharProcs")):
                own = font.get("/Resources")
                weight = self._called(glyph, resources if own is None else own)
                heaviest = max(heaviest, weight, key=lambda one: (one.marks, one.calls))
        return heaviest

    def _joined(self, streams: list[Any]) -> bytes:
        data = bytearray()
        for stream in streams:
            data += self._streams.read_or_nothing(stream)
            data += b"\n"
            if len(data) > FileLimits.stream_mib * MIB:  # one stream, named a thousand times
                raise self._refused(
                    "the page", "has contents of more bytes", FileLimits.stream_mib * MIB
                )
        return bytes(data)

    def _check_image(self, image: Any) -> None:
        """Refuse a picture that would fill the memory."""
        pixels = int(image.get("/Width", 0)) * int(image.get("/Height", 0))
        if pixels > FileLimits.pixels:
            raise self._refused(
                "a picture", f"has {pixels:,} pixels", FileLimits.pixels,
                "make the picture smaller: 300 to 600 pixels an inch at its final size do",
            )  # fmt: skip
        names = filters_of(image)
        packed = len(image.read_raw_bytes())
        if IMAGE_FILTERS.isdisjoint(names) and (
            len(names) > 1 or packed * _MOST_RATIO > FileLimits.stream_mib * MIB
        ):
            self._streams.read_or_nothing(image)


def _deepest(data: bytes) -> int:
    """Return how many graphics states a content stream keeps open at once, at the most."""
    deepest = here = 0
    for word in _STATE.findall(data):
        here = max(here + (1 if word == b"q" else -1), 0)
        deepest = max(deepest, here)
    return deepest


def _appearances(page: Any) -> Iterator[Any]:
    annotations = page.get("/Annots")
    for one in annotations if isinstance(annotations, pikepdf.Array) else ():
        look = entry(one, "/AP")
        normal = entry(look, "/N")
        if isinstance(normal, pikepdf.Stream):
            yield normal
        else:
            yield from _streams_in(normal)


def _streams_in(dictionary: Any) -> Iterator[Any]:
    if isinstance(dictionary, pikepdf.Dictionary):
        yield from (one for one in dictionary.values() if isinstance(one, pikepdf.Stream))


def _resource(resources: Any, category: str, name: str) -> Any:
    return entry(entry(resources, category), name)


def _text(name: bytes) -> str:
    """Return a name as pikepdf has it."""
    return "/" + unescaped(name).decode("utf-8", "surrogateescape")


def _rough(count: int) -> str:
    return f"{count:,}" if count < 10**12 else "more than 10¹²"
