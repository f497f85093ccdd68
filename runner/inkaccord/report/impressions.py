"""How a piece looks once printed: its artwork in the colours that its pair gives, on its stock.

Every colour of the artwork is replaced by the screen colour of what the pair's model predicts for
it, and the page is drawn on the colour of the stock. So what is shown is the print, as far as a
screen can, and no program's idea of CMYK. Photographs keep their own colours.
"""

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Protocol

import numpy as np

from inkaccord.artwork.mixing import scaled
from inkaccord.artwork.plate_copies import multiplied, without_plates
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.swaps import SpotMode, Swap, TintTable
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import FileError, InkaccordError
from inkaccord.pdf.rendering import trimmed_pictures
from inkaccord.recall.recall import Recall, ask, computed
from inkaccord.report.hatching import ShownFinish, hatched, legend
from inkaccord.report.screen import screen_colours
from inkaccord.run.collected import FoundAs, PieceArtwork
from inkaccord.run.gallery import Picture

if TYPE_CHECKING:
    from PIL import Image

STEPS = tuple(range(0, 101, 10))
"""Tints, in percent, at which a colour's way to bare paper is sampled."""
Rgb = tuple[int, int, int]
Plate = tuple[bytes, bool, bool]
"""A copy with one finish alone, whether its lines are dashed, and whether it lies under the ink."""
_WHITE_PAPER = (255, 255, 255)
_COVERED = 128
_OTHERWISE = {FoundAs.BRAND, FoundAs.FINISH}
"""What is found as these is not shown as a colour that is left as it is."""
_WHITES = (
    Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 0)),
    Paint(kind=PaintKind.RGB, values=(255, 255, 255)),
    Paint(kind=PaintKind.GRAY, values=(0,)),
)


@dataclass(frozen=True)
class Impression:
    """An artwork, what its colours become on a screen, and the screen colour of its stock."""

    data: bytes
    table: tuple[Swap, ...]
    paper: Rgb
    finishes: tuple[ShownFinish, ...] = ()
    """What is hatched in the picture."""
    bare: Rgb | None = None
    """The stock beside the white that lies under its ink, where that has another colour."""
    recall: Recall = computed

    @property
    def legend(self) -> str:
        """What is hatched in the picture."""
        return legend(self.finishes)

    @property
    def copies(self) -> tuple[partial[bytes], ...]:
        """How the copies are made that are drawn: in screen colours, and each finish alone."""
        plates = tuple(plate for finish in self.finishes for plate in finish.plates)
        return (
            partial(_screen_copy, self.data, self.table, plates),
            *(partial(_plate_alone, self.data, self.table, it.plates) for it in self.finishes),
        )

    def drawing(self, longest_px: int) -> partial[tuple[Picture, ...]]:
        """Return how the pictures of :meth:`pages` are drawn. Raises as that does."""
        shown, *alone = self._made
        plates = tuple(
            (plate, not finish.prints, finish.under_ink)
            for plate, finish in zip(alone, self.finishes, strict=True)
        )
        return partial(_pictures, shown, (self.paper, self.bare), longest_px, plates)

    @cached_property
    def _made(self) -> tuple[bytes, ...]:
        return tuple(ask(self.recall, copy) for copy in self.copies)

    def pages(self, longest_px: int) -> tuple[Picture, ...]:
        """Return a picture of every page, its longest side as long as said.

        Raises InkaccordError for an artwork that can't be recoloured, or a page that can't be
        drawn.
        """
        return ask(self.recall, self.drawing(longest_px))


class Prints(Protocol):
    """Tells what is printed; a :class:`Predictor` does."""

    @property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the unprinted stock."""
        ...

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB of (n, k) builds."""
        ...


class PrintsKept:
    """What a pair prints, each group of builds predicted once: many pieces ask for the same."""

    def __init__(self, model: Predictor) -> None:
        self._model = model
        self._labs: dict[bytes, Array] = {}

    @cached_property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the unprinted stock."""
        return self._model.paper_lab

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB of (n, k) builds."""
        key = builds.tobytes()
        if key not in self._labs:
            self._labs[key] = self._model.predict_lab(builds)
        return self._labs[key]


@dataclass(frozen=True)
class BrandInk:
    """A brand colour as one of an artwork's paints, and what is sent to the device for it.

    ``tints`` run from bare paper to the solid, at :data:`STEPS`. ``solid_lab`` is the solid's
    CIELAB where more is known of it than the model predicts: it was picked by eye.
    """

    paint: Paint
    tints: tuple[Build, ...]
    solid_lab: Lab | None = None


