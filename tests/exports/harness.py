"""Recolours an export and judges the copy by other programs' eyes.

Two judgements, both by what Ghostscript separates and what pdfium draws:

- **By the twin.** The same program exported the same design in the new colours. Recolouring must
  look like that, wherever the new colours are of the kind that the export is in.
- **By places.** Where the new colours are of another kind (RGB artwork for a CMYK press), each
  pixel that shows one of the design's flat colours in the original must show what that colour
  becomes, as Ghostscript shows a patch of it, and every other flat pixel must stay.
"""

import io
import json
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from artwork_kit import document
from exports.designs import (
    BLEED_MM,
    BRANDS,
    DESIGNS,
    SKY,
    SWAPPED,
    WHITE,
    Blend,
    Box,
    Colour,
    Design,
    Disc,
    Flat,
    Photo,
    flats,
)
from inkaccord.artwork.recolouring.recolour import (
    RecolourOptions,
    SpotMode,
    Swap,
    parse_swap,
    recolour,
)
from run_kit import inkaccord

HERE = Path(__file__).parent
FILES, TWINS = HERE / "files", HERE / "twins"
INDEX: dict[str, dict[str, object]] = json.loads((HERE / "index.json").read_text("utf-8"))
DPI = 36
Sample = tuple[int, ...]
Plates = dict[str, NDArray[np.uint8]]
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


@dataclass(frozen=True)
class Outcome:
    """What became of one export: a copy, or the codes of what refused it."""

    copy: bytes | None
    refused_by: tuple[str, ...] = ()


def design_of(name: str) -> Design:
    return DESIGNS[str(INDEX[name]["design"])]


def written(colour: Colour, kind: str, share: float = 1) -> str:
    """Return a colour as an order writes it, in one kind."""
    flat = Flat(colour, share)
    if kind == "spot":
        return f"spot {colour.spot}" + ("" if share == 1 else f" {share:.0%}")
    numbers = flat.rgb if kind == "rgb" else flat.cmyk
    return f"{kind} {' '.join(f'{part:g}' for part in numbers)}"


def swaps(design: Design, kind: str | None = None) -> list[Swap]:
    """Return swaps of every brand colour of a design, from all its kinds.

    They become the same kind, or ``kind``; then the colour that is no brand colour, and stands
    in gradients with one, becomes its own numbers of that kind.
    """
    used = {flat.colour for flat in flats(design)}
    made = []
    for colour in BRANDS:
        if colour in used:
            for old in ("cmyk", "rgb", *(["spot"] if colour.spot else [])):
                new = kind or ("cmyk" if old == "spot" else old)
                made.append(f"{written(colour, old)} = {written(SWAPPED[colour], new)}")
    if kind and SKY in used:
        old = "rgb" if kind == "cmyk" else "cmyk"
        made.append(f"{written(SKY, old)} = {written(SKY, kind)}")
    return [parse_swap(text) for text in made]


def recoloured(name: str, asked: list[Swap], *options: str) -> Outcome:
    """Recolour by the command, asking only for colours that the file holds."""
    spots = SpotMode.KEEP if "--keep-spots" in options else SpotMode.PROCESS
    before = (FILES / f"{name}.pdf").read_bytes()
    tried = recolour(before, asked, options=RecolourOptions(spots=spots))
    held = [str(one.swap) for one in tried.counts if one.solids or one.tints]
    if not held:
        return Outcome(None, ("colour-absent",))
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "copy.pdf"
        wanted = [word for swap in held for word in ("--swap", swap)]
        _, out, err = inkaccord(
            "recolour", FILES / f"{name}.pdf", made, *wanted, *options, "--json"
        )
        if made.exists():
            return Outcome(made.read_bytes())
    said = json.loads(out or err)
    errors = [one["code"] for one in said.get("findings", ()) if one["severity"] == "error"]
    return Outcome(None, tuple(dict.fromkeys(errors or ["proof"])))


def kinds_of(flat: Flat) -> tuple[str, ...]:
    """Return the kinds in which programs write a colour."""
    return ("cmyk", "rgb", "spot") if flat.colour.spot else ("cmyk", "rgb")


@cache
def by_places(name: str, kind: str) -> tuple[Outcome, str]:
    """Recolour all brand colours into one kind; return the outcome and what is wrong, or ''."""
    outcome = recoloured(name, swaps(design_of(name), kind))
    if outcome.copy is None:
        return outcome, ""

    def becomes(flat: Flat) -> Numbers | None:
        if flat.colour not in BRANDS:
            return None
        new = Flat(SWAPPED[flat.colour], flat.tint)
        return new.rgb if kind == "rgb" else new.cmyk

    return outcome, misprinted(name, outcome.copy, kind, becomes)


