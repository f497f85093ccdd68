"""Compare ink-exact renderings of a file and its recoloured copy.

Ghostscript renders both without smoothing to 16-bit CMYK, where 75.9 % and 76 % are two
colours. The colours that were swapped, and what they should have become, are rendered beside
them by the same program as patches, so that profiles and alternates play no part: every pixel
that changed has to be one of those pairs.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.content.walk import ColourUse, Role, walk
from inkaccord.artwork.objects.entries import entry, objgen
from inkaccord.artwork.objects.opening import open_artwork
from inkaccord.artwork.objects.ramps import numbers_array
from inkaccord.artwork.objects.spaces import (
    DEVICE,
    Colour,
    Space,
    SpaceKind,
    device_paint,
    write_number,
    write_paint,
)
from inkaccord.artwork.recolouring.recolour import RecolourOptions, save
from inkaccord.artwork.swaps import SwapTable

PAGES = 16
"""Pages that are rendered; a suite's piece has one to four."""
LONGEST_PIXELS = 900
FINEST_DPI = 144.0
SECONDS = 120
CLOSE = 4
"""Of 65535: how far Ghostscript's own arithmetic moves one and the same colour."""
PATCH_PIXELS = 8
MOST_KEPT = 2000
PATCHES_PER_ROW = 32

Pixels = NDArray[np.uint16]
"""Shape (height, width, 4): C, M, Y, K from 0 to 65535."""


@dataclass(slots=True)
class _Swapped:
    """The swapped colours of a document, and the pages that can be judged pixel by pixel."""

    pairs: list[tuple[str, bytes, bytes]] = field(default_factory=list)
    """In words, and the operators that set the old and the new colour."""
    old_spaces: list[Any] = field(default_factory=list)
    new_spaces: list[Any] = field(default_factory=list)
    kept: list[bytes] = field(default_factory=list)
    """The operators that set colours which stay: one of them may look like an old one."""
    pictures: set[int] = field(default_factory=set)
    """Pages with photographs or transparency, which can show any colour by chance."""
    blended: set[int] = field(default_factory=set)
    """Pages where a pixel can be a mixture: gradients, transparency, overprint, tables."""


def ink_differences(
    before: bytes, after: bytes, table: SwapTable, options: RecolourOptions
) -> tuple[str, str, list[str]]:
    """Return the verdict (``pass``, ``fail``, ``not run``), what was compared, what is wrong."""
    program = shutil.which("gs")
    if program is None:
        return "not run", "", ["Ghostscript is not installed"]
    with tempfile.TemporaryDirectory(prefix="inkaccord-") as name:
        return _differences(_Renderer(program, Path(name)), before, after, table, options)


def _differences(
    renderer: _Renderer, before: bytes, after: bytes, table: SwapTable, options: RecolourOptions
) -> tuple[str, str, list[str]]:
    with (
        open_artwork(before, limits=options.limits) as old,
        open_artwork(after, limits=options.limits) as new,
    ):
        swapped = _swapped_colours(old, new, table, options)
        pages = min(len(old.pages), PAGES)
        dpi = _resolution(old, pages)
        for pdf in (old, new):
            del pdf.pages[pages:]
        olds = [*(pair[1] for pair in swapped.pairs), *swapped.kept]
        _add_patches(old, olds, swapped.old_spaces, pages, dpi)
        _add_patches(new, [pair[2] for pair in swapped.pairs], swapped.new_spaces, pages, dpi)
        files = save(old), save(new)
    try:
        with ThreadPoolExecutor(2) as both:  # each waits for a program of its own
            jobs = [
                both.submit(renderer.pages, data, pages + 1, dpi, name)
                for data, name in zip(files, ("before", "after"), strict=True)
            ]
            images = [job.result() for job in jobs]
    except RenderError as problem:
        return "not run", "", [f"Ghostscript cannot render the file: {problem}"]
    count = len(swapped.pairs)
    rendered = _patch_colours(images[0][-1], len(olds))
    known = _Known(rendered[:count], _patch_colours(images[1][-1], count), rendered[count:])
    details: list[str] = []
    changed = mixed = 0
    for number, (one_before, one_after) in enumerate(zip(*images, strict=True), start=1):
        if number > pages:
            break
        one = _compare(one_before, one_after, known)
        changed += one.changed
        if number in swapped.blended:
            mixed += one.unexplained
        elif one.unexplained:
            details.append(
                f"page {number}: {one.unexplained} pixels changed from {_percent(one.example[0])} "
                f"to {_percent(one.example[1])}, which no swap explains"
            )
        if one.left and number not in swapped.pictures:
            details.append(
                f"page {number}: {one.left} pixels still show {swapped.pairs[one.left_pair][0]}"
            )
    checked = (
        f"{pages} pages at {dpi:.0f} dpi in 16-bit CMYK: {changed} pixels changed, "
        f"{changed - mixed} by exactly a swap, {mixed} as mixtures that are not judged singly"
    )
    return ("fail" if details else "pass"), checked, details