def build_sent(paint: Paint, drive: Drive, spots: Mapping[str, Paint]) -> Build | None:
    """Return the build that a device gets when a colour of an artwork is left as it is.

    A colour that isn't written in the device's own numbers is converted the plain way (black on
    top of the complement): drivers and rippers follow rules of their own, so that is a guess.
    None for CIELAB and for a spot whose process colour isn't known.
    """
    if paint.kind is PaintKind.SPOT:
        solid = spots.get(paint.name or "")
        return None if solid is None else build_sent(_share(solid, paint.values[0]), drive, spots)
    if paint.kind is PaintKind.LAB:
        return None
    if drive is Drive.CMYK:
        if paint.kind is PaintKind.CMYK:
            return Build(drive=drive, values=paint.values)
        if paint.kind is PaintKind.GRAY:
            return Build.cmyk(0, 0, 0, paint.values[0])
        inks = [100 - value / 2.55 for value in paint.values]
        black = min(inks)
        left = max(100 - black, 1e-9)
        colours = [100 * (ink - black) / left for ink in inks]
        return Build(drive=drive, values=(*colours, black))
    if paint.kind is PaintKind.RGB:
        return Build(drive=drive, values=paint.values)
    inks = [*paint.values] if paint.kind is PaintKind.CMYK else [0.0, 0.0, 0.0, paint.values[0]]
    light = [255 * (1 - ink / 100) * (1 - inks[3] / 100) for ink in inks[:3]]
    return Build(drive=drive, values=tuple(light))


def untouched(paint: Paint, drive: Drive, spots: Mapping[str, Paint]) -> BrandInk | None:
    """Return a brand colour's paint and its tints as they are sent when nothing is translated."""
    builds = [build_sent(_share(paint, step), drive, spots) for step in STEPS]
    known = [build for build in builds if build is not None]
    return BrandInk(paint, tuple(known)) if len(known) == len(STEPS) else None


def translated(
    paint: Paint,
    solid: Build,
    tints: Sequence[tuple[float, Build]],
    solid_lab: Lab | None = None,
) -> BrandInk:
    """Return a brand colour's paint with the builds of its translation."""
    if tints:
        table = TintTable(steps=(*tints, (100.0, solid)))
        return BrandInk(paint, tuple(table.at(step) for step in STEPS), solid_lab)
    new = Paint.of_build(solid)
    builds = [scaled(new, step / 100) for step in STEPS]
    steps = tuple(Build(drive=solid.drive, values=it.values) for it in builds)
    return BrandInk(paint, steps, solid_lab)


def _share(paint: Paint, percent: float) -> Paint:
    if paint.kind is PaintKind.SPOT:
        return Paint.spot(paint.name or "", paint.values[0] * percent / 100)
    if percent == 100 or paint.kind is PaintKind.LAB:  # of CIELAB no share is sent either
        return paint
    return scaled(paint, percent / 100)


def impression(
    data: bytes,
    artwork: PieceArtwork,
    *,
    drive: Drive,
    model: Prints,
    inks: Iterable[BrandInk],
    spots: Mapping[str, Paint],
    finishes: Sequence[ShownFinish] = (),
    bare: Lab | None = None,
    recall: Recall = computed,
) -> Impression:
    """Return an artwork in the colours that a pair prints.

    Parameters
    ----------
    data
        The original artwork.
    artwork
        What it contains.
    drive, model
        How the pair is driven and what it prints.
    inks
        The brand colours, as they are sent.
    spots
        The artwork's spots with their process colours.
    finishes
        What is on it beside colour: hatched, not shown as if it were printed in a colour.
    bare
        CIELAB of the stock beside a white that lies under its ink.
    recall
        How the copy and its pictures are made: computed, or recalled.
    """
    table = _screen_table(artwork, drive, model, tuple(inks), spots)
    paper = screen_colours([model.paper_lab])[0].rgb
    beside = None if bare is None else screen_colours([bare])[0].rgb
    return Impression(data, table, paper, tuple(finishes), beside, recall)


_SCREEN = RecolourOptions(spots=SpotMode.PROCESS, near=0.0)
_WHITE, _BLACK = Build.rgb(255, 255, 255), Build.rgb(0, 0, 0)


def _screen_copy(data: bytes, table: tuple[Swap, ...], plates: tuple[str, ...]) -> bytes:
    return recolour(without_plates(data, plates), table, options=_SCREEN).data


