"""Pictures: resolution at final size, and packing that devices read alike."""

import contextlib
from collections.abc import Iterator

from inkaccord.artwork.marks.mark import PlacedPicture
from inkaccord.artwork.photographs.one_colour import is_one_colour
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, warning
from inkaccord.errors import FileError
from inkaccord.pdf.colours.colours import ColourKind
from inkaccord.pdf.jpeg import MOST_INKS, PACK_ANEW, jpeg_shape
from inkaccord.pdf.streams import StreamReader


def check_resolution(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``image-resolution``, ``image-half-resolution``: enough pixels per inch at final size."""
    told: set[tuple[int, tuple[int, int]]] = set()
    for mark in artwork.marks:
        picture = mark.picture
        if picture is None or not mark.layer_shown or min(picture.ppi) <= 0:
            continue
        if max(picture.width_px, picture.height_px) == 1:
            continue  # one pixel is a flat colour, sharp at any size
        if mark.colour.kind is not ColourKind.IMAGE:
            continue  # a blurred shape or a shadow in one colour: it has no detail to lose
        line_art = picture.bits == 1 and rules.line_art_dpi is not None
        least = rules.line_art_dpi if line_art else rules.image_dpi
        # Rounding a box to whole points may cost an image of just enough pixels 1 %.
        if least is None or min(picture.ppi) >= 0.99 * least:
            continue
        key = (mark.page, picture.key)
        if picture.key != (0, 0) and key in told:
            continue
        told.add(key)
        if picture.soft_mask and picture.key != (0, 0) and _is_blur(artwork, picture):
            continue
        said = (
            f"an image of {picture.width_px} × {picture.height_px} px prints at "
            f"{min(picture.ppi):.0f} pixels per inch; at least {least:g} are asked"
        )
        place = artwork.place(mark.page, mark.box)
        if min(picture.ppi) < 0.99 * least / 2:
            yield error("image-half-resolution", f"{said}, more than twice as many", place=place)
        else:
            yield warning("image-resolution", said, place=place)


def _is_blur(artwork: OpenArtwork, picture: PlacedPicture) -> bool:
    """Whether a picture is a blur of one colour that no order names, so that it stayed noisy."""
    return is_one_colour(artwork.pdf.get_object(*picture.key))


def check_jpeg(artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext) -> Iterator[Diagnostic]:
    """``jpeg-of-many-inks``: a picture that one device prints, and another leaves out."""
    told = {(0, 0)}  # what stands in the content itself has no object
    streams = StreamReader()
    for mark in artwork.marks:
        picture = mark.picture
        if picture is None or "DCTDecode" not in picture.filters or picture.key in told:
            continue
        told.add(picture.key)
        with contextlib.suppress(FileError):  # a damaged one is for others to tell
            packed = streams.read_to_image(artwork.pdf.get_object(*picture.key))
            inks = jpeg_shape(packed)[2]
            if inks > MOST_INKS:
                yield error(
                    "jpeg-of-many-inks",
                    f"a picture is a JPEG of {inks} inks, and most devices read no more than "
                    f"{MOST_INKS}: it comes out black, or not at all",
                    place=artwork.place(mark.page, mark.box),
                    in_program=PACK_ANEW,
                )
