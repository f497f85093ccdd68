"""Pieces as they print: the same colours as an ink-exact rendering put through the same model."""

import io
from collections import Counter
from typing import Any

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from example_pairs_kit import model_of
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.pdf.colours.alternates import spot_alternates
from inkaccord.pdf.ink_rendering import ink_pages
from inkaccord.report.gallery import OrderGallery
from inkaccord.report.hatching import ShownFinish, legend
from inkaccord.report.impressions import (
    STEPS,
    Impression,
    build_sent,
    impression,
    translated,
    untouched,
)
from inkaccord.report.screen import screen_colour, screen_colours
from inkaccord.run.collected import PieceArtwork
from outside import need_program
from page_kit import written
from report_kit import Desk

Rgb = tuple[int, int, int]


def shares(picture: Image.Image) -> dict[Rgb, float]:
    """Return which share of a picture each colour covers."""
    pixels = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    counts = Counter(map(tuple, pixels.tolist()))
    return {colour: number / len(pixels) for colour, number in counts.items()}


@pytest.mark.parametrize("piece", ["invitation", "reply-card"])
def test_large_areas_are_coloured_as_ghostscripts_ink_values_predict(
    desk: Desk, piece: str
) -> None:
    """Ghostscript (Artifex), tiff32nc: DeviceCMYK unconverted, spots by their alternates."""
    need_program("gs", "ghostscript")
    dpi, rim = 100, 50  # the media is 1/2 in larger than the trim all round
    (raster, *_) = ink_pages(desk.bench.artwork(piece), dpi=dpi)
    flat = raster.samples[rim:-rim, rim:-rim].reshape(-1, 4)
    inks, counts = np.unique(flat, axis=0, return_counts=True)
    screen = screen_colours(model_of(desk.order.jobs[piece].pair).predict_lab(inks / 2.55))
    large = [at for at in range(len(inks)) if inks[at, :3].any() and counts[at] > 0.01 * len(flat)]
    assert len(large) >= 3
    (page, *_) = desk.gallery.original(piece, 700).pages
    with Image.open(io.BytesIO(page.png)) as picture:
        pixels = np.asarray(picture.convert("RGB"), dtype=int).reshape(-1, 3)
    for at in large:
        # 8-bit inks: 0.2 % of ink may turn a screen colour by a step or two.
        share = float((np.abs(pixels - screen[at].rgb).max(axis=1) <= 2).mean())
        # Ghostscript doesn't smooth; here the edges of lines and type are blended.
        assert 0.75 <= share / (counts[at] / len(flat)) <= 1.05, inks[at]


def test_the_ground_is_the_stock_and_solids_are_what_the_model_predicts(desk: Desk) -> None:
    gallery = desk.gallery
    pair = desk.order.jobs["invitation"].pair
    model = model_of(pair)
    (page,) = gallery.translated("invitation", 400).pages
    with Image.open(io.BytesIO(page.png)) as picture:
        found = shares(picture)
        corner = picture.convert("RGB").getpixel((3, 3))
    assert corner == screen_colour(model.paper_lab).rgb
    for it in desk.run.translations:
        if it.device == pair.device and it.colour != "lantern":
            wanted = screen_colour(model.predict_lab(np.array([it.build.values]))[0]).rgb
            assert found.get(wanted, 0) > 0.002, it.colour


def test_a_colour_picked_by_eye_is_shown_as_picked_not_as_the_model_guesses(desk: Desk) -> None:
    other = (60.0, 40.0, 30.0)
    run = desk.run.model_copy(
        update={
            "translations": tuple(
                it.model_copy(update={"predicted_lab": other}) if it.colour == "kelp" else it
                for it in desk.run.translations
            )
        }
    )
    (page,) = desk.but(run=run).gallery.translated("invitation", 400).pages
    with Image.open(io.BytesIO(page.png)) as picture:
        assert shares(picture).get(screen_colour(other).rgb, 0) > 0.05


def test_white_type_becomes_the_colour_of_the_stock(desk: Desk) -> None:
    """The programme sets white type on solid kelp: no pure white may be left on tinted stock."""
    gallery = desk.gallery
    for shown in (gallery.original("programme", 400), gallery.translated("programme", 400)):
        for page in shown.pages:
            with Image.open(io.BytesIO(page.png)) as picture:
                assert (255, 255, 255) not in shares(picture)


def test_pictures_have_the_shape_of_the_trim(desk: Desk) -> None:
    gallery = desk.gallery
    for name, piece in desk.order.pieces.items():
        for page in gallery.original(name, 300).pages:
            ratio = piece.trim.width_pt / piece.trim.height_pt
            assert max(page.width_px, page.height_px) in {300, 301}
            assert page.width_px / page.height_px == pytest.approx(ratio, rel=0.01)


def test_a_piece_that_waits_has_no_translated_picture_and_says_why(desk: Desk) -> None:
    gallery = desk.gallery
    waits = gallery.translated("lantern-tag", 200)
    assert waits.pages == ()
    assert "kelp" in waits.why
    assert gallery.best("lantern-tag", 200).pages == gallery.original("lantern-tag", 200).pages


def test_spots_are_known_by_their_alternate(desk: Desk) -> None:
    """The artwork's maker gives Slate the alternate cmyk 55 30 20 25."""
    found = spot_alternates(desk.bench.artwork("invitation"))
    assert found["Slate"].values == pytest.approx((55, 30, 20, 25), abs=0.01)