Numbers = tuple[float, ...]
Paint = tuple[str, Numbers]
"""A kind and its numbers."""
Becomes = Callable[[Flat], Numbers | None]
"""What a colour or a tint of one is to become, in percent or 255ths; None for one that stays."""
Look = Callable[[bytes], NDArray[np.uint8]]


def misprinted(name: str, copy: bytes, kind: str, becomes: Becomes) -> str:
    """Say what a copy shows otherwise than its original with the colours changed, or ''."""
    before, design = (FILES / f"{name}.pdf").read_bytes(), design_of(name)
    for look in (_stacked_plates if kind == "cmyk" else _driven, picture):
        after = look(copy)
        wanted = _expected(design, kind, becomes, look)
        said = _misplaced(look(before), after, design, wanted)
        said = said or _misblended(after, name, kind, becomes, look)
        if said:
            return said
    return ""


def _stacked_plates(data: bytes) -> NDArray[np.uint8]:
    found = plates(data)
    blank = np.zeros_like(found["Black"])
    return np.stack([found.get(ink, blank) for ink in (*PROCESS, "Slate")], axis=2)


def _expected(
    design: Design, kind: str, becomes: Becomes, look: Look
) -> list[tuple[str, Sample, tuple[Sample, ...]]]:
    """Return of each flat colour its name, how it looks, and how it may look in the copy."""
    painted: list[tuple[str, Paint, tuple[Paint, ...]]] = []
    for flat in flats(design):
        for old in kinds_of(flat):
            if old == "spot" and look is not _stacked_plates:
                continue  # what a viewer shows of a spot is its alternate, which programs choose
            seen = (old, _numbers(flat, old))
            numbers = becomes(flat)
            if numbers is not None:
                new: tuple[Paint, ...] = ((kind, numbers),)
            else:  # stays, or becomes ink of its own kind: black ink, paper
                new = (seen, (kind, _numbers(flat, kind)))
            painted.append((f"{flat.colour.name} {flat.tint:.0%}", seen, new))
    every = dict.fromkeys(paint for _, seen, new in painted for paint in (seen, *new))
    looks = _patches(tuple(every), look)
    found = [(name, looks[seen], tuple(looks[one] for one in new)) for name, seen, new in painted]
    return [
        # What looks like another colour may become what that becomes: nobody can tell by looking.
        (name, seen, (*new, *(one for _, other, more in found if _alike(seen, other)
                              for one in more)))
        for name, seen, new in found
    ]  # fmt: skip


def _alike(one: Sample, other: Sample) -> bool:
    return all(abs(a - b) <= 2 for a, b in zip(one, other, strict=True))


def _numbers(flat: Flat, kind: str) -> Numbers:
    if kind == "spot":
        return (flat.tint,)
    return flat.rgb if kind == "rgb" else flat.cmyk


def _operator(numbers: Numbers, kind: str) -> str:
    full, operator = (255, "rg") if kind == "rgb" else (100, "k")
    return " ".join(f"{part / full:.5f}" for part in numbers) + f" {operator}"


