"""Pages of many files in ink: as few starts of Ghostscript as can be.

To start the program takes longer than most pages. What it draws of a file does not depend on the
files before it; should a group of them fail, each question is drawn alone.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, islice
from typing import TypeVar

from inkaccord.errors import FileError
from inkaccord.pdf.ink_rendering import InkBits, InkFile, InkSource, inks_of_all

K = TypeVar("K", bound=Hashable)
InkPage = tuple[InkFile, ...]
"""The same page of each file that is asked for."""
InkAnswer = list[InkPage] | FileError
"""The pages that were asked for, or why they can't be drawn.

They can be read until the next answer is asked for.
"""
_MOST_PAGES = 80
"""Drawn by one start: they lie in a temporary folder until they are looked at."""

_MOST_HELD, _MOST_BYTES = 40, 64 * 2**20
"""Questions that wait to be answered together, and bytes of all that is held open for them."""


@dataclass(frozen=True)
class InkQuestion:
    """Files of which the same pages are to be seen in ink, see :func:`.ink_rendering.inks_of_all`.

    Attributes
    ----------
    files
        The files.
    pages
        Page numbers, from 1, that each of them has.
    dpi, bits, profiles
        How they are drawn.
    """

    files: tuple[bytes, ...]
    pages: tuple[int, ...]
    dpi: float
    bits: InkBits = 16
    profiles: bool = True

    @property
    def size(self) -> int:
        """How many pages are to be drawn."""
        return len(self.files) * len(self.pages)

    @property
    def sources(self) -> list[InkSource]:
        """What is to be drawn."""
        return [InkSource(data, self.dpi, self.pages) for data in self.files]


def answers_in_turn(
    asked: Iterable[tuple[K, InkQuestion, int]],
) -> Iterator[tuple[K, InkAnswer]]:
    """Yield as :func:`ink_answers` does, for as many questions at once as may be held open.

    Each comes with how many bytes are held open for it.
    """
    waiting: dict[K, InkQuestion] = {}
    held = 0
    for key, question, size in asked:
        waiting[key] = question
        held += size
        if held > _MOST_BYTES or len(waiting) >= _MOST_HELD:
            yield from ink_answers(waiting)
            waiting, held = {}, 0
    yield from ink_answers(waiting)


def ink_answers(
    questions: Mapping[K, InkQuestion],
) -> Iterator[tuple[K, InkAnswer]]:
    """Yield each question's key with its pages, or with why they can't be drawn."""
    groups: dict[tuple[InkBits, bool], list[dict[K, InkQuestion]]] = defaultdict(lambda: [{}])
    for key, question in questions.items():
        alike = groups[question.bits, question.profiles]
        if sum(one.size for one in alike[-1].values()) + question.size > _MOST_PAGES:
            alike.append({})
        alike[-1][key] = question
    for group in filter(None, chain.from_iterable(groups.values())):
        try:
            drawn = _drawn(group)
        except FileError as problem:
            for key, one in group.items():
                yield from [(key, problem)] if len(group) == 1 else ink_answers({key: one})
        else:
            yield from drawn


def _drawn(group: Mapping[K, InkQuestion]) -> Iterator[tuple[K, InkAnswer]]:
    """Return each question's pages; raises FileError at once, where they can't be drawn."""
    any_one = next(iter(group.values()))
    rasters = inks_of_all(
        [source for one in group.values() for source in one.sources],
        bits=any_one.bits,
        profiles=any_one.profiles,
        allowed=2,
    )
    rasters = chain([next(rasters)], rasters)
    return (
        (key, list(zip(*(list(islice(rasters, len(one.pages))) for _ in one.files), strict=True)))
        for key, one in group.items()
    )
