"""Blurred shapes and soft shadows, of which programs make pictures: recognised, swapped, proved."""

import io
import tracemalloc
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray

from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.photographs import one_colour
from inkaccord.artwork.photographs.one_colour import flatten_pictures, is_one_colour
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.proof import one_colour_proof
from inkaccord.artwork.proof.one_colour_proof import one_colour_differences
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import parse_swap, recolour
from inkaccord.artwork.roles import Role
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.ink_rendering import ink_pages
from inkaccord.pdf.rendering import page_pictures
from outside import need_program
from page_kit import changed, finish, image

EXPORTS = Path(__file__).parents[2] / "exports" / "files"
KELP = Paint.parse("rgb 20 92 78")
SWAP = parse_swap("rgb 20 92 78 = cmyk 80 10 60 40")
SIDE = 60


def blurred(colour: tuple[int, ...], *, linear: bool = True) -> tuple[NDArray, NDArray]:
    """Return the samples and the mask of a blurred disc as a filter with 8 bits makes them.

    It multiplies colour by opacity, rounds both, adds up neighbours (here: takes the disc's own
    soft edge), divides again and rounds once more, in linear light or not.
    """
    y, x = np.mgrid[0:SIDE, 0:SIDE] - (SIDE - 1) / 2
    share = np.round(255 * np.clip((26 - np.hypot(x, y)) / 16, 0, 1))
    part = np.array(colour) / 255
    light = np.where(part > 0.04045, ((part + 0.055) / 1.055) ** 2.4, part / 12.92)
    used = light if linear else part
    multiplied = np.round(used * share[..., None])
    with np.errstate(divide="ignore", invalid="ignore"):
        back = np.nan_to_num(np.round(255 * multiplied / share[..., None])) / 255
    if linear:
        back = np.where(back > 0.0031308, 1.055 * back ** (1 / 2.4) - 0.055, back * 12.92)
    samples = np.clip(np.round(255 * back), 0, 255).astype(np.uint8)
    samples[share == 0] = 0
    return samples, share.astype(np.uint8)


def page(
    samples: NDArray, mask: NDArray | None, space: str = "/DeviceRGB", **more: object
) -> bytes:
    """Return a page with one picture of 150 pt, 29 pixels an inch, over bare paper."""
    with pikepdf.new() as pdf:
        size = samples.shape[1], samples.shape[0]
        picture = image(pdf, samples.tobytes(), size, space)
        if mask is not None:
            picture.SMask = image(pdf, mask.tobytes(), size, "/DeviceGray", **more)
        return finish(pdf, "q 150 0 0 150 25 75 cm /I Do Q", XObject=pikepdf.Dictionary(I=picture))


@pytest.mark.parametrize("linear", [True, False], ids=["linear light", "as numbers"])
@pytest.mark.parametrize(("colour", "ink"), [((20, 92, 78), 1.0), ((138, 174, 167), 0.5)])
def test_a_blur_of_a_brand_colour_prints_in_its_build(
    colour: tuple[int, ...], ink: float, linear: bool
) -> None:
    need_program("gs", "ghostscript")
    before = page(*blurred(colour, linear=linear))
    made = recolour(before, [SWAP])
    assert made.photographs == 0
    assert prove(before, made.data, [SWAP]).passed
    (raster,) = ink_pages(made.data, dpi=72)
    middle = raster.samples[150, 100] / 2.55
    np.testing.assert_allclose(middle, np.array([80, 10, 60, 40]) * ink, atol=0.5)
    # The soft edge is the build, thinned by the mask: each ink by the same share.
    edge = raster.samples[150, 100 - 45] / 2.55
    assert 5 < edge[0] < 0.9 * 80 * ink
    np.testing.assert_allclose(edge / edge[0], np.array([80, 10, 60, 40]) / 80, atol=0.06)


def test_a_black_shadow_is_never_taken_for_a_dark_brand_colour() -> None:
    ink = parse_swap("rgb 9 10 14 = rgb 90 10 14")
    before = page(*blurred((0, 0, 0)))
    made = recolour(before, [ink])
    assert made.counts[0].solids == made.counts[0].tints == 0
    (picture,) = page_pictures(made.data, dpi=72)
    assert np.asarray(picture)[150, 100].tolist() == [0, 0, 0]


def noisy() -> NDArray:
    dice = np.random.default_rng(4)
    return np.clip(dice.normal((20, 92, 78), 4, (SIDE, SIDE, 3)), 0, 255).astype(np.uint8)


def dotted() -> NDArray:
    samples = np.tile(np.array([20, 92, 78], np.uint8), (SIDE, SIDE, 1))
    samples[20:24, 20:24] = 240, 158, 40
    return samples


FULL = np.full((SIDE, SIDE), 255, np.uint8)


@pytest.mark.parametrize(
    "data",
    [
        page(noisy(), FULL), page(dotted(), FULL), page(dotted(), None),
        page(*blurred((20, 92, 78)), Matte=[0, 0, 0]), page(*blurred((60, 40, 90))),
    ],
    ids=["a photograph", "two colours", "no mask", "matte", "another colour"],
)  # fmt: skip
def test_other_pictures_stay_to_the_byte(data: bytes) -> None:
    made = recolour(data, [SWAP])
    with pikepdf.open(io.BytesIO(data)) as old, pikepdf.open(io.BytesIO(made.data)) as new:
        one, other = (pdf.pages[0].obj.Resources.XObject.I for pdf in (old, new))
        assert one.read_bytes() == other.read_bytes()
        assert one.ColorSpace == other.ColorSpace
    assert made.photographs == 1


