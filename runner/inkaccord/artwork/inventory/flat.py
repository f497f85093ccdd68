"""Images and shadings in one flat colour that cover what the originals cover."""

from __future__ import annotations

import io
from contextlib import suppress
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf.models.image import (
    HifiPrintImageNotTranscodableError,
    ImageDecompressionError,
    UnsupportedImageTypeError,
)

from inkaccord.apart.crew import Allowance, answer
from inkaccord.errors import FileError
from inkaccord.pdf.entries import BAD_OBJECT
from inkaccord.pdf.streams import IMAGE_FILTERS, filters_of
from inkaccord.pdf.unpacking import unpack_grey

_ALLOWANCE = Allowance("Pillow", seconds=30)
_UNREADABLE = (
    *BAD_OBJECT, OSError, FileError,
    HifiPrintImageNotTranscodableError, ImageDecompressionError, UnsupportedImageTypeError,
)  # fmt: skip
"""What comes of unpacking a picture that is damaged or of a rare kind."""


def flat_image(
    pdf: pikepdf.Pdf, rgb: tuple[int, int, int], image: pikepdf.Stream | None
) -> pikepdf.Stream:
    """Return a one-pixel image; a soft mask becomes a stencil of what is at least half opaque."""
    flat = pdf.make_stream(
        bytes(rgb), Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image, Width=1, Height=1,
        BitsPerComponent=8, ColorSpace=pikepdf.Name.DeviceRGB,
    )  # fmt: skip
    if image is None:
        return flat
    if "/OC" in image:
        flat["/OC"] = image["/OC"]
    soft, mask = image.get("/SMask"), image.get("/Mask")
    if isinstance(soft, pikepdf.Stream):
        with suppress(*_UNREADABLE):
            alpha = _alpha(soft)
            stencil = pdf.make_stream(
                np.packbits(alpha < 128, axis=1).tobytes(), Type=pikepdf.Name.XObject,
                Subtype=pikepdf.Name.Image, Width=alpha.shape[1], Height=alpha.shape[0],
                BitsPerComponent=1, ImageMask=True,
            )  # fmt: skip
            flat["/Mask"] = stencil
    elif isinstance(mask, pikepdf.Stream):
        flat["/Mask"] = mask
    return flat


def _alpha(soft: pikepdf.Stream) -> NDArray[np.uint8]:
    """Return how opaque a soft mask is, 0 to 255; apart where its own data say how large it is."""
    if IMAGE_FILTERS.isdisjoint(filters_of(soft)):
        return np.asarray(pikepdf.PdfImage(soft).as_pil_image().convert("L"))
    packed = io.BytesIO()
    with pikepdf.new() as holder:
        holder.add_blank_page()  # without one it is opened by some and refused by others
        holder.Root["/Picture"] = holder.copy_foreign(soft)
        holder.save(packed)
    found = answer(unpack_grey, _ALLOWANCE, data=packed.getvalue())
    return np.frombuffer(found["pixels"], np.uint8).reshape(found["height"], found["width"])


def flat_shading(pdf: pikepdf.Pdf, shading: Any, rgb: tuple[int, int, int]) -> pikepdf.Object:
    """Return a copy of a shading in which every colour is ``rgb``, with the same coverage."""
    colour = [channel / 255 for channel in rgb]
    kind = int(shading["/ShadingType"])
    copied: Any
    if isinstance(shading, pikepdf.Stream):
        copied = pdf.make_stream(shading.read_raw_bytes())
        for key, value in shading.items():
            if key != "/Length":
                copied[key] = value
    else:
        copied = pikepdf.Dictionary(dict(shading.items()))
    if "/Background" in copied:
        copied["/Background"] = pikepdf.Array(colour)
    if kind >= 4 and "/Function" not in shading:
        copied["/ColorSpace"] = _flat_space(pdf, shading, colour)
        copied.pop("/Background", None)
        return copied  # type: ignore[no-any-return]  # pikepdf's own types, seen as Any
    copied["/ColorSpace"] = pikepdf.Name.DeviceRGB
    if kind == 1:
        domain = shading.get("/Domain", pikepdf.Array([0, 1, 0, 1]))
        copied["/Function"] = pdf.make_stream(
            bytes(rgb) * 4, FunctionType=0, Domain=domain, Range=[0, 1] * 3, Size=[2, 2],
            BitsPerSample=8,
        )  # fmt: skip
    else:
        domain = shading.get("/Domain", pikepdf.Array([0, 1]))
        if kind >= 4:
            domain = pikepdf.Array(list(shading["/Decode"])[4:6])
        copied["/Function"] = pikepdf.Dictionary(
            FunctionType=2, Domain=domain, N=1, C0=pikepdf.Array(colour), C1=pikepdf.Array(colour)
        )
    return copied  # type: ignore[no-any-return]  # as above


def _flat_space(pdf: pikepdf.Pdf, shading: Any, colour: list[float]) -> pikepdf.Array:
    count = (len(shading["/Decode"]) - 4) // 2
    numbers = " ".join(f"{number:.6f}" for number in colour)
    program = "{" + "pop " * count + numbers + "}"
    function = pdf.make_stream(
        program.encode(), FunctionType=4, Domain=[0, 1] * count, Range=[0, 1] * 3
    )
    names = pikepdf.Array([pikepdf.Name(f"/Mark{number}") for number in range(count)])
    return pikepdf.Array([pikepdf.Name.DeviceN, names, pikepdf.Name.DeviceRGB, function])