def test_colours_are_sent_as_the_device_is_driven() -> None:
    spots = {"Slate": Paint.parse("cmyk 55 30 20 25")}
    half = build_sent(Paint.parse("spot Slate 40%"), Drive.CMYK, spots)
    assert half is not None
    assert half.values == pytest.approx((22, 12, 8, 10))
    assert build_sent(Paint.parse("gray 60"), Drive.CMYK, spots) == Build.cmyk(0, 0, 0, 60)
    assert build_sent(Paint.parse("rgb 1 2 3"), Drive.RGB, spots) == Build.rgb(1, 2, 3)
    red = build_sent(Paint.parse("rgb 255 0 0"), Drive.CMYK, spots)
    assert red is not None
    assert red.values == pytest.approx((0, 100, 100, 0))
    assert build_sent(Paint.parse("cmyk 0 0 0 100"), Drive.RGB, spots) == Build.rgb(0, 0, 0)
    assert build_sent(Paint.parse("spot Other"), Drive.CMYK, spots) is None
    assert build_sent(Paint.parse("lab 50 0 0"), Drive.CMYK, spots) is None


def test_tints_run_from_paper_to_the_solid() -> None:
    solid = Build.cmyk(80, 20, 60, 10)
    ink = translated(Paint.parse("spot Slate"), solid, [(50.0, Build.cmyk(30, 6, 20, 0))])
    assert ink.tints[0] == Build.cmyk(0, 0, 0, 0)
    assert ink.tints[STEPS.index(50)] == Build.cmyk(30, 6, 20, 0)
    assert ink.tints[-1] == solid
    plain = untouched(Paint.parse("cmyk 80 20 60 10"), Drive.CMYK, {})
    assert plain is not None
    assert plain.tints[STEPS.index(40)].values == pytest.approx((32, 8, 24, 4))


def test_a_piece_is_recoloured_for_the_screen_once_whatever_sizes_are_asked_for(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []

    def counted(data: bytes, artwork: PieceArtwork, **how: Any) -> Impression:
        made.append(artwork.piece)
        return impression(data, artwork, **how)

    monkeypatch.setattr("inkaccord.report.gallery.impression", counted)
    gallery = OrderGallery(desk.order, desk.run, desk.bench)
    small, large, again = (gallery.translated("envelope", px) for px in (80, 160, 80))
    assert made == ["envelope"]
    assert again is small
    assert max(large.pages[0].width_px, large.pages[0].height_px) in {160, 161}


def test_pictures_are_the_same_bytes_each_time(desk: Desk) -> None:
    first, second = (
        OrderGallery(desk.order, desk.run, desk.bench).translated("reply-card", 160)
        for _ in range(2)
    )
    assert first == second
    assert isinstance(desk.order.jobs["reply-card"].pair, Pair)


class OnWhite:
    """Prints nothing but its ground."""

    paper_lab = np.array([92.0, 0.0, -2.0])

    def predict_lab(self, builds: np.ndarray) -> np.ndarray:
        return np.tile(self.paper_lab, (len(builds), 1))


@pytest.mark.parametrize("first", [True, False], ids=["painted first", "painted last"])
def test_a_dark_stock_is_shown_bare_beside_the_white_under_its_ink(first: bool) -> None:
    white, ink = "/W cs 1 scn 20 20 100 100 re f", "0 0 0 1 k 40 40 20 20 re f"
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, 0.1], N=1)
    space = Array([Name.Separation, Name.White, Name.DeviceCMYK, tint])
    content = f"{white} {ink}" if first else f"{ink} /On gs {white}"
    data = written(
        content, {"TrimBox": [0, 0, 200, 300]}, ColorSpace=Dictionary(W=space),
        ExtGState=Dictionary(On=Dictionary(op=True)),
    )  # fmt: skip
    under = ShownFinish("ground", "white", ("White",), prints=True, under_ink=True)
    dark = (22.0, 2.0, -14.0)
    made = impression(
        data,
        PieceArtwork(piece="tag", path="tag.pdf", sha256="", pages=1, photographs=0, colours=()),
        drive=Drive.CMYK,
        model=OnWhite(), inks=(), spots={}, finishes=(under,), bare=dark,
    )  # fmt: skip
    (page,) = made.pages(300)
    with Image.open(io.BytesIO(page.png)) as picture:
        found = np.asarray(picture.convert("RGB"))
    beside, on_white = found[20:60, 140:180], found[200:220, 90:110]
    assert (beside == screen_colour(dark).rgb).all()
    common = Counter(map(tuple, on_white.reshape(-1, 3).tolist())).most_common(1)[0][0]
    assert common == screen_colour(OnWhite.paper_lab).rgb, "between the lines of its hatch"
    assert made.legend == "hatched: ground (white)"
    assert found[243:257, 43:57].mean() < 120, "ink on the white stays in sight"


def test_a_colour_in_cielab_is_sent_in_no_numbers_of_its_own():
    """Nor a spot whose alternate is one: neither stops the picture of a piece."""
    named = Paint.parse("lab 40 -20 5")
    for paint, spots in ((named, {}), (Paint.parse("spot Slate"), {"Slate": named})):
        assert untouched(paint, Drive.CMYK, spots) is None
        assert untouched(paint, Drive.RGB, spots) is None


def test_a_finish_named_after_its_kind_is_not_said_twice() -> None:
    foil = ShownFinish("foil", "foil", ("Foil",), prints=True)
    gold = ShownFinish("gold", "foil", ("Gold",), prints=True)
    assert legend([foil, gold]) == "hatched: foil and gold (foil)"
