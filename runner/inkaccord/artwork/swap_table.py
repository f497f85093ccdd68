"""All swaps of one job as a table: what a colour becomes, or nearly would have."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from inkaccord.artwork.by_look import ByLook, Known, look_of
from inkaccord.artwork.contradictions import contradictions
from inkaccord.artwork.kept_inks import Inks, beside_kept, colour_of, kept_of
from inkaccord.artwork.mixing import (
    FULL,
    SAME_COLOUR,
    TINT_ROUNDING,
    component_distance,
    inks,
    tint_share,
)
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.rewritten import is_rewritten, rewritten
from inkaccord.artwork.swaps import SpotMode, Swap, TintMode
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.errors import OrderError
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Colour, in_srgb, lab_of


@dataclass(frozen=True, slots=True)
class Mapped:
    """What one colour becomes."""

    paint: Paint
    swap: int
    """Which swap, by its place in the list."""
    tint: float = 100.0
    """Which tint of the old colour it was, in percent."""
    inks: Inks = ()
    """Where spots stay on their plates beside the build: all inks of the new mixture."""

    @property
    def colour(self) -> Colour:
        """The new colour as a file sets it."""
        return colour_of(self.inks) if self.inks else Colour(self.paint, None)


@dataclass(frozen=True, slots=True)
class NearMiss:
    """A colour that is almost, but not, one that is swapped."""

    swap: int
    distance: float
    """The largest difference of one number, in percent or 255ths; or ΔE00, by the look."""


class SwapTable:
    """All swaps of one job, asked for one colour at a time; order plays no part.

    Every question is about the original colour, so A → B and B → A exchange the two.
    """

    def __init__(
        self,
        swaps: Sequence[Swap],
        *,
        spots: SpotMode = SpotMode.KEEP,
        tints: TintMode = TintMode.FOLLOW,
        profiled: Profiled = Profiled.AS_PROFILED,
        near: float = 2.5,
        beside: Sequence[Swap] = (),
    ) -> None:
        problems = contradictions(swaps, spots)
        if problems:
            raise OrderError(problems)
        self.swaps = tuple(swaps)
        self._greys = next((i for i, swap in enumerate(swaps) if swap.all_greys), None)
        self.spots = spots
        self.tints = tints
        self.profiled = profiled
        self.near = near
        self._beside = tuple(beside)
        self.whole_spots = {
            swap.old.name: index for index, swap in enumerate(swaps) if swap.whole_spot
        }
        self._by_kind: dict[PaintKind, list[tuple[int, Swap]]] = {}
        for index, swap in enumerate(swaps):
            if not swap.whole_spot and index != self._greys:
                self._by_kind.setdefault(swap.old.kind, []).append((index, swap))
        self._by_look = ByLook(
            [
                Known(index, swap.old, swap.tolerance)
                for pairs in self._by_kind.values()
                for index, swap in pairs
                if swap.old.kind is not PaintKind.SPOT
            ]
        )
        self._outlines = {
            kind: [(inks(swap.old), FULL[kind]) for _, swap in pairs]
            for kind, pairs in self._by_kind.items()
            if kind in FULL
        }
        for _, swap in (pair for pairs in self._by_kind.values() for pair in pairs):
            if swap.old != swap.new:
                for paint in rewritten(swap.old):
                    self._outlines.setdefault(paint.kind, []).append(
                        (inks(paint), FULL[paint.kind])
                    )
        if self._greys is not None:
            black = self.swaps[self._greys].old
            self._outlines.setdefault(black.kind, []).append((inks(black), FULL[black.kind]))
        self._widest = max([near, *(swap.tolerance for swap in swaps)])

    def passes_by(self, kind: PaintKind, numbers: Sequence[float]) -> bool:
        """Whether device numbers (0 to 1) are far from every swap, its tints and near misses.

        Quick, and never wrong when it says yes; no means that :meth:`of` has to be asked.
        """
        outlines = self._outlines.get(kind)
        if outlines is None:
            return kind is not PaintKind.SPOT
        ink = kind is PaintKind.CMYK
        for old, top in outlines:
            amounts = [top * (number if ink else 1 - number) for number in numbers]
            full = max(old)
            rough = amounts[old.index(full)] / full if full else 0.0
            close = tint = True
            for a, b in zip(amounts, old, strict=True):
                if not -self._widest <= a - b <= self._widest:
                    close = False
                if not -2 * TINT_ROUNDING <= a - rough * b <= 2 * TINT_ROUNDING:
                    tint = False
            if close or tint or min(numbers) < 0 or max(numbers) > 1:
                return False
        return True

    def of(self, colour: Colour) -> Mapped | None:
        """Return what a colour becomes, or None when it stays as it is."""
        paint = colour.paint
        if colour.inks:
            return self._of_inks(colour.inks)
        if paint is None:
            if colour.device is None:
                return None
            paint = colour.as_device()
            if paint is None:
                return None
            if self.profiled is not Profiled.PLAIN:
                return self._through(colour.lab, paint)
            mapped = self.of_paint(paint)
            if mapped is None and self.near_miss_of(paint) is None:
                return self._grey(paint)
            return mapped
        return self.of_paint(paint)

    def _through(self, lab: Lab | None, numbers: Paint | None) -> Mapped | None:
        """Return what a colour becomes by what it looks like; greys are so by their numbers."""
        tints = self.tints is not TintMode.OFF
        found = self._by_look.of(lab, numbers, tints=tints) if lab is not None else None
        if found is not None:
            build = self.swaps[found.index].build_at(found.tint, self.tints)
            return Mapped(build, found.index, found.tint)
        return self._grey(numbers) if numbers is not None else None

    def meant(self, colour: Colour) -> Paint | None:
        """Return what a colour is taken for: its numbers, or, with a profile, what that shows."""
        if colour.paint is not None or self.profiled is Profiled.PLAIN:
            return colour.as_device()
        if colour.lab is None:
            return None
        values = tuple(round(min(max(value, -128.0), 127.0), 2) for value in colour.lab)
        return Paint(kind=PaintKind.LAB, values=(min(max(values[0], 0.0), 100.0), *values[1:]))

    def off(self, colour: Colour, swap: int) -> float:
        """Return how far a swapped colour is off the one that the swap names, for ranking."""
        old, paint = self.swaps[swap].old, self.meant(colour)
        if paint is None:
            return 0.0
        if paint.kind is old.kind:
            return component_distance(paint, old)
        one, other = look_of(paint), look_of(old)
        return 0.0 if one is None or other is None else float(delta_e_2000(one, other))

    def loses_inks(self, colorants: Collection[str]) -> bool:
        """Whether some inks are swapped spots that become CMYK, and no plate is meant by them."""
        kinds = {self.swaps[self.whole_spots[name]].new.kind for name in self.gone(colorants)}
        return kinds == {PaintKind.CMYK} and not set(PROCESS_INKS) & self.whole_spots.keys()

    def gone(self, colorants: Collection[str]) -> set[str]:
        """Return the spots that become process colour, save the device's own inks."""
        if self.spots is not SpotMode.PROCESS:
            return set()
        return (set(colorants) & self.whole_spots.keys()) - set(PROCESS_INKS)

    def out_of(self, colorants: Collection[str], colour: Colour) -> Mapped | None:
        """Return the same process inks as plain CMYK, where their space goes with its spots."""
        if colour.paint is None or colour.paint.kind is not PaintKind.CMYK:
            return None
        if not self.loses_inks(colorants):
            return None
        first = min(self.whole_spots[name] for name in self.gone(colorants))
        return Mapped(colour.paint, first, 0.0)

    def _of_inks(self, amounts: Sequence[tuple[str, float]]) -> Mapped | None:
        """Return what a mixture of named inks becomes.

        Its process inks are a colour like any, the builds of spots that become process colour are
        added, and other spots stay beside them. None where nothing of it changes, or can't.
        """
        inks = dict(amounts)
        gone = self.gone(inks)
        process, mapped = self._process_part(inks)
        if set(PROCESS_INKS) & self.whole_spots.keys() or (gone and not self.loses_inks(gone)):
            return None
        new = mapped.paint if mapped is not None else process
        if new.kind is not PaintKind.CMYK or (new == process and not gone):
            return None
        total = list(new.values)
        for name in (ink for ink in inks if ink in gone):  # a set would add up in any order
            build = self.swaps[self.whole_spots[name]].build_at(inks[name], self.tints)
            total = [have + more for have, more in zip(total, build.values, strict=True)]
        values = tuple(round(min(amount, 100.0), 6) for amount in total)
        paint = Paint(kind=PaintKind.CMYK, values=values)
        kept = any(inks[name] > 0 for name in kept_of(inks, gone))
        beside = beside_kept(amounts, paint, gone) if kept else ()
        if mapped is not None and not gone:
            return Mapped(paint, mapped.swap, mapped.tint, inks=beside)
        first = min(self.whole_spots[name] for name in gone)
        return Mapped(paint, first, inks=beside)

    def _process_part(self, inks: Mapping[str, float]) -> tuple[Paint, Mapped | None]:
        """Return the process inks of a mixture as a colour, and what becomes of that."""
        own = tuple(inks.get(ink, 0.0) for ink in PROCESS_INKS)
        process = Paint(kind=PaintKind.CMYK, values=own)
        return process, self.of_paint(process) if any(own) else None

    def why_inks_stay(self, colour: Colour) -> str:
        """Return why the process inks of a mixture can't change as they should; empty if they do.

        A build in another kind of colour than the plates has no place among them.
        """
        process, mapped = self._process_part(dict(colour.inks))
        if mapped is None or mapped.paint.kind is PaintKind.CMYK:
            return ""
        names = " and ".join(name for name, _ in colour.inks)
        return (
            f"{process.spoken} should become {mapped.paint.spoken}, but stands in one object with "
            f"other plates ({names}), beside which a build in {mapped.paint.kind} has no place"
        )

    def of_paint(self, paint: Paint) -> Mapped | None:
        """Return what a paint becomes, or None when it stays as it is."""
        if paint.kind is PaintKind.LAB:
            return self._through(lab_of(paint), None)
        candidates = self._by_kind.get(paint.kind, ())
        best: tuple[float, int, Swap] | None = None
        for index, swap in candidates:
            if swap.old.name != paint.name:
                continue
            off = component_distance(paint, swap.old)
            if off <= swap.tolerance + 1e-6 and (best is None or off < best[0]):
                best = (off, index, swap)
        if best is not None:
            return Mapped(best[2].build_at(100, self.tints), best[1])
        if paint.kind is PaintKind.SPOT:
            whole = self.whole_spots.get(paint.name)
            if whole is None or self.spots is not SpotMode.PROCESS:
                return None
            return Mapped(
                self.swaps[whole].build_at(paint.values[0], self.tints), whole, paint.values[0]
            )
        if self.tints is TintMode.OFF:
            return None
        tint = self._tint_of(paint)
        if tint is None:
            stays = paint.kind is not PaintKind.RGB or self.near_miss_of(paint) is not None
            return None if stays else self._grey(paint, plain=True)
        index, share = tint
        return Mapped(self.swaps[index].build_at(100 * share, self.tints), index, 100 * share)

    def becomes(self, colour: Colour, kind: PaintKind | None) -> Mapped | None:
        """Return what a colour becomes beside others in ``kind``; None where it stays.

        One that only loses its profile has nothing to say there.
        """
        mapped = self.of(colour)
        if mapped is None or mapped.paint.kind is kind:
            return mapped
        swap = self.swaps[mapped.swap]
        return None if swap.old == swap.new else mapped

    def leads(self, used: Sequence[Mapped]) -> bool:
        """Whether what became of some colours takes the gradient or table with it."""
        return any(not self.swaps[one.swap].neutral for one in used)

    def _grey(self, paint: Paint, *, plain: bool = False) -> Mapped | None:
        share = grey_share(paint)
        if self._greys is None or share is None:
            return None
        if plain and self.swaps[self._greys].new.kind is paint.kind:
            return None  # what it is already
        tint = round(100 * share, 6)
        return Mapped(self.swaps[self._greys].build_at(tint, self.tints), self._greys, tint)

    def beside_of(self, paint: Paint, kind: PaintKind) -> Paint | None:
        """Return what a colour that stays becomes beside a swapped one that leaves its kind.

        One with a profile has its place in RGB anyway, where that is taken for sRGB.
        """
        fitting = (
            one.new
            for one in self._beside
            if one.new.kind is kind
            and one.old.kind is paint.kind
            and component_distance(paint, one.old) <= SAME_COLOUR
        )
        shown = in_srgb(lab_of(paint)) if paint.kind is PaintKind.LAB else None
        return next(fitting, shown if kind is PaintKind.RGB else None)

    def _tint_of(self, paint: Paint) -> tuple[int, float] | None:
        best: tuple[float, float, int] | None = None
        for index, swap in self._by_kind.get(paint.kind, ()):
            share = tint_share(paint, swap.old)
            if share is None:
                continue
            off = max(abs(a - share * b) for a, b in zip(inks(paint), inks(swap.old), strict=True))
            rank = (off, -share, index)
            if best is None or rank < best:
                best = rank
        return None if best is None else (best[2], -best[1])

    def rewritten_of(self, paint: Paint) -> int | None:
        """Return the swap of the colour that a program rewrote as a paint that stays, if any."""
        changing = (
            index
            for pairs in self._by_kind.values()
            for index, swap in pairs
            if swap.old != swap.new and is_rewritten(paint, swap.old)
        )
        return next(changing, None) if self.of_paint(paint) is None else None

    def near_miss(self, colour: Colour) -> NearMiss | None:
        """Return the swap that an unmatched colour just misses, by numbers or by its look."""
        if colour.paint is not None and colour.paint.kind is not PaintKind.LAB:
            return self.near_miss_of(colour.paint)
        found = self._by_look.near(colour.lab, self.near) if colour.lab is not None else None
        return NearMiss(*found) if found is not None else None

    def near_miss_of(self, paint: Paint) -> NearMiss | None:
        """Return the swap that an unmatched paint just misses."""
        if paint.kind is PaintKind.SPOT:
            return None
        best: NearMiss | None = None
        for index, swap in self._by_kind.get(paint.kind, ()):
            off = component_distance(paint, swap.old)
            if off <= self.near and (best is None or off < best.distance):
                best = NearMiss(index, off)
        return best
