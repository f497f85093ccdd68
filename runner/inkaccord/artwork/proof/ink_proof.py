"""Compare ink-exact renderings of a file and its recoloured copy.

Ghostscript renders both without smoothing to 16-bit CMYK, where 75.9 % and 76 % are two
colours. The colours that were swapped, and what they should have become, are rendered beside
them by the same program as patches, so that profiles and alternates play no part: every pixel
that changed has to be one of those pairs.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.content.walk import ColourUse
from inkaccord.artwork.proof.gradient_pixels import STRAY, stray_share
from inkaccord.artwork.proof.parts import ProofPart
from inkaccord.artwork.proof.proof_file import ProofFile
from inkaccord.artwork.proof.same_pages import same_pages
from inkaccord.artwork.proof.swapped_colours import Swapped, swapped_colours
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.ramps import numbers_array
from inkaccord.pdf.colours.spaces import SpaceKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.groups import group_holders
from inkaccord.pdf.ink_questions import InkPage, InkQuestion
from inkaccord.pdf.ink_rendering import InkFile
from inkaccord.pdf.page_source import SomePages
from inkaccord.pdf.streams import IMAGE_FILTERS, StreamReader, filters_of
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import counted

PAGES = 16
"""Pages that are rendered at most; a suite's piece has one to four."""
LONGEST_PIXELS = 900
FINEST_DPI = 144.0
CLOSE = 4
"""Of 65535: how far Ghostscript's own arithmetic moves one and the same colour."""
_BITS_DRAWN = 8
PATCH_PIXELS = 8
PATCHES_PER_ROW = 32

Pixels = NDArray[np.uint16]
"""Shape (height, width, 4): C, M, Y, K from 0 to 65535."""


def ink_differences(
    before: ProofFile, after: ProofFile, table: SwapTable
) -> Generator[InkQuestion, list[InkPage], ProofPart]:
    """Return whether the pixels that changed are those of swapped colours, and changed rightly.

    Asks to see pages, so that those of many files are drawn at once; a FileError thrown in says
    that they can't be.
    Files that are open as a whole are changed into what is rendered: nothing can be judged by them
    afterwards.
    """
    if ghostscript_path() is None:
        return ProofPart.not_run("Ghostscript is not installed")
    swapped = swapped_colours(before, after, table)
    same = set(same_pages(before.source, after.source, swapped.touched))
    numbers = range(1, len(before.source) + 1)
    pages = [number for number in numbers if number not in same][:PAGES]
    if not pages:
        what = f"{counted(len(same), 'page')}, the same to the byte and without an old colour"
        return ProofPart.judged(what, ())
    old, new = before.source.some(pages), after.source.some(pages)
    dpi = resolution(old.pages.values())
    profiles = not all(
        file.needs_no_profile(some.pages.values()) for file, some in ((before, old), (after, new))
    )
    opaque = set(pages) - (swapped.blended - swapped.gradients)
    for file, some in ((before, old), (after, new)):
        _without_groups(some.pages[number] for number in opaque)
        _in_eight_bits(file, some)
    along = [one for run in swapped.runs for one in run]
    olds = [*(pair[1] for pair in swapped.pairs), *swapped.kept, *(one[0] for one in along)]
    news = [*(pair[2] for pair in swapped.pairs), *(one[1] for one in along)]
    old.leave(_patches(old, olds, swapped.old_spaces, dpi))
    new.leave(_patches(new, news, swapped.new_spaces, dpi))
    files = tuple(save_as_packed(some.pdf, linearize=False) for some in (old, new))
    try:
        drawn = tuple(range(1, len(pages) + 2))
        *pairs, patches = yield InkQuestion(files, drawn, dpi, profiles=profiles)
    except FileError as problem:
        return ProofPart.not_drawn(problem.findings[0])
    count = len(swapped.pairs)
    rendered, new_rendered = (
        _patch_colours(_pixels(one), len(colours))
        for one, colours in zip(patches, (olds, news), strict=True)
    )
    kept = rendered[count : len(olds) - len(along)]
    known = _Known(rendered[:count], new_rendered[:count], kept)
    lines = _lines(swapped.runs, rendered[len(olds) - len(along) :], new_rendered[count:])
    details: list[str] = []
    changed = mixed = along_gradients = 0
    for number, (one_before, one_after) in zip(pages, pairs, strict=True):
        one = _compare(_pixels(one_before), _pixels(one_after), known)
        details += _wrong_on(number, one, swapped, lines)
        changed += one.changed
        if number in swapped.gradients:
            along_gradients += one.unexplained
        elif number in swapped.blended:
            mixed += one.unexplained
    checked = (
        f"{counted(len(pages), 'page')} at {dpi:.0f} dpi in 16-bit CMYK: {changed} pixels changed, "
        f"{changed - mixed - along_gradients} by exactly a swap, "
        f"{along_gradients} along gradients, {mixed} as mixtures that are not judged singly"
        + (f"; {len(same)} more are the same to the byte" if same else "")
    )
    return ProofPart.judged(checked, details)