# -- what was swapped -------------------------------------------------------------------------


def _swapped_colours(
    old: pikepdf.Pdf, new: pikepdf.Pdf, table: SwapTable, options: RecolourOptions
) -> _Swapped:
    result = _Swapped()
    new_spots = {
        use.space.name: use.space
        for use in walk(new, options.limits)
        if use.space is not None and use.space.kind is SpaceKind.SPOT
    }
    seen: set[Colour] = set()
    for use in walk(old, options.limits):
        mapped = table.of(use.colour)
        kept_spot = use.space is not None and use.space.name in table.whole_spots and not mapped
        if use.page is not None and _can_mix(use, changes=mapped is not None or kept_spot):
            result.blended.add(use.page)
        if use.colour in seen:
            continue
        seen.add(use.colour)
        first = _setting(use.colour, use.space, result.old_spaces)
        if not (mapped or kept_spot):
            if first and len(result.kept) < MOST_KEPT:
                result.kept.append(first)
            continue
        if mapped is not None:
            second = write_paint(mapped.paint, fill=True)
        else:
            second = _setting(
                use.colour, new_spots.get(use.space.name if use.space else ""), result.new_spaces
            )
        if first and second:
            result.pairs.append((str(use.colour), first, second))
    for number, page in enumerate(old.pages, start=1):
        transparent, pictures = _mixing(page)
        if transparent:
            result.blended.add(number)
        if transparent or pictures:
            result.pictures.add(number)
    return result


def _can_mix(use: ColourUse, *, changes: bool) -> bool:
    overprints = use.overprint.fill or use.overprint.stroke
    return overprints or (changes and use.role in (Role.GRADIENT, Role.IMAGE))


def _setting(colour: Colour, space: Space | None, spaces: list[Any]) -> bytes:
    """Return the operators that set a colour; empty if it can't be set outside its place."""
    if space is None or space.kind is SpaceKind.UNKNOWN:
        return b""
    if space.kind is SpaceKind.PATTERN:
        space = space.base
    if space is not None and space.kind is SpaceKind.INDEXED:
        space = space.base
    if space is None or len(colour.numbers) != space.components:
        return b""
    if space.kind in DEVICE:
        return write_paint(device_paint(space.kind, colour.numbers), fill=True)
    spaces.append(space.definition)
    numbers = " ".join(write_number(number) for number in colour.numbers)
    return f"/P{len(spaces) - 1} cs {numbers} sc".encode()