@pytest.mark.parametrize("colour", [(20, 92, 78), (60, 40, 90)], ids=["brand", "unknown"])
def test_no_larger_original_is_asked_of_a_blur(colour: tuple[int, ...]) -> None:
    data = page(*blurred(colour))
    rules = ArtworkRules(image_dpi=300)
    assert not [it for it in preflight(data, rules) if it.code.startswith("image-")]
    photograph = page(noisy(), blurred((0, 0, 0))[1])
    assert "image-half-resolution" in {it.code for it in preflight(photograph, rules)}


def test_the_inventory_counts_it_as_its_colour() -> None:
    data = page(*blurred((20, 92, 78)))
    (entry,) = inventory(data, known=[KELP]).colours
    assert entry.colour.paint == KELP
    assert entry.roles == (Role.IMAGE,)
    # Half opaque at 18 of 30 pixels' radius: a disc of 45 pt.
    assert entry.area_mm2 == pytest.approx(np.pi * (45 / 72 * 25.4) ** 2, rel=0.03)
    assert inventory(data, known=[KELP]).pictures == ()
    (guessed,) = inventory(data).colours
    assert guessed.colour.paint is not None
    assert max(abs(a - b) for a, b in zip(guessed.colour.paint.values, KELP.values)) < 9  # noqa: B905


@pytest.mark.parametrize("at_once", [7, 1 << 20])
def test_the_proof_fails_for_a_picture_that_was_another_colour(
    at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(one_colour_proof, "_AT_ONCE", at_once)
    before = page(*blurred((20, 92, 78)))
    with pikepdf.open(io.BytesIO(before)) as pdf:
        assert flatten_pictures(pdf, [KELP]) == 1
        out = io.BytesIO()
        pdf.save(out)
    assert one_colour_differences(before, out.getvalue()) == (1, ())

    def other(pdf: pikepdf.Pdf) -> None:
        space = pdf.pages[0].obj.Resources.XObject.I.ColorSpace
        space[3] = pikepdf.String(bytes([20, 99, 78]))

    def mask(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj.Resources.XObject.I.SMask.write(FULL.tobytes())

    def photograph(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj.Resources.XObject.I.write(noisy().tobytes())

    for change in (other, mask):
        _, wrong = one_colour_differences(before, changed(out.getvalue(), change))
        assert wrong
    assert one_colour_differences(changed(before, photograph), out.getvalue())[1]


@pytest.mark.parametrize(("name", "count"), [("inkscape", 4), ("cairo", 4), ("office", 3)])
def test_exported_blurs_and_shadows_are_as_if_drawn_in_the_new_colour(
    name: str, count: int
) -> None:
    """A blurred disc, rectangle and words of kelp, and a black shadow, from three programs."""
    before = (EXPORTS / f"{name}-menu.pdf").read_bytes()
    swap = parse_swap("rgb 20 92 78 = rgb 130 20 60")
    made = recolour(before, [swap])
    assert made.photographs == 0
    proof = prove(before, made.data, [swap], render=False)
    assert proof.passed
    assert f"{count} pictures of one colour" in proof.structure.checked
    with pikepdf.open(io.BytesIO(before)) as pdf:
        held = [it for it in pdf.objects if isinstance(it, pikepdf.Stream) and "/SMask" in it]
        assert sum(map(is_one_colour, held)) == count
    # Each pixel in pdfium's picture is still a mixture of paper and colour by the same share.
    (old,), (new,) = (
        [np.asarray(it).astype(float) for it in page_pictures(data, dpi=72)]
        for data in (before, made.data)
    )
    reddish = old[..., 1] - old[..., 0]
    blurs = reddish > 12  # what is green, tints and soft edges included
    blurs &= (old != [138, 174, 166]).any(axis=2)  # a plain fill, which others judge
    share = (255 - old[blurs][:, 0]) / 235
    expected = 255 - share[:, None] * (255 - np.array([130, 20, 60]))
    off = np.abs(new[blurs] - expected).max(axis=1)
    assert np.percentile(off, 90) < 10  # the old ones were up to 8 off themselves


def test_a_large_picture_is_counted_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(4)
    samples = rng.integers(0, 4, (900, 1000, 3)).astype(np.uint8)
    shares = rng.integers(0, 5, (900, 1000)).astype(np.uint8)
    whole = one_colour._visible(PaintKind.RGB, samples, shares)
    monkeypatch.setattr(one_colour, "_AT_ONCE", 1 << 12)
    tracemalloc.start()
    found = one_colour._visible(PaintKind.RGB, samples, shares)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert whole is not None
    assert found is not None
    assert found.counts.sum() == np.count_nonzero(shares)
    assert (found.counts == whole.counts).all()
    assert (found.samples == whole.samples).all()
    assert (found.shares == whole.shares).all()
    assert peak < samples.nbytes / 2
    monkeypatch.setattr(one_colour, "_MOST_DIFFERENT", 100)
    assert one_colour._visible(PaintKind.RGB, samples, shares) is None