@cache
def _patches(paints: tuple[Paint, ...], look: Look) -> dict[Paint, Sample]:
    """Return how colours look, all drawn on one page in cells of four pixels; spots as plates."""
    cell, across = 4 * 72 / DPI, 12
    content = "".join(
        f"{_operator(numbers, kind)} {cell * (at % across):g} {100 - cell * (at // across + 1):g}"
        f" {cell:g} {cell:g} re f\n"
        for at, (kind, numbers) in enumerate(paints)
        if kind != "spot"
    )
    page = look(document(content.encode()))
    return {
        (kind, numbers): (0, 0, 0, 0, int(255 * numbers[0] + 0.5))
        if kind == "spot"
        else tuple(int(value) for value in page[4 * (at // across) + 2, 4 * (at % across) + 2])
        for at, (kind, numbers) in enumerate(paints)
    }


def _misplaced(
    before: NDArray[np.uint8],
    after: NDArray[np.uint8],
    design: Design,
    wanted: list[tuple[str, Sample, tuple[Sample, ...]]],
) -> str:
    """Say which flat colour does not look as it must, '' where all do."""
    rows, columns = (min(sides) for sides in zip(before.shape[:2], after.shape[:2], strict=True))
    if max(*before.shape[:2], *after.shape[:2]) - max(rows, columns) > 1:
        return f"the page has {after.shape} samples, not {before.shape}"
    shifted = before.shape != after.shape
    before, after = before[:rows, :columns], after[:rows, :columns]
    flat = np.ones((rows, columns), bool)
    if shifted or any(mark.blur for mark in design.marks):  # edges may lie a pixel further
        flat[1:-1, 1:-1] = (before[1:-1, 1:-1] == before[2:, 1:-1]).all(axis=2)
        for turned in (before[:-2, 1:-1], before[1:-1, 2:], before[1:-1, :-2]):
            flat[1:-1, 1:-1] &= (before[1:-1, 1:-1] == turned).all(axis=2)
    for mark in design.marks:
        if isinstance(mark.paint, Blend | Photo):
            flat[_pixels(mark.shape)] = False
    for name, seen, new in wanted:
        shows = flat & (np.abs(before.astype(int) - seen) <= 1).all(axis=2)
        wrong = shows.copy()
        for sample in new:
            wrong &= (np.abs(after.astype(int) - sample) > 4).any(axis=2)
        if wrong.sum() > max(3, 0.01 * shows.sum()):
            shown = np.median(after[wrong], axis=0).astype(int).tolist()
            return f"{name}: {wrong.sum() / shows.sum():.0%} shows {shown}, not {list(new[0])}"
    return ""


def _pixels(shape: object) -> tuple[slice, slice]:
    """Return the rows and columns that a shape's box covers."""
    box = shape.box if isinstance(shape, Disc) else shape
    assert isinstance(box, Box)
    left, top = (DPI / 25.4 * (side + BLEED_MM) for side in (box.x, box.y))
    across, down = (DPI / 25.4 * length for length in (box.w, box.h))
    rows = slice(max(int(top) - 1, 0), int(top + down) + 2)
    return rows, slice(max(int(left) - 1, 0), int(left + across) + 2)


def _misblended(
    after: NDArray[np.uint8], name: str, kind: str, becomes: Becomes, look: Look
) -> str:
    """Say which gradient of brand colours, their tints and white does not run as it must."""
    left_out: Any = INDEX[name]["left_out"]
    for mark in design_of(name).marks:
        paint, shape = mark.paint, mark.shape
        if not isinstance(paint, Blend) or any(
            stop.colour not in (*BRANDS, WHITE) for _, stop in paint.stops
        ):
            continue
        stops = paint.stops if "middle stops" not in left_out else (paint.stops[0], paint.stops[-1])
        new = tuple((at, becomes(stop) or _numbers(stop, kind)) for at, stop in stops)
        places, ramp = _ramp_of(new, kind, look)
        ramps = [ramp]
        if kind == "cmyk" and any(stop.colour.spot for _, stop in stops):
            ramps.append(_ramp_of(_by_inks(stops, becomes), kind, look)[1])
        if len({stop.colour for _, stop in stops} - {WHITE}) == 1:
            ramps.append(_ramp_of(_by_tints(stops, kind, becomes), kind, look)[1])
        said = _off_the_ramp(after, shape, places, np.stack(ramps))
        if said:
            named = " to ".join(f"{flat.colour.name} {flat.tint:.0%}" for _, flat in stops)
            return f"{paint.form} gradient {named}, {said}"
    return ""


def _by_tints(
    stops: tuple[tuple[float, Flat], ...], kind: str, becomes: Becomes
) -> tuple[tuple[float, Numbers], ...]:
    """Return a gradient of tints of one colour with a stop at every tenth, as tints are mapped."""
    (first_at, first), (last_at, last) = stops[0], stops[-1]
    colour = first.colour if last.colour == WHITE else last.colour
    tints = [0.0 if flat.colour == WHITE else flat.tint for flat in (first, last)]
    made = []
    for tenth in range(11):
        tint = tenth / 10
        if min(tints) <= tint <= max(tints):
            place = first_at + (last_at - first_at) * (tint - tints[0]) / (tints[1] - tints[0])
            numbers = becomes(Flat(colour, tint)) if tenth else None
            made.append((place, numbers or _numbers(Flat(WHITE), kind)))
    return tuple(sorted(made))


def _by_inks(
    stops: tuple[tuple[float, Flat], ...], becomes: Becomes
) -> tuple[tuple[float, Numbers], ...]:
    """Return a gradient as inks that run out and in, each by its own tints: one is a spot."""
    made = []
    for (start, one), (end, other) in pairwise(stops):
        for tenth in range(11):
            parts = [becomes(Flat(one.colour, 1 - tenth / 10))] if tenth < 10 else []
            parts += [becomes(Flat(other.colour, tenth / 10))] if tenth else []
            mixed = tuple(map(sum, zip(*filter(None, parts), strict=True)))
            made.append((start + (end - start) * tenth / 10, mixed))
    return tuple(made)


def _off_the_ramp(
    after: NDArray[np.uint8], shape: object, places: NDArray[Any], ramps: NDArray[Any]
) -> str:
    """Say where a gradient leaves what its ends become, looked at along its middle line.

    It may run anywhere between the ramps: as the plain mixture, or as the tints are mapped.
    """
    assert isinstance(shape, Disc | Box)
    start, length = (shape.x, shape.r) if isinstance(shape, Disc) else (shape.x, shape.w)
    middle = shape.y if isinstance(shape, Disc) else shape.y + shape.h / 2
    scale = DPI / 25.4
    slack = 0.01 + 1.5 / (scale * length)  # a pixel and a half, as renderers place them
    for place in np.linspace(0.08, 0.92, 22):
        column = int(scale * (start + place * length + BLEED_MM))
        shown = after[int(scale * (middle + BLEED_MM)), column].astype(int)
        near = np.abs(places - place) < slack
        low, high = ramps[:, near].min(axis=(0, 1)), ramps[:, near].max(axis=(0, 1))
        if ((shown < low - 8) | (shown > high + 8)).any():
            wanted = ramps[0, np.abs(places - place).argmin()].tolist()
            return f"at {place:.0%}: {shown.tolist()}, not {wanted}"
    return ""


@cache
def _ramp_of(
    stops: tuple[tuple[float, Numbers], ...], kind: str, look: Look
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return places along a gradient, and how the mixture of its stops looks at each."""
    at = [place for place, _ in stops]
    places = np.linspace(0, 1, 49)
    mixed = [np.interp(places, at, part) for part in zip(*(new for _, new in stops), strict=True)]
    content = "".join(
        f"{_operator(row, kind)} {count} 0 1 100 re f\n"
        for count, row in enumerate(zip(*mixed, strict=True))
    )
    one_pixel = 72 / DPI
    strip = look(document(f"{one_pixel:g} 0 0 1 0 0 cm\n{content}".encode()))
    return places, strip[20, :49].astype(int)


@cache
def by_twin(name: str) -> tuple[Outcome, str]:
    """Recolour into the same kinds; return the outcome and what tells it from the twin, or ''."""
    outcome = recoloured(name, swaps(design_of(name)), "--keep-spots")
    if outcome.copy is None:
        return outcome, ""
    return outcome, difference(outcome.copy, (TWINS / f"{name}.pdf").read_bytes())


def difference(copy: bytes, twin: bytes) -> str:
    """Return how two files look different, '' where they don't."""
    one, two = plates(copy), plates(twin)
    for ink in sorted({*one, *two}):
        blank = np.zeros_like(next(iter(one.values())))
        said = _apart(one.get(ink, blank), two.get(ink, blank))
        if said:
            return f"plate {ink}: {said}"
    said = _apart(picture(copy), picture(twin))
    return f"picture: {said}" if said else ""


def _apart(one: NDArray[np.uint8], two: NDArray[np.uint8]) -> str:
    """Say how many samples lie further apart than rounding takes them: 8 of 255."""
    apart = np.abs(one.astype(int) - two)
    share = float((apart > 8).mean())
    if share <= 0.002:
        return ""
    return f"{share:.2%} of samples differ, by {apart[apart > 8].mean():.0f} of 255"


def plates(data: bytes) -> Plates:
    """Return the plates of the page, 0 no ink to 255 solid, as Ghostscript separates them."""
    return {name[2:-5]: 255 - plate for name, plate in _rastered(data, "tiffsep").items()}


def _driven(data: bytes) -> NDArray[np.uint8]:
    """Return the page in RGB, as Ghostscript makes it for a driver that takes RGB."""
    return _rastered(data, "tiff24nc")["p.tif"]


def _rastered(data: bytes, device: str) -> dict[str, NDArray[np.uint8]]:
    """Return what Ghostscript writes for a device by name, nothing smoothed."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "in.pdf").write_bytes(data)
        subprocess.run(
            ["gs", "-q", "-dSAFER", f"-sDEVICE={device}", f"-r{DPI}", "-dNOINTERPOLATE",
             "-dTextAlphaBits=1", "-dGraphicsAlphaBits=1", "-o", "p.tif", "in.pdf"],
            cwd=folder, check=True, capture_output=True,
        )  # fmt: skip
        found = {}
        for file in Path(folder).glob("p(*).tif" if device == "tiffsep" else "p.tif"):
            with Image.open(file) as raster:
                found[file.name] = np.array(raster)
        return found


def picture(data: bytes) -> NDArray[np.uint8]:
    """Return the page in RGB, as pdfium draws it."""
    with pypdfium2.PdfDocument(io.BytesIO(data)) as pdf:
        bitmap = pdf[0].render(
            scale=DPI / 72, no_smoothtext=True, no_smoothimage=True, no_smoothpath=True
        )
        return np.array(bitmap.to_pil().convert("RGB"))
