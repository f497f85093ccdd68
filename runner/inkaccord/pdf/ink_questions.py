"""Pages of many pairs of files in ink: as few starts of Ghostscript as can be.

To start the program takes longer than most pages. What it draws of a file does not depend on the
files before it; should a group of them fail, each pair is drawn alone.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, islice
from typing import TypeVar

from inkaccord.errors import FileError
from inkaccord.pdf.rendering import InkRaster, ink_pairs, inks_of_all

K = TypeVar("K", bound=Hashable)
InkPair = tuple[InkRaster, InkRaster]
"""One page of a file, and the same of another."""
InkAnswer = list[InkPair] | FileError
"""The pages that were asked for, or why they can't be drawn."""
_MOST_PAGES = 40
"""Of each side, drawn by one start: they lie in a temporary folder until they are looked at."""


@dataclass(frozen=True)
class InkQuestion:
    """Two files that are to be seen in ink side by side, see :func:`.rendering.ink_pairs`.

    Attributes
    ----------
    before, after
        The files.
    pages
        How many pages each of them has.
    dpi, profiles
        How they are drawn.
    """

    before: bytes
    after: bytes
    pages: int
    dpi: float
    profiles: bool


def ink_answers(
    questions: Mapping[K, InkQuestion],
) -> Iterator[tuple[K, InkAnswer]]:
    """Yield each question's key with its pages, or with why they can't be drawn."""
    groups: dict[tuple[float, bool], list[dict[K, InkQuestion]]] = defaultdict(lambda: [{}])
    for key, question in questions.items():
        alike = groups[question.dpi, question.profiles]
        if sum(one.pages for one in alike[-1].values()) + question.pages > _MOST_PAGES:
            alike.append({})
        alike[-1][key] = question
    for group in chain.from_iterable(groups.values()):
        if len(group) > 1:
            yield from _together(group)
        else:
            yield from map(_alone, group.items())


def _together(group: Mapping[K, InkQuestion]) -> Iterator[tuple[K, InkAnswer]]:
    any_one = next(iter(group.values()))
    rasters = inks_of_all(
        [file for one in group.values() for file in (one.before, one.after)],
        pages=sum(2 * one.pages for one in group.values()),
        dpi=any_one.dpi,
        profiles=any_one.profiles,
    )
    try:
        rasters = chain([next(rasters)], rasters)
    except FileError:
        yield from map(_alone, group.items())
        return
    for key, one in group.items():
        before, after = (list(islice(rasters, one.pages)) for _ in range(2))
        yield key, list(zip(before, after, strict=True))


def _alone(asked: tuple[K, InkQuestion]) -> tuple[K, InkAnswer]:
    key, one = asked
    numbers = range(1, one.pages + 1)
    try:
        return key, list(
            ink_pairs(one.before, one.after, dpi=one.dpi, pages=numbers, profiles=one.profiles)
        )
    except FileError as problem:
        return key, problem