def _wrong_on(
    number: int, one: _Compared, swapped: Swapped, lines: Sequence[NDArray[np.float64]]
) -> Iterator[str]:
    """Say what is wrong on a page, by its number from 1."""
    if number in swapped.gradients:
        if (stray := one.stray(lines)) > STRAY:
            yield (
                f"page {number}: {stray:.0%} of the pixels of gradients show what is no mixture of "
                "the new colours there"
            )
    elif number not in swapped.blended and one.unexplained:
        yield (
            f"page {number}: {one.unexplained} pixels changed from {_percent(one.example[0])} to "
            f"{_percent(one.example[1])}, which no swap explains"
        )
    if one.left and number not in swapped.pictures:
        yield f"page {number}: {one.left} pixels still show {swapped.pairs[one.left_pair][0]}"


def _without_groups(opaque: Iterable[pikepdf.Page]) -> None:
    """Take the groups from pages on which all is opaque: they would convert what they hold."""
    for page in opaque:
        for holder in group_holders(page):
            del holder["/Group"]


def _in_eight_bits(file: ProofFile, some: SomePages) -> None:
    """Let pictures in one ink have samples of 8 bits, the upper halves of those of 16.

    Ghostscript 10.00 falls over such pictures (tried). What the samples became has a proof of its
    own, with all of their bits.
    """
    streams = StreamReader()
    for number in {use.object for use in file.uses if _is_in_one_ink(use)} - {(0, 0)}:
        image = some.get_object(number)
        fine = entry(image, "/BitsPerComponent") == 2 * _BITS_DRAWN
        masked = isinstance(entry(image, "/Mask"), pikepdf.Array)
        if fine and not masked and IMAGE_FILTERS.isdisjoint(filters_of(image)):
            image.write(streams.read_or_nothing(image)[::2])
            image["/BitsPerComponent"] = _BITS_DRAWN


def _is_in_one_ink(use: ColourUse) -> bool:
    is_spot = use.space is not None and use.space.kind is SpaceKind.SPOT
    return is_spot and use.role in (Role.IMAGE, Role.UNUSED)


# -- patches ----------------------------------------------------------------------------------