def _mixing(page: pikepdf.Page) -> tuple[bool, bool]:
    """Whether a page blends (opacity, blend modes, masks, groups), and whether it has pictures."""
    transparent = entry(entry(page.obj, "/Group"), "/CS") is not None
    pictures = b"ID" in b"".join(_contents(page))
    pending: list[Any] = [page.obj.get("/Resources"), page.obj.get("/Annots")]
    seen: set[tuple[int, int]] = set()
    while pending:
        thing = pending.pop()
        number = objgen(thing)
        if number != (0, 0):
            if number in seen:
                continue
            seen.add(number)
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            transparent = transparent or _blends(thing)
            pictures = pictures or thing.get("/Subtype") == "/Image"
            pending += [v for k, v in thing.items() if k not in ("/Parent", "/P", "/Font", "/OC")]
        elif isinstance(thing, pikepdf.Array):
            pending += list(thing)
    return transparent, pictures


def _contents(page: pikepdf.Page) -> Iterator[bytes]:
    contents = page.obj.get("/Contents")
    for stream in contents if isinstance(contents, pikepdf.Array) else [contents]:
        if isinstance(stream, pikepdf.Stream):
            try:
                yield bytes(stream.read_bytes())
            except pikepdf.PdfError:
                continue


def _blends(thing: Any) -> bool:
    if isinstance(entry(thing, "/SMask"), (pikepdf.Dictionary, pikepdf.Stream)):
        return True
    if any(key in thing for key in ("/TR", "/TR2")) and "/Type" in thing:
        return True
    mode = entry(thing, "/BM")
    if mode is not None and mode not in ("/Normal", "/Compatible"):
        return True
    if entry(entry(thing, "/Group"), "/CS") is not None:
        return True
    shares = [entry(thing, key) for key in ("/ca", "/CA")]
    return any(isinstance(one, (int, float, Decimal)) and one < 1 for one in shares)


# -- patches ----------------------------------------------------------------------------------


def _add_patches(
    pdf: pikepdf.Pdf, settings: Sequence[bytes], spaces: Sequence[Any], after: int, dpi: float
) -> None:
    """Add a page with one square per colour behind the first ``after`` pages."""
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
            ColorSpace=pikepdf.Dictionary({f"/P{i}": one for i, one in enumerate(spaces)})
        ),
        Contents=pdf.make_stream(b"".join(content)),
    )
    pdf.pages.insert(after, pikepdf.Page(pdf.make_indirect(page)))


