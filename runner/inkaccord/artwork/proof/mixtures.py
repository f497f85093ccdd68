"""What spots look like among other inks: the others as before, with the new builds added."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import Any, NamedTuple

import pikepdf

from inkaccord.artwork.proof.gradient_space import PLATES, WHITES, GradientSpace
from inkaccord.artwork.proof.shading_values import Numbers, UnreadableShadingError, evaluator
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.entries import BAD_OBJECT, entry, objgen, plain, word

MOST_INKS = 7
CLOSE = 1 / 255
_ROUNDED = 0.6 / 255
"""What a table of 8 bits moves a number by at its samples, and a little."""
_BUILT_ON = ("/Indexed", "/Pattern")
_DEEPEST = 8


class MixturePair(NamedTuple):
    """A space of inks in the copy, what it can have been made of, and where it stands."""

    olds: tuple[Any, ...]
    new: Any
    path: str


def mixtures_in(old: Any, new: Any, path: str) -> Iterator[MixturePair]:
    """Yield the spaces of several inks in both files: one, a table's, or those of resources."""
    if isinstance(old, pikepdf.Dictionary) and isinstance(new, pikepdf.Dictionary):
        for name in sorted(set(old.keys()) & set(new.keys())):
            yield from mixtures_in(old[name], new[name], f"{path} {name[1:]}")
        known = tuple(one for one in map(inks_of, old.values()) if one is not None)
        for name in sorted(set(new.keys()) - set(old.keys())):
            made = inks_of(new[name])
            if made is not None:
                yield MixturePair(known, made, f"{path} {name[1:]}")
    else:
        was, made = inks_of(old), inks_of(new)
        several = [one is not None and word(one[0]) == "/DeviceN" for one in (was, made)]
        if made is not None and (was is None or any(several)):
            yield MixturePair(() if was is None else (was,), made, path)


def inks_of(definition: Any) -> Any:
    """Return the space of inks that a definition is or is built on, None where it is none.

    So is one whose names are given as its family does not have them: devices leave such a one out.
    """
    for _ in range(_DEEPEST):
        if not isinstance(definition, pikepdf.Array) or len(definition) < 2:
            return None
        family, what = word(definition[0]), definition[1]
        if family == "/Separation":
            return definition if isinstance(what, pikepdf.Name) else None
        if family == "/DeviceN":
            return definition if isinstance(what, pikepdf.Array) else None
        definition = what if family in _BUILT_ON else None
    return None  # it is built on itself


def names_of(definition: Any) -> list[str]:
    """Return the names of the inks of a space that is one of inks."""
    named = definition[1]
    return [plain(name) for name in (named if isinstance(named, pikepdf.Array) else [named])]


def mixture_differences(pairs: Sequence[MixturePair], table: SwapTable) -> Iterator[str]:
    """Say where inks together look otherwise than they are to, by none, half and all of each.

    A space of the copy's own has to look like one of the old ones: with the same inks, or with
    process inks more, as what they are, and without the spots that became process colour.
    """
    known: dict[object, str] = {}
    for pair in pairs:
        key = tuple(objgen(space) for space in (pair.new, *pair.olds))
        if key not in known or (0, 0) in key:  # many pages name the same spaces
            known[key] = _wrong(pair, table)
        if known[key]:
            yield f"{pair.path}: {known[key]}"


def _wrong(pair: MixturePair, table: SwapTable) -> str:
    """Return what is wrong with a space of the copy; empty where nothing is."""
    names = names_of(pair.new)
    alike = [old for old in pair.olds if names_of(old) == names]
    if alike and not set(names) & table.whole_spots.keys() and len(pair.olds) == 1:
        return ""  # nothing of it changes; the inventory compares its colours
    try:
        fits = any(_fits(old, pair.new, table) for old in alike or pair.olds)
        if fits or _is_plates(pair.new, names):
            return ""
    except (UnreadableShadingError, *BAD_OBJECT):
        return "what its inks look like together can't be computed"
    return f"its inks ({', '.join(names)}) do not look as asked for"


def _is_plates(new: Any, names: list[str]) -> bool:
    """Whether a space names the device's own plates, and says that they look like themselves."""
    if tuple(names) != PLATES or new[2] != "/DeviceCMYK":
        return False
    look = evaluator(new[3])
    return all(
        max(abs(a - b) for a, b in zip(point, look(*point), strict=True)) <= _ROUNDED
        for point in product((0.0, 0.5, 1.0), repeat=4)
    )


def _fits(old: Any, new: Any, table: SwapTable) -> bool:
    names, before_names = names_of(new), names_of(old)
    gone = table.gone(before_names)
    kept = set(before_names) - gone - {*PLATES, "None"}
    own = set(names) & {*PLATES, "None"}
    if names != before_names and set(names) != kept | own:
        return False
    if len(names) > MOST_INKS:
        return names == before_names
    swaps = {at: table.whole_spots[n] for at, n in enumerate(names) if n in table.whole_spots}
    space = GradientSpace(new[2], by_numbers=False)
    before, after = _before(old, names, swaps, space), evaluator(new[3])
    for point in product(*_levels(new[3], len(names))):
        want = before(*(0.0 if at in swaps else v for at, v in enumerate(point)))
        for at, swap in swaps.items():
            paint = table.swaps[swap].build_at(100 * point[at], table.tints)
            want = _over(want, paint, space)
        have = after(*point)
        if max(abs(a - b) for a, b in zip(want, have, strict=True)) > _ROUNDED:
            return False
    return True


def _before(
    old: Any, names: list[str], swaps: dict[int, int], space: GradientSpace
) -> Callable[..., Numbers]:
    """Return how inks looked of which new builds are left out; the device's own are themselves."""
    before_names = names_of(old)
    more = [plate if plate in set(names) - set(before_names) else "" for plate in PLATES]
    if GradientSpace(old[2], by_numbers=False).key == space.key:
        look = evaluator(old[3])
        if any(more) and space.kind is not PaintKind.CMYK:
            raise UnreadableShadingError("process inks told in another kind of colour")

        def seen(*point: float) -> Numbers:
            inks = dict(zip(names, point, strict=True))
            under = look(*(inks.get(name, 0.0) for name in before_names))
            if not any(more):
                return under
            over = (inks.get(plate, 0.0) for plate in more)
            return tuple(min(a + b, 1.0) for a, b in zip(under, over, strict=True))

        return seen
    others = {name for at, name in enumerate(names) if at not in swaps}
    if space.kind is not PaintKind.CMYK or others - {*PLATES, "None"}:
        raise UnreadableShadingError("a spot's look told in another kind of colour")
    return lambda *point: tuple(
        point[names.index(plate)] if plate in names else 0.0 for plate in PLATES
    )


def _levels(function: Any, count: int) -> list[list[float]]:
    """Return none, about half and all of each ink: where a table has samples, as there it is exact.

    Between them clipped sums run in straight lines, which no table of this size can follow.
    """
    sizes = [int(size) for size in entry(function, "/Size") or [3] * count]
    return [sorted({at / max(size - 1, 1) for at in (0, size // 2, size - 1)}) for size in sizes]


def _over(under: Numbers, paint: Paint, space: GradientSpace) -> Numbers:
    """Return inks under one more build: CMYK adds up, what a light is made of is taken away."""
    numbers = space.numbers(paint)
    if numbers is None or space.kind not in WHITES:
        raise UnreadableShadingError("a build of another kind than its space")
    if space.kind is PaintKind.CMYK:
        return tuple(min(a + b, 1.0) for a, b in zip(under, numbers, strict=True))
    return tuple(a * b for a, b in zip(under, numbers, strict=True))