def _plate_alone(data: bytes, table: tuple[Swap, ...], plates: tuple[str, ...]) -> bytes:
    """Return an artwork with some plates in black, and all other colours white on them."""
    white, black = (Paint.of_build(it) for it in (_WHITE, _BLACK))
    own = [Paint.spot(plate) for plate in plates]
    swaps = [
        swap.model_copy(update={"new": white, "tints": None})
        for swap in table
        if swap.old not in own
    ]
    swaps += [Swap(old=paint, new=black) for paint in own]
    return multiplied(recolour(data, swaps, options=_SCREEN).data)


def _screen_table(
    artwork: PieceArtwork,
    drive: Drive,
    model: Prints,
    inks: tuple[BrandInk, ...],
    spots: Mapping[str, Paint],
) -> tuple[Swap, ...]:
    """Return what replaces every colour of an artwork on the screen."""
    named = {ink.paint for ink in inks}
    others: dict[Paint, Build] = {}
    for found in artwork.colours:
        paint = found.paint
        if paint is None or paint in named or found.found_as in _OTHERWISE:
            continue
        build = build_sent(paint, drive, spots)
        if build is not None:
            others[paint] = build
    rows = [build.values for ink in inks for build in ink.tints]
    rows += [build.values for build in others.values()]
    labs = np.array(model.predict_lab(np.array(rows))) if rows else np.empty((0, 3))
    for at, ink in enumerate(inks):
        if ink.solid_lab is not None:
            # The tints follow their solid in proportion; bare paper stays.
            way = labs[at * len(STEPS) : (at + 1) * len(STEPS)]
            way += np.outer(np.array(STEPS) / 100, np.array(ink.solid_lab) - way[-1])
    screens = [Build.rgb(*colour.rgb) for colour in screen_colours(labs)]
    paper = Build.rgb(*screen_colours([model.paper_lab])[0].rgb)
    swaps = []
    for at, ink in enumerate(inks):
        own = screens[at * len(STEPS) : (at + 1) * len(STEPS)]
        tints = TintTable(
            steps=tuple(
                (float(step), paper if step == 0 else build)
                for step, build in zip(STEPS, own, strict=True)
            )
        )
        swaps.append(Swap(old=ink.paint, new=Paint.of_build(own[-1]), tints=tints))
    rest = zip(others, screens[len(inks) * len(STEPS) :], strict=True)
    swaps += [Swap(old=paint, new=Paint.of_build(new), tolerance=0.05) for paint, new in rest]
    covered = {swap.old for swap in swaps}
    swaps += [
        Swap(old=white, new=Paint.of_build(paper), tolerance=0.05)
        for white in _WHITES
        if white not in covered
    ]
    return tuple(swaps)


def _image(pixels: Array) -> "Image.Image":
    from PIL import Image  # noqa: PLC0415 - slow to load

    return Image.fromarray(pixels)


def _pictures(
    data: bytes, papers: tuple[Rgb, Rgb | None], longest_px: int, plates: tuple[Plate, ...]
) -> tuple[Picture, ...]:
    return tuple(_pages(data, papers, longest_px, plates))


def _pages(
    data: bytes, papers: tuple[Rgb, Rgb | None], longest_px: int, plates: tuple[Plate, ...]
) -> Iterable[Picture]:
    """Draw every page, cut to its TrimBox, on a colour of paper, its finishes hatched.

    Where white lies under the ink the paper is white, and elsewhere the bare stock.
    """
    paper, bare = papers
    try:
        drawn = [
            trimmed_pictures(plate, longest_px=longest_px, paper=_WHITE_PAPER)
            for plate, _, _ in plates
        ]
        pages = [*trimmed_pictures(data, longest_px=longest_px, paper=paper)]
        beside = pages
        if bare is not None:
            beside = [*trimmed_pictures(data, longest_px=longest_px, paper=bare)]
        for picture, elsewhere, *on_plates in zip(pages, beside, *drawn, strict=True):
            pixels = np.asarray(picture)
            masks = [np.asarray(one.convert("L")) for one in on_plates]
            for mask, (_, _, under_ink) in zip(masks, plates, strict=True):
                if under_ink and bare is not None:
                    white = (mask < _COVERED)[:, :, np.newaxis]
                    pixels = np.where(white, pixels, np.asarray(elsewhere))
            for number, (mask, (_, dashed, _)) in enumerate(zip(masks, plates, strict=True)):
                pixels = hatched(pixels, mask, number, dashed=dashed)
            shown = _image(pixels) if on_plates else picture
            with io.BytesIO() as packed:
                shown.save(packed, "PNG", compress_level=7)
                yield Picture(packed.getvalue(), picture.width, picture.height)
    except FileError as problem:
        raise InkaccordError.of("no-picture", f"the page cannot be drawn: {problem}") from problem
