"""Swatches for the eye in an order that it sees: ladders through a middle, then what lies between.

The order follows from what the pair is thought to print alone, whatever the swatches were chosen
for: each ladder runs along lightness, chroma or hue, and is a row of its own.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.direction import Direction
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.sampling.eye_set import ladder_ways
from inkaccord.sheets.planning.placing import SwatchGroup

_ALONG = 0.85
"""Share of a swatch's way from the middle that goes along one ladder, if it stands on it."""
_FAR_OUT = 1.6
"""Times as far as half of all swatches stand from the middle."""
_SAID = 0.4
"""Share of a swatch's longest way from which on another of its ways is said."""
_PAST = 0.75
"""Share of a turn at which a main hue may lie and still be what it goes towards."""
_MAIN_HUES = (
    (0.0, Direction.REDDER),
    (90.0, Direction.YELLOWER),
    (180.0, Direction.GREENER),
    (270.0, Direction.BLUER),
)
"""The CIELAB hue angles of +a*, +b*, -a* and -b*, and the way to each."""


class _Rung(NamedTuple):
    """A build and how it is thought to look."""

    build: Build
    lab: Array
    place: Array
    """(3,) from the middle along lightness, chroma and hue, as a share of how far ladders lead."""


def laddered(group: SwatchGroup, look: Predictor) -> tuple[SwatchGroup, ...]:
    """Return a group for the eye as its ladders and then its mixtures, each to be a row.

    Lightness runs from dark to light, chroma from weak to strong, hue towards greater CIELAB
    angles; a grey has no hue, and runs from blue to yellow and from red to green. Of the middle,
    the first ladder has one copy, and the next one its twin. Mixtures that are darker stand apart
    from lighter ones, each beside one from which it differs in one way only. What stands at an end
    of a row says how it differs from the middle.

    Parameters
    ----------
    group
        Builds round a middle: the one that is given twice, or else the one nearest to their mean.
    look
        What the pair is thought to print; only differences count.
    """
    labs = look.predict_lab(np.array([build.values for build in group.builds]))
    at = _middle(group.builds, labs)
    places = (labs - labs[at]) @ np.linalg.inv(ladder_ways(labs[at]))
    far = np.linalg.norm(places, axis=1)
    # What stands far out, for another driver, is no measure of the ladders and none of their rungs.
    near = far <= _FAR_OUT * np.median(far)
    places /= np.maximum(np.abs(places[near]).max(axis=0), 1e-9)
    rungs = [_Rung(*one) for one in zip(group.builds, labs, places, strict=True)]
    rows = _rows([rung for rung, one in zip(rungs, near, strict=True) if one], rungs[at].build)
    for rung, one in zip(rungs, near, strict=True):
        if not one:  # beside what it fits in without making the sheet wider
            min(rows[-2:], key=len).append(rung)
    return tuple(
        group.model_copy(
            update={
                "builds": tuple(rung.build for rung in row),
                "ways": tuple(
                    _ways(rung, labs[at]) if number in (0, len(row) - 1) else ()
                    for number, rung in enumerate(row)
                ),
            }
        )
        for row in rows
        if row
    )


def _middle(builds: Sequence[Build], labs: Array) -> int:
    """Return which build all others lie round."""
    twins = [at for at, build in enumerate(builds) if build in builds[:at]]
    return twins[0] if twins else int(delta_e_2000(labs, labs.mean(axis=0)).argmin())


def _rows(rungs: Sequence[_Rung], middle: Build) -> list[list[_Rung]]:
    """Return the three ladders, then what is darker and what is lighter than the middle."""
    ladders: list[list[_Rung]] = [[], [], []]
    darker, lighter = list[_Rung](), list[_Rung]()
    for rung in rungs:
        far = np.abs(rung.place)
        if rung.build == middle:
            continue
        if far.max() >= _ALONG * np.linalg.norm(far):
            ladders[int(far.argmax())].append(rung)
        else:
            (lighter if rung.place[0] > 0.0 else darker).append(rung)
    # Where there is no ladder at all, the middle stands alone.
    crossed = [ladder for ladder in ladders if ladder] or ladders[:1]
    copies = [rung for rung in rungs if rung.build == middle]
    for number, copy in enumerate(copies):
        crossed[number % len(crossed)].append(copy)
    along = [[(rung.place[axis], rung) for rung in row] for axis, row in enumerate(ladders)]
    round_about = [[(_turn(rung.place), rung) for rung in row] for row in (darker, lighter)]
    return [[rung for _, rung in sorted(row, key=_first)] for row in (*along, *round_about)]


def _first(keyed: tuple[float, _Rung]) -> float:
    return float(keyed[0])


def _turn(place: Array) -> float:
    """Return the angle of a place about the middle, so that neighbours differ in one way only.

    It begins at what is weaker and of a smaller hue angle, and ends at what is stronger and of a
    smaller one.
    """
    return float(270.0 - np.degrees(np.arctan2(place[2], place[1]))) % 360.0


def _ways(rung: _Rung, middle: Array) -> tuple[Direction, ...]:
    """Return how a rung differs from the middle, (3,) CIELAB, the ways that tell most of it."""
    far = np.abs(rung.place)
    words = (
        Direction.LIGHTER if rung.place[0] > 0.0 else Direction.DARKER,
        *_colour_words(rung, middle),
    )
    return tuple(
        word for word, one in zip(words, far, strict=True) if one > 0.0 and one >= _SAID * far.max()
    )


def _colour_words(rung: _Rung, middle: Array) -> tuple[Direction, Direction]:
    """Return the words for where a rung lies along the second ladder and the third."""
    (_, chroma, hue), along = rung.place, ladder_ways(middle)[1, 1:]
    size = float(np.hypot(*middle[1:]))
    if along @ middle[1:] < 0.99 * size * float(np.hypot(*along)) or size == 0.0:  # a grey
        return (
            Direction.YELLOWER if chroma > 0.0 else Direction.BLUER,
            Direction.GREENER if hue > 0.0 else Direction.REDDER,
        )
    turned = _toward(middle, rung.lab)
    if chroma > 0.0:
        return Direction.STRONGER, turned
    # Past grey, where a weak colour's ladder may end, nothing is weaker: it is another hue.
    return Direction.WEAKER if float(np.hypot(*rung.lab[1:])) < size else turned, turned


def _toward(middle: Array, lab: Array) -> Direction:
    """Return the main hue towards which a colour is turned from the middle, both (3,) CIELAB.

    It is the next one on that side that the colour does not go far past, so that it is always
    nearer to it than the middle.
    """
    start, end = (np.degrees(np.arctan2(one[2], one[1])) for one in (middle, lab))
    turn = float((end - start + 180.0) % 360.0 - 180.0)
    ahead = {word: (np.sign(turn) * (hue - start)) % 360.0 for hue, word in _MAIN_HUES}
    return min(
        (word for word in ahead if ahead[word] >= _PAST * abs(turn)), key=lambda word: ahead[word]
    )