def _patches(
    some: SomePages, settings: Sequence[bytes], spaces: Sequence[Any], dpi: float
) -> pikepdf.Object:
    """Return a page with one square per colour."""
    size = PATCH_PIXELS * 72 / dpi
    rows = max((len(settings) + PATCHES_PER_ROW - 1) // PATCHES_PER_ROW, 1)
    content = []
    for index, setting in enumerate(settings):
        row, column = divmod(index, PATCHES_PER_ROW)
        place = f" {column * size:.4f} {row * size:.4f} {size:.4f} {size:.4f} re f\n"
        content.append(setting + place.encode())
    page = pikepdf.Dictionary(
        Type=pikepdf.Name.Page,
        MediaBox=numbers_array((0, 0, PATCHES_PER_ROW * size, rows * size)),
        Resources=pikepdf.Dictionary(
            ColorSpace=pikepdf.Dictionary(
                {f"/P{i}": some.here(one) for i, one in enumerate(spaces)}
            )
        ),
        Contents=some.pdf.make_stream(b"".join(content)),
    )
    return some.pdf.make_indirect(page)


def _patch_colours(image: Pixels, count: int) -> Pixels:
    colours = []
    for index in range(count):
        row, column = divmod(index, PATCHES_PER_ROW)
        y = image.shape[0] - 1 - (row * PATCH_PIXELS + PATCH_PIXELS // 2)
        colours.append(image[y, column * PATCH_PIXELS + PATCH_PIXELS // 2])
    return np.array(colours, dtype=np.uint16).reshape(-1, 4)


# -- pixels -----------------------------------------------------------------------------------


_MOST_SINGLY = 500
"""More known colours than this are looked up in a tree, not one after the other."""


@dataclass(frozen=True, slots=True)
class _Known:
    """Swapped colours as rendered; shape (n, 4) each."""

    old: Pixels
    new: Pixels
    kept: Pixels


@dataclass(frozen=True, slots=True)
class _Compared:
    changed: int
    unexplained: int
    example: tuple[Pixels, Pixels]
    left: int
    """Pixels that did not change though they show a swapped colour."""
    left_pair: int
    strange: tuple[Pixels, Pixels, NDArray[np.int64]]
    """What no swap explains: before, after, and how many pixels each."""

    def stray(self, lines: Sequence[NDArray[np.float64]]) -> float:
        """Return which share of those lies on no gradient either."""
        return stray_share(*self.strange, lines)


def _lines(
    runs: Sequence[Sequence[object]], before: Pixels, after: Pixels
) -> list[NDArray[np.float64]]:
    """Return each run's colours in both files; shape (places, 8)."""
    both = np.hstack([before, after]).astype(np.float64)
    return np.split(both, np.cumsum([len(run) for run in runs])[:-1]) if runs else []


def _among(pixels: Pixels, known: Pixels) -> NDArray[np.bool_]:
    """Return which pixels, shape (n, inks), show one of some known colours, (m, inks)."""
    if len(known) > _MOST_SINGLY:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - slow to load, seldom needed

        tree = cKDTree(np.unique(known, axis=0))
        apart, _ = tree.query(pixels, p=np.inf, distance_upper_bound=CLOSE + 0.5)
        return np.isfinite(apart)
    found = np.zeros(len(pixels), dtype=bool)
    for one in known:
        found |= _close(pixels, one)
    return found


def _close(some: Pixels, others: Pixels) -> NDArray[np.bool_]:
    apart = np.abs(some.astype(np.int32) - others.astype(np.int32))
    return np.asarray((apart <= CLOSE).all(axis=1), dtype=bool)


def _compare(old: Pixels, new: Pixels, known: _Known) -> _Compared:
    nothing = np.zeros(4, np.uint16)
    if old.shape != new.shape:
        empty = np.zeros((0, 4), np.uint16), np.zeros((0, 4), np.uint16), np.zeros(0, np.int64)
        return _Compared(old.size, old.size, (nothing, nothing), 0, 0, empty)
    # Four 16-bit inks make one 64-bit number; pixels that are alike mostly lie side by side.
    words = np.stack([one.reshape(-1, 4).copy().view(np.uint64)[:, 0] for one in (old, new)])
    starts = _starts(words)
    words, counts = words[:, starts], np.diff(starts, append=words.shape[1])
    order = np.lexsort(words)
    words, counts = words[:, order], counts[order]
    starts = _starts(words)
    counts = np.add.reduceat(counts, starts)
    words = words[:, starts]
    pairs = np.ascontiguousarray(words.T).view(np.uint16)
    before, after = pairs[:, :4], pairs[:, 4:]
    from_old = _among(before, known.old)
    swapped = _among(pairs, np.hstack([known.old, known.new]))
    stays = _close(before, after)
    strange = np.flatnonzero(~stays & ~swapped)
    # Bare paper is there without anybody's doing.
    left = np.flatnonzero(
        stays & before.any(axis=1) & from_old & ~swapped & ~_among(before, known.kept)
    )
    return _Compared(
        changed=int(counts[~stays].sum()),
        unexplained=int(counts[strange].sum()),
        example=(before[strange[-1]], after[strange[-1]]) if len(strange) else (nothing, nothing),
        left=int(counts[left].sum()),
        left_pair=int(_close(known.old, before[left[-1]]).argmax()) if len(left) else 0,
        strange=(before[strange], after[strange], counts[strange]),
    )


def _starts(words: NDArray[np.uint64]) -> NDArray[np.intp]:
    """Return where each run of equal columns starts."""
    return np.flatnonzero(np.append(True, (words[:, 1:] != words[:, :-1]).any(axis=0)))


def _percent(pixel: Pixels) -> str:
    return "cmyk " + " ".join(f"{value / 655.35:.2f}".rstrip("0").rstrip(".") for value in pixel)


def _pixels(drawn: InkFile) -> Pixels:
    return np.asarray(drawn.read().samples, dtype=np.uint16)


def resolution(pages: Iterable[pikepdf.Page]) -> float:
    """Return the resolution, dots an inch, at which some pages of a file are compared."""
    media = [page_boxes(page).media for page in pages]
    longest = max((max(box.width, box.height) for box in media), default=1.0)
    return max(min(FINEST_DPI, LONGEST_PIXELS / longest * 72), 4.0)
