"""Colours of an artwork against the brand colours."""

import pikepdf
import pytest
from PIL import ImageCms

from inkaccord.artwork.inventory.inventory import ColourEntry
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest, nearest
from inkaccord.artwork.inventory.on_pages import OnPages
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind, colour_in
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import DEVICE_CMYK, DEVICE_GRAY, DEVICE_RGB, Space, SpaceKind

SLATE = Space(SpaceKind.SPOT, 1, "Slate", colorants=("Slate",))
BRAND = {
    "kelp": [Paint.parse("cmyk 85 20 60 30"), Paint.parse("rgb 27 98 79")],
    "slate": [Paint.parse("spot Slate")],
}


def judged(colour: ArtworkColour, **settings: object) -> Nearest:
    entry = ColourEntry(colour=colour, pages=OnPages())
    (found,) = nearest([entry], BRAND, **settings)  # type: ignore[arg-type]  # settings vary
    return found


@pytest.mark.parametrize(
    ("space", "numbers", "standing", "brand"),
    [
        (DEVICE_CMYK, (0.85, 0.2, 0.6, 0.3), ColourStanding.MAPPED, "kelp"),
        (DEVICE_CMYK, (0.8471, 0.2, 0.6, 0.302), ColourStanding.MAPPED, "kelp"),
        (DEVICE_CMYK, (0.34, 0.08, 0.24, 0.12), ColourStanding.TINT, "kelp"),
        (DEVICE_CMYK, (0.84, 0.2, 0.6, 0.3), ColourStanding.NEAR_MISS, "kelp"),
        (DEVICE_CMYK, (0.12, 0.92, 0.34, 0.04), ColourStanding.UNKNOWN, "kelp"),
        (DEVICE_CMYK, (0, 0, 0, 0), ColourStanding.KEPT, None),
        (DEVICE_CMYK, (0, 0, 0, 1), ColourStanding.KEPT, None),
        (DEVICE_GRAY, (0.0,), ColourStanding.KEPT, None),
        (DEVICE_GRAY, (1.0,), ColourStanding.KEPT, None),
        (DEVICE_RGB, (27 / 255, 98 / 255, 79 / 255), ColourStanding.MAPPED, "kelp"),
        (DEVICE_RGB, (28 / 255, 98 / 255, 79 / 255), ColourStanding.MAPPED, "kelp"),
        (DEVICE_RGB, (31 / 255, 98 / 255, 79 / 255), ColourStanding.NEAR_MISS, "kelp"),
        (DEVICE_RGB, (1.0, 1.0, 1.0), ColourStanding.KEPT, None),
        (SLATE, (1.0,), ColourStanding.MAPPED, "slate"),
        (SLATE, (0.35,), ColourStanding.TINT, "slate"),
    ],
)
def test_standing(
    space: Space, numbers: tuple[float, ...], standing: ColourStanding, brand: str | None
) -> None:
    found = judged(colour_in(space, numbers))
    assert (found.standing, found.brand) == (standing, brand)
    assert found.advice or standing in {ColourStanding.MAPPED, ColourStanding.TINT}


def test_a_near_miss_says_how_far_and_what_to_write() -> None:
    found = judged(colour_in(DEVICE_CMYK, (0.84, 0.2, 0.6, 0.3)))
    assert found.distance_percent == pytest.approx(1)
    assert "cmyk 85 20 60 30" in found.advice


def test_a_wider_tolerance_takes_it_in() -> None:
    found = judged(colour_in(DEVICE_CMYK, (0.84, 0.2, 0.6, 0.3)), within={"kelp": 1.0})
    assert found.standing is ColourStanding.MAPPED


def test_gradients_are_judged_by_their_stops_and_pictures_stay() -> None:
    kelp, paper = colour_in(DEVICE_CMYK, (0.85, 0.2, 0.6, 0.3)), colour_in(DEVICE_CMYK, (0,) * 4)
    pink = colour_in(DEVICE_CMYK, (0, 0.9, 0, 0))
    gradient = ArtworkColour(kind=ColourKind.GRADIENT, text="g", parts=(paper, kelp))
    assert judged(gradient).standing is ColourStanding.MAPPED
    mixed = ArtworkColour(kind=ColourKind.GRADIENT, text="g", parts=(kelp, pink))
    assert judged(mixed).standing is ColourStanding.UNKNOWN
    picture = ArtworkColour(kind=ColourKind.IMAGE, text="image")
    assert judged(picture).standing is ColourStanding.KEPT
    table = ArtworkColour(kind=ColourKind.IMAGE, text="image", parts=(paper, pink, kelp))
    assert (judged(table).standing, judged(table).brand) == (ColourStanding.MAPPED, "kelp")


def test_inks_that_carry_a_brand_colour_are_that_colour() -> None:
    space = Space(SpaceKind.DEVICEN, 2, "inks", colorants=("Slate", "Black"))
    assert judged(colour_in(space, (0.5, 0.2))).brand == "slate"
    other = Space(SpaceKind.DEVICEN, 2, "inks", colorants=("Rust", "Black"))
    assert judged(colour_in(other, (0.5, 0.2))).standing is ColourStanding.UNKNOWN


SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.fixture(scope="module")
def through_srgb():
    with pikepdf.new() as pdf:
        profile = pdf.make_indirect(pdf.make_stream(SRGB, N=3))
        yield SpaceReader().read(pikepdf.Array([pikepdf.Name.ICCBased, profile]))


@pytest.mark.parametrize(
    ("rgb", "standing", "brand"),
    [
        ((27, 98, 79), ColourStanding.MAPPED, "kelp"),
        ((141, 177, 167), ColourStanding.TINT, "kelp"),
        ((29, 101, 84), ColourStanding.NEAR_MISS, "kelp"),
        ((0, 0, 0), ColourStanding.KEPT, None),
        ((255, 255, 255), ColourStanding.KEPT, None),
        ((200, 40, 90), ColourStanding.UNKNOWN, None),
    ],
)
def test_standing_by_what_a_profile_says(through_srgb, rgb, standing, brand) -> None:
    found = judged(colour_in(through_srgb, tuple(value / 255 for value in rgb)))
    assert (found.standing, found.brand) == (standing, brand)


def test_a_wider_tolerance_looks_further(through_srgb) -> None:
    colour = colour_in(through_srgb, (29 / 255, 101 / 255, 84 / 255))
    assert judged(colour, within={"kelp": 1.0}).standing is ColourStanding.MAPPED