def _patch_colours(image: Pixels, count: int) -> Pixels:
    colours = []
    for index in range(count):
        row, column = divmod(index, PATCHES_PER_ROW)
        y = image.shape[0] - 1 - (row * PATCH_PIXELS + PATCH_PIXELS // 2)
        colours.append(image[y, column * PATCH_PIXELS + PATCH_PIXELS // 2])
    return np.array(colours, dtype=np.uint16).reshape(-1, 4)


# -- pixels -----------------------------------------------------------------------------------


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


def _near(one: Pixels, many: Pixels) -> NDArray[np.bool_]:
    return np.asarray(
        (np.abs(many.astype(np.int32) - one.astype(np.int32)) <= CLOSE).all(axis=1), dtype=bool
    )


def _compare(old: Pixels, new: Pixels, known: _Known) -> _Compared:
    nothing = np.zeros(4, np.uint16)
    if old.shape != new.shape:
        return _Compared(old.size, old.size, (nothing, nothing), 0, 0)
    # Four 16-bit inks make one 64-bit number, which is far quicker to sort than rows.
    words = np.stack([one.reshape(-1, 4).copy().view(np.uint64)[:, 0] for one in (old, new)])
    order = np.lexsort(words)
    words = words[:, order]
    starts = np.flatnonzero(np.append(True, (words[:, 1:] != words[:, :-1]).any(axis=0)))
    counts = np.diff(np.append(starts, words.shape[1]))
    pairs = np.ascontiguousarray(words[:, starts].T).view(np.uint16)
    changed = unexplained = left = left_pair = 0
    example = (nothing, nothing)
    for pair, count in zip(pairs, counts, strict=True):
        a, b = pair[:4], pair[4:]
        from_old = _near(a, known.old)
        stays = np.abs(a.astype(np.int32) - b.astype(np.int32)).max() <= CLOSE
        if not stays:
            changed += int(count)
            if not (from_old & _near(b, known.new)).any():
                unexplained += int(count)
                example = (a, b)
        elif (
            a.any()  # bare paper is there without anybody's doing
            and from_old.any()
            and not (from_old & _near(b, known.new)).any()
            and not _near(a, known.kept).any()
        ):
            left += int(count)
            left_pair = int(np.flatnonzero(from_old)[0])
    return _Compared(changed, unexplained, example, left, left_pair)


def _percent(pixel: Pixels) -> str:
    return "cmyk " + " ".join(f"{value / 655.35:.2f}".rstrip("0").rstrip(".") for value in pixel)


# -- rendering --------------------------------------------------------------------------------


class RenderError(Exception):
    """Ghostscript did not make a picture."""


@dataclass(frozen=True, slots=True)
class _Renderer:
    program: str
    folder: Path

    def pages(self, data: bytes, count: int, dpi: float, name: str) -> list[Pixels]:
        """Return the first pages as ink amounts. Raises RenderError."""
        source = self.folder / f"{name}.pdf"
        source.write_bytes(data)
        command = [
            self.program, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiff64nc",
            f"-r{dpi:g}", "-dFirstPage=1", f"-dLastPage={count}", "-dTextAlphaBits=1",
            "-dGraphicsAlphaBits=1", f"-sOutputFile={self.folder / name}-%d.tif", str(source),
        ]  # fmt: skip
        try:
            done = subprocess.run(  # noqa: S603 - a fixed program with arguments of our own
                command, capture_output=True, timeout=SECONDS, check=False
            )
        except subprocess.TimeoutExpired:
            raise RenderError(f"it took more than {SECONDS} s") from None
        pictures = [self.folder / f"{name}-{number}.tif" for number in range(1, count + 1)]
        if done.returncode != 0 or not all(picture.exists() for picture in pictures):
            words = (done.stderr or done.stdout).decode("latin-1").strip().split("\n")[0]
            raise RenderError(words[:120] or "no picture")
        return [read_tiff(picture.read_bytes()) for picture in pictures]


def read_tiff(data: bytes) -> Pixels:
    """Return an uncompressed 16-bit CMYK TIFF 6.0 file, which Pillow would cut to 8 bits."""
    order = "<" if data[:2] == b"II" else ">"
    where = int(np.frombuffer(data, f"{order}u4", 1, 4)[0])
    count = int(np.frombuffer(data, f"{order}u2", 1, where)[0])
    tags: dict[int, list[int]] = {}
    for index in range(count):
        at = where + 2 + 12 * index
        tag, kind = (int(v) for v in np.frombuffer(data, f"{order}u2", 2, at))
        length = int(np.frombuffer(data, f"{order}u4", 1, at + 4)[0])
        size = {3: 2, 4: 4}.get(kind)
        if size is None:
            continue
        start = (
            at + 8 if size * length <= 4 else int(np.frombuffer(data, f"{order}u4", 1, at + 8)[0])
        )
        tags[tag] = [int(v) for v in np.frombuffer(data, f"{order}u{size}", length, start)]
    width, height = tags[256][0], tags[257][0]
    strips = b"".join(
        data[start : start + size] for start, size in zip(tags[273], tags[279], strict=True)
    )
    if tags[277][0] != 4 or tags.get(259, [1])[0] != 1:
        raise RenderError("an unexpected picture format")
    values = np.frombuffer(strips, f"{order}u2", width * height * 4)
    return values.astype(np.uint16).reshape(height, width, 4)


def _resolution(pdf: pikepdf.Pdf, pages: int) -> float:
    longest = 1.0
    for number in range(pages):
        box = [float(v) for v in pdf.pages[number].mediabox]
        longest = max(longest, abs(box[2] - box[0]), abs(box[3] - box[1]))
    return max(min(FINEST_DPI, LONGEST_PIXELS / longest * 72), 4.0)
