"""Pictures drawn in brand colours: found, their areas told, and held."""

import io

import numpy as np
import pikepdf
import pytest
from PIL import Image

from artwork_kit import codes, swaps
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.photographs.few_colours import flat_pictures
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.artwork.roles import Role
from inkaccord.colour.paints import Paint
from page_kit import finish, image

KELP, LANTERN = (20, 92, 78), (240, 158, 40)
KNOWN = [Paint.parse("rgb 20 92 78"), Paint.parse("rgb 240 158 40")]
SIDE = 60


def dots(ground):
    """Return a disc of kelp on a ground, edges softened as a renderer does."""
    y, x = np.mgrid[0:SIDE, 0:SIDE] - (SIDE - 1) / 2
    share = np.clip(15.5 - np.hypot(x, y), 0, 1)[..., None]
    mixed = share * np.array(KELP) + (1 - share) * np.array(ground)
    return np.round(mixed).astype(np.uint8)


def page(samples, *, jpeg=False, mask=None):
    """Return a page of 200 × 300 pt with a picture of 150 pt."""
    with pikepdf.new() as pdf:
        size = samples.shape[1], samples.shape[0]
        picture = image(pdf, samples.tobytes(), size, "/DeviceRGB")
        if jpeg:
            packed = io.BytesIO()
            Image.fromarray(samples).save(packed, "JPEG", quality=90)
            picture.write(packed.getvalue(), filter=pikepdf.Name.DCTDecode)
        if mask is not None:
            picture.SMask = image(pdf, mask.tobytes(), size, "/DeviceGray")
        return finish(pdf, "q 150 0 0 150 25 75 cm /I Do Q", XObject=pikepdf.Dictionary(I=picture))


def found(data, known=KNOWN):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return {
            str(paint): share for one in flat_pictures(pdf, known) for paint, share in one.known
        }


TINT = (250, 226, 190)  # 30 % of lantern, in 8 bits of a JPEG
DISC = np.pi * 15**2 / SIDE**2


@pytest.mark.parametrize("jpeg", [True, False])
def test_a_pattern_of_two_brand_colours_is_found(jpeg):
    said = found(page(dots(TINT), jpeg=jpeg))
    assert said.keys() == {"rgb 20 92 78", "rgb 250.5 225.9 190.5"}
    assert said["rgb 20 92 78"] == pytest.approx(DISC, abs=0.05)


def test_its_colours_have_their_areas():
    said = {one.colour.text: one for one in inventory(page(dots(TINT)), known=KNOWN).colours}
    whole = (150 * 25.4 / 72) ** 2
    assert said["rgb 20 92 78"].area_mm2 == pytest.approx(DISC * whole, rel=0.15)
    assert said["rgb 250.5 225.9 190.5"].area_mm2 == pytest.approx((1 - DISC) * whole, rel=0.05)
    assert said["rgb 20 92 78"].roles == (Role.IMAGE,)


def test_what_its_mask_hides_does_not_count():
    samples = dots((0, 0, 255))
    mask = np.where((samples == KELP).all(axis=2), 255, 0).astype(np.uint8)
    assert found(page(samples, mask=mask)) == {"rgb 20 92 78": 1.0}


def photograph():
    y, x = np.mgrid[0:SIDE, 0:SIDE] / SIDE
    waves = [127 + 120 * np.sin(6 * x + 3 * y), 90 + 80 * np.cos(5 * y), 255 * x * y]
    samples = np.stack(waves, axis=2).astype(np.uint8)
    samples[:15, :15] = KELP  # a brand colour in a photograph is the photograph's
    return samples


@pytest.mark.parametrize(
    ("samples", "known"),
    [
        (photograph(), KNOWN),
        (dots((255, 255, 255)), [Paint.parse("rgb 255 255 255"), Paint.parse("rgb 0 0 0")]),
        (dots(TINT), [Paint.parse("rgb 90 20 20")]),
        (dots(TINT), [Paint.parse("cmyk 85 20 60 30")]),
    ],
    ids=["photograph", "white", "other colours", "another kind"],
)
def test_other_pictures_are_left_alone(samples, known):
    assert found(page(samples), known) == {}


def test_it_holds_the_piece_while_its_colours_change():
    held = recolour(page(dots(TINT)), swaps("rgb 20 92 78 = cmyk 80 10 60 40"))
    (said,) = held.errors
    assert said.code == "brand-in-picture"
    assert "60 × 60 px" in said.message
    assert "rgb 20 92 78" in said.message
    free = recolour(page(photograph()), swaps("rgb 20 92 78 = cmyk 80 10 60 40"))
    assert "brand-in-picture" not in codes(free)


def test_a_colour_that_stays_holds_nothing():
    data = page(dots(TINT))
    assert not recolour(data, swaps("rgb 20 92 78 = rgb 20 92 78")).errors
