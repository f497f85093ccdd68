"""Gradients from a brand colour to one that no order names get a build from the pair's model."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from artwork_kit import document, swaps
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import Paint
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.prepress import beside
from inkaccord.prepress.beside import builds_beside
from inkaccord.prepress.copies import _draft, _proved
from inkaccord.recall.recall import computed
from inkaccord.run.collected import PieceArtwork
from report_kit import example_order

SHADING = (
    "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function << /FunctionType 2 "
    "/Domain [0 1] /N 1 /C0 [{}] /C1 [{}] >> >>"
)
KELP, SKY = "0.0784314 0.3607843 0.3058824", "0.5882353 0.8039216 0.9215686"
SWAP = "rgb 20 92 78 = cmyk 85 20 60 30"


def black_alone(model: object, lab: Any, policy: object) -> SimpleNamespace:
    """Match by lightness with black ink alone."""
    builds = np.zeros((len(lab), 4))
    builds[:, 3] = 100 - lab[:, 0]
    return SimpleNamespace(builds=builds)


def _bench(monkeypatch: pytest.MonkeyPatch, *, is_read: bool) -> Any:
    monkeypatch.setattr(beside, "match", black_alone)
    model = SimpleNamespace(drive=Drive.CMYK)
    known = SimpleNamespace(is_read=is_read, model=model, policy=None)
    source = document(b"/S sh", f"<< /Shading << /S {SHADING.format(KELP, SKY)} >> >>")
    return SimpleNamespace(
        pair=lambda _: known,
        recall=computed,
        order=example_order(),
        artwork=lambda _: source,
    )


ARTWORK = PieceArtwork(piece="card", path="card.pdf", sha256="", pages=1, photographs=0, colours=())


def test_a_gradient_to_a_colour_of_no_order_is_converted_by_the_model(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bench = _bench(monkeypatch, is_read=True)
    pair = bench.order.jobs[next(iter(bench.order.pieces))].pair
    draft = _draft(bench, ARTWORK, tuple(swaps(SWAP)), RecolourOptions(), pair)
    copy = _proved(bench, ARTWORK.piece, draft)
    assert copy.proof.passed, copy.proof.lines
    (said,) = copy.findings
    assert said.code == "converted-beside"
    assert "rgb 150 205 235 becomes cmyk 0 0 0 2" in said.message


def test_a_pair_that_is_not_read_gives_no_build(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = _bench(monkeypatch, is_read=False)
    pair = bench.order.jobs[next(iter(bench.order.pieces))].pair
    draft = _draft(bench, ARTWORK, tuple(swaps(SWAP)), RecolourOptions(), pair)
    copy = _proved(bench, ARTWORK.piece, draft)
    assert [it.code for it in copy.findings] == ["mixed-kinds"]
    assert "rgb 150 205 235" in copy.findings[0].message


def test_the_builds_look_as_the_colours_did(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = _bench(monkeypatch, is_read=True)
    pair = bench.order.jobs[next(iter(bench.order.pieces))].pair
    grey, unknown = Paint.parse("rgb 119 119 119"), Paint.parse("cmyk 10 20 30 0")
    (swap,) = builds_beside(bench.order, bench, pair, [grey, unknown])
    assert swap.old == grey
    # L* 50 of sRGB: IEC 61966-2-1 with CIE 1976, computed by hand: Y = 0.1845, L* = 50.03
    assert swap.new.values[3] == pytest.approx(49.97, abs=0.05)
    assert srgb_to_lab(np.array([[119, 119, 119]]) / 255)[0, 0] == pytest.approx(50.03, abs=0.05)
