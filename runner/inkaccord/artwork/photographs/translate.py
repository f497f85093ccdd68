"""Translate the photographs of an artwork from one pair to another.

Elsewhere the rule is to leave photographs alone; this is for orders that ask. Only colours
change: masks, sizes, and the way an image is packed stay. What cannot be translated safely is
left as it is, and said.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.advice import advised
from inkaccord.artwork.by_look import is_srgb
from inkaccord.artwork.made_with import program_kind
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import marks_of
from inkaccord.artwork.photographs.colour_table import (
    ColourTable,
    passes_limit,
    translate_samples,
)
from inkaccord.colour.builds import CHANNELS, Drive
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.colours.colours import space_name
from inkaccord.pdf.colours.scope import Scope, Scopes
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.entries import BAD_OBJECT
from inkaccord.pdf.jpeg import read_jpeg
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.page_objects import inherited
from inkaccord.pdf.streams import JPEG_FILTERS, StreamReader, deflate, filters_of

Samples = NDArray[np.uint8] | NDArray[np.uint16]

_DRIVES = {SpaceKind.CMYK: Drive.CMYK, SpaceKind.RGB: Drive.RGB}
_NAMES = {Drive.CMYK: pikepdf.Name.DeviceCMYK, Drive.RGB: pikepdf.Name.DeviceRGB}
_MODES = {Drive.CMYK: "CMYK", Drive.RGB: "RGB"}
_JPEG_QUALITY = 92
_BLACK = "it is gray, which prints in black ink alone"
_MOST_NAMED = 4
"""So many sizes are named in one finding."""
_OPAQUE = {"/JPXDecode", "/JBIG2Decode", "/CCITTFaxDecode", "/CCF"}


class PhotographReport(Frozen):
    """What :func:`translate_photographs` did."""

    translated: int
    kept: int
    findings: tuple[Diagnostic, ...]
    """One for each reason why images stayed."""


class _LeftAloneError(Exception):
    """The image stays as it is; the message says why."""


@dataclass(frozen=True)
class _Placed:
    image: pikepdf.Stream
    scope: Scope
    page: int


def translate_photographs(
    pdf: pikepdf.Pdf,
    tables: Mapping[Drive, ColourTable] | ColourTable,
    *,
    profiled: bool = False,
) -> PhotographReport:
    """Translate every photograph of an open PDF, in place.

    Parameters
    ----------
    pdf
        The open file.
    tables
        From :func:`~inkaccord.artwork.photographs.colour_table.build_table`: one table, or one for
        CMYK and one for RGB images.
    profiled
        Whether images with a profile are translated too, as if they had none. Those whose profile
        is sRGB always are: that is what RGB without one is taken for.

    Returns
    -------
    PhotographReport
        How many were translated, how many stayed, and why.

    Notes
    -----
    Images that lose nothing are written as Flate, however they were packed; JPEG images again as
    JPEG, at a quality of 92 and without colour subsampling, or as Flate where JPEG's own losses
    would pass the limit of ink. The table of an Indexed image changes, never
    its indices. A colour-key mask becomes a stencil, made from the old samples. Soft masks and
    stencils are not touched. Gray images stay: they are black ink.
    """
    by_drive = {tables.source: tables} if isinstance(tables, ColourTable) else dict(tables)
    work = _Translator(pdf, by_drive, profiled)
    painted = _painted(pdf)
    translated, kept = 0, []
    for placed in _images(pdf):
        try:
            work.translate(placed)
            translated += 1
        except _LeftAloneError as reason:
            kept.append(_left(placed, str(reason), painted))
        except (*BAD_OBJECT, FileError, OSError) as problem:
            kept.append(_left(placed, f"it cannot be read: {problem}", painted))
    kept += _inline_images(painted)
    findings = tuple(advised(_said(kept), program_kind(pdf)))
    return PhotographReport(translated=translated, kept=len(kept), findings=findings)


@dataclass(frozen=True)
class _Kept:
    """An image that keeps its colours."""

    size: str
    why: str
    place: Place


def _said(kept: list[_Kept]) -> Iterator[Diagnostic]:
    """Yield one finding for each reason, with the sizes and the first place."""
    for why in dict.fromkeys(one.why for one in kept):
        some = [one for one in kept if one.why == why]
        sizes = ", ".join(f"{one.size} px" for one in some[:_MOST_NAMED])
        more = f" and {len(some) - _MOST_NAMED} more" if len(some) > _MOST_NAMED else ""
        what = "a picture keeps" if len(some) == 1 else f"{len(some)} pictures keep"
        said = note if why == _BLACK else warning
        yield said(
            "photograph-kept",
            f"{what} the colours of the artwork ({sizes}{more}): {why}",
            place=some[0].place,
            hint="nothing to do: black is black on every pair" if why == _BLACK else None,
        )


def _left(placed: _Placed, why: str, painted: list[Mark]) -> _Kept:
    key = placed.image.objgen
    shown = (mark for mark in painted if mark.picture is not None and mark.picture.key == key)
    mark = next(shown, None)
    width, height = placed.image.get("/Width", "?"), placed.image.get("/Height", "?")
    place = Place(
        page=mark.page if mark is not None else placed.page,
        box_mm=mark.box.in_mm if mark is not None else None,
    )
    return _Kept(f"{width} × {height}", why, place)


def _painted(pdf: pikepdf.Pdf) -> list[Mark]:
    """Return every picture that the pages paint."""
    return [mark for mark in marks_of(pdf) if mark.picture is not None]


def _inline_images(painted: list[Mark]) -> list[_Kept]:
    """Return each inline image: to rewrite one would be to rewrite content, which stays."""
    return [
        _Kept(
            f"{picture.width_px} × {picture.height_px}",
            "it is written into the page itself ('inline'), not placed as a picture of its own",
            Place(page=mark.page, box_mm=mark.box.in_mm),
        )
        for mark in painted
        if (picture := mark.picture) is not None and picture.inline
    ]


def _images(pdf: pikepdf.Pdf) -> Iterator[_Placed]:
    """Yield every image XObject that a page can reach, each once; stencils and masks left out."""
    scopes = Scopes(SpaceReader())
    seen: set[tuple[int, int]] = set()
    for number, page in enumerate(pdf.pages, start=1):
        scope = scopes.of(inherited(page.obj, "/Resources"), page.obj)
        pending = [(scope, 0)]
        appearances = page.obj.get("/Annots")
        if isinstance(appearances, pikepdf.Array):
            pending += [(scopes.own(form, scope), 1) for form in _appearances(appearances)]
        while pending:
            scope, depth = pending.pop()
            if scope.resources is None or depth > FileLimits.nesting:
                continue
            for stream in _streams(scope.resources):
                if stream.objgen in seen:
                    continue
                seen.add(stream.objgen)
                if str(stream.get("/Subtype")) != "/Image":
                    pending.append((scopes.own(stream, scope), depth + 1))
                elif not bool(stream.get("/ImageMask", False)):
                    yield _Placed(stream, scope, number)


def _streams(resources: pikepdf.Dictionary) -> Iterator[pikepdf.Stream]:
    for category in ("/XObject", "/Pattern"):
        entries = resources.get(category)
        if isinstance(entries, pikepdf.Dictionary):
            yield from (one for _, one in entries.items() if isinstance(one, pikepdf.Stream))
    fonts = resources.get("/Font")
    if isinstance(fonts, pikepdf.Dictionary):
        for font in fonts.values():
            if isinstance(font, pikepdf.Dictionary) and "/CharProcs" in font:
                below = font.get("/Resources")
                if isinstance(below, pikepdf.Dictionary):
                    yield from _streams(below)


def _appearances(annotations: pikepdf.Array) -> Iterator[pikepdf.Stream]:
    for one in annotations:
        looks = one.get("/AP") if isinstance(one, pikepdf.Dictionary) else None
        normal = looks.get("/N") if isinstance(looks, pikepdf.Dictionary) else None
        if isinstance(normal, pikepdf.Stream):
            yield normal
        elif isinstance(normal, pikepdf.Dictionary):
            yield from (form for _, form in normal.items() if isinstance(form, pikepdf.Stream))


class _Translator:
    def __init__(
        self,
        pdf: pikepdf.Pdf,
        tables: Mapping[Drive, ColourTable],
        profiled: bool,
    ) -> None:
        self._pdf = pdf
        self._tables = tables
        self._profiled = profiled
        self._streams = StreamReader()

    def translate(self, placed: _Placed) -> None:
        image = placed.image
        filters = filters_of(image)
        if _OPAQUE & set(filters):
            raise _LeftAloneError(f"{filters[-1][1:]} images are not opened")
        soft = image.get("/SMask")
        if isinstance(soft, pikepdf.Stream) and "/Matte" in soft:
            raise _LeftAloneError("its colours are mixed with the mask's matte colour")
        space = placed.scope.space(image.get("/ColorSpace"))
        if space.kind is SpaceKind.INDEXED:
            self._indexed(image, space)
        elif filters and filters[-1] in JPEG_FILTERS:
            self._jpeg(image, self._table(space))
        else:
            self._plain(image, self._table(space))

    def _table(self, space: Space) -> ColourTable:
        kind = space.kind
        if kind is SpaceKind.ICC and (self._profiled or is_srgb(space)):
            kind = {3: SpaceKind.RGB, 4: SpaceKind.CMYK}.get(space.components, kind)
        drive = _DRIVES.get(kind)
        if kind is SpaceKind.GRAY:
            raise _LeftAloneError(_BLACK)
        if drive is None:
            raise _LeftAloneError(f"its colour is {space_name(space)}")
        table = self._tables.get(drive)
        if table is None:
            raise _LeftAloneError(f"there is no model for {drive} images")
        return table

    def _indexed(self, image: pikepdf.Stream, space: Space) -> None:
        if space.base is None:
            raise _LeftAloneError("its colour table cannot be read")
        table = self._table(space.base)
        width = space.base.components
        old = np.frombuffer(space.table[: len(space.table) // width * width], np.uint8)
        new = translate_samples(old.reshape(-1, width), table)
        image["/ColorSpace"] = pikepdf.Array(
            [
                pikepdf.Name.Indexed,
                _NAMES[table.target],
                max(0, len(new) - 1),
                pikepdf.String(new.tobytes()),
            ]
        )

    def _plain(self, image: pikepdf.Stream, table: ColourTable) -> None:
        bits = int(image.get("/BitsPerComponent", 8))
        if bits not in {8, 16}:
            raise _LeftAloneError(f"it has {bits} bits a sample")
        width, height = int(image["/Width"]), int(image["/Height"])
        channels = len(CHANNELS[table.source])
        data = self._streams.read(image)
        kind = np.dtype(np.uint8) if bits == 8 else np.dtype(">u2")
        wanted = width * height * channels * kind.itemsize
        if width <= 0 or height <= 0 or len(data) < wanted:
            raise _LeftAloneError("its data break off")
        stored = np.frombuffer(data[:wanted], kind).reshape(-1, channels)
        raw: Samples = stored.astype(np.uint8) if bits == 8 else stored.astype(np.uint16)
        new = self._new_samples(image, raw, table, (height, width))
        image.write(deflate(new.astype(kind).tobytes()), filter=pikepdf.Name.FlateDecode)
        self._rename(image, table)

    def _jpeg(self, image: pikepdf.Stream, table: ColourTable) -> None:
        picture = read_jpeg(self._streams.read_to_image(image))
        if picture.mode != _MODES[table.source]:
            raise _LeftAloneError(f"its JPEG data are {picture.mode}")
        pixels = picture.samples
        height, width = pixels.shape[:2]
        raw = pixels.reshape(-1, pixels.shape[2])
        # Pillow turns CMYK JPEG data round, as photo editors store them; PDF does not.
        turned = table.source is Drive.CMYK
        new = self._new_samples(image, 255 - raw if turned else raw, table, (height, width))
        if "/DecodeParms" in image:
            del image["/DecodeParms"]
        turned = "/Decode" in image and _turned(image, len(CHANNELS[table.target]))
        packed = _as_jpeg(new.astype(np.uint8), table, (height, width), turned=turned)
        if packed is not None:
            image.write(packed, filter=pikepdf.Name.DCTDecode)
        else:
            image.write(deflate(new.astype(np.uint8).tobytes()), filter=pikepdf.Name.FlateDecode)
            image["/BitsPerComponent"] = 8
        self._rename(image, table)

    def _new_samples(
        self, image: pikepdf.Stream, raw: Samples, table: ColourTable, size: tuple[int, int]
    ) -> Samples:
        """Translate samples as they are stored; the Decode array stays or goes with them."""
        turned = _turned(image, raw.shape[1])
        full = np.iinfo(raw.dtype).max
        key = image.get("/Mask")
        if isinstance(key, pikepdf.Array):
            image["/Mask"] = self._stencil(raw, [int(one) for one in key], size)
        flipped = full - raw if turned else raw
        new = translate_samples(flipped, table)
        if table.source is table.target:
            return full - new if turned else new
        if "/Decode" in image:
            del image["/Decode"]
        return new

    def _stencil(self, raw: Samples, key: list[int], size: tuple[int, int]) -> pikepdf.Stream:
        """Return the stencil of a colour-key mask: what lies within all ranges is masked out."""
        low, high = np.array(key[::2]), np.array(key[1::2])
        out = ((raw >= low) & (raw <= high)).all(axis=1).reshape(size)
        return self._pdf.make_stream(
            deflate(np.packbits(out, axis=1).tobytes()), Type=pikepdf.Name.XObject,
            Subtype=pikepdf.Name.Image, Width=size[1], Height=size[0], BitsPerComponent=1,
            ImageMask=True, Filter=pikepdf.Name.FlateDecode,
        )  # fmt: skip

    @staticmethod
    def _rename(image: pikepdf.Stream, table: ColourTable) -> None:
        image["/ColorSpace"] = _NAMES[table.target]


def _as_jpeg(
    samples: NDArray[np.uint8], table: ColourTable, size: tuple[int, int], *, turned: bool
) -> bytes | None:
    """Return samples as JPEG; None where what JPEG makes of them passes the limit of ink."""
    from PIL import Image  # noqa: PLC0415 - slow to load

    inverted = table.target is Drive.CMYK
    out = io.BytesIO()
    stored = 255 - samples if inverted else samples
    written = Image.frombytes(_MODES[table.target], (size[1], size[0]), stored.tobytes())
    written.save(out, format="JPEG", quality=_JPEG_QUALITY, subsampling=0)
    if inverted:
        found = read_jpeg(out.getvalue()).samples.reshape(-1, samples.shape[1])
        amounts = found if turned else 255 - found
        if passes_limit(amounts, 255, table.most_ink).any():
            return None
    return out.getvalue()


def _turned(image: pikepdf.Stream, channels: int) -> bool:
    """Tell whether the Decode array turns every channel round; other than that it must be plain."""
    found: Any = image.get("/Decode")
    if found is None:
        return False
    numbers = [float(one) for one in found]
    if numbers == [0.0, 1.0] * channels:
        return False
    if numbers == [1.0, 0.0] * channels:
        return True
    raise _LeftAloneError("its Decode array stretches the colours")
