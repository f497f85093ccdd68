"""Photographs through the models of two pairs: what comes out, and the proof of it."""

import io
from types import SimpleNamespace

import numpy as np
import pikepdf
import pytest

from inkaccord.artwork.proof.parts import ProofPart, ProofVerdict
from inkaccord.artwork.proof.photograph_proof import PhotographProof
from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.order.model import Photographs
from inkaccord.prepress import photographs
from inkaccord.prepress.copies import with_photographs
from inkaccord.prepress.photographs import PhotographTables, TranslatedCopy
from inkaccord.recall.recall import computed
from inkaccord.run.recoloured import ProofSummary, RecolouredPiece
from page_kit import finish, image
from report_kit import example_order

PIXELS = np.array([[200, 60, 40], [60, 120, 90], [230, 220, 200], [90, 90, 90]], np.uint8)


def black_alone(model: object, lab: np.ndarray, policy: object) -> SimpleNamespace:
    """Match by lightness with black ink alone."""
    builds = np.zeros((len(lab), 4))
    builds[:, 3] = 100 - lab[:, 0]
    return SimpleNamespace(builds=builds)


@pytest.fixture
def tables(monkeypatch: pytest.MonkeyPatch) -> PhotographTables:
    monkeypatch.setattr(photographs, "match", black_alone)
    model = SimpleNamespace(drive=Drive.CMYK)
    known = SimpleNamespace(is_read=True, model=model, policy=InkPolicy(), drive=Drive.CMYK)
    bench = SimpleNamespace(pair=lambda _: known, progress=lambda _: None, recall=computed)
    order = example_order().model_copy(update={"photographs": Photographs.MATCHED})
    return PhotographTables(order, bench)  # type: ignore[arg-type]  # what is asked of a bench


def artwork() -> bytes:
    with pikepdf.new() as pdf:
        photograph = image(pdf, PIXELS.tobytes(), (2, 2), "/DeviceRGB")
        return finish(
            pdf, "0 0 0 1 k 9 9 50 9 re f q 80 0 0 60 20 220 cm /A Do Q",
            XObject=pikepdf.Dictionary(A=photograph),
        )  # fmt: skip


def test_they_stay_unless_the_order_asks(tables: PhotographTables) -> None:
    data = artwork()
    order = example_order()
    pair = order.jobs[next(iter(order.pieces))].pair
    copy = PhotographTables(order, tables.bench).translate(data, pair, "card")
    assert copy == TranslatedCopy(data)


def test_they_are_translated_and_proved(tables: PhotographTables) -> None:
    pair = tables.order.jobs[next(iter(tables.order.pieces))].pair
    copy = tables.translate(artwork(), pair, "card")
    assert copy.proof is not None
    assert copy.proof.passed
    assert "1 picture changed" in copy.proof.structure.checked
    assert [it.code for it in copy.findings] == ["photographs-matched"]
    with pikepdf.open(io.BytesIO(copy.data)) as pdf:
        image = pdf.pages[0].obj.Resources.XObject.A
        assert image.ColorSpace == "/DeviceCMYK"
        samples = np.frombuffer(image.read_bytes(), np.uint8).reshape(4, 4)
    lightness = srgb_to_lab(PIXELS / 255)[:, 0]
    np.testing.assert_allclose(samples[:, 3] / 2.55, 100 - lightness, atol=0.8)
    assert not samples[:, :3].any()


@pytest.mark.parametrize("verdict", [ProofVerdict.PASS, ProofVerdict.FAIL])
def test_the_proof_of_them_counts_with_the_first(verdict: ProofVerdict) -> None:
    first = ProofSummary(passed=True, lines=("colours: pass",))
    piece = RecolouredPiece(piece="card", data=b"old", proof=first)
    proof = PhotographProof(
        structure=ProofPart(verdict=verdict, checked="9 objects"),
        rendering=ProofPart(verdict=ProofVerdict.NOT_RUN, checked=""),
    )
    both = with_photographs(piece, TranslatedCopy(b"new", (), proof))
    assert both.data == b"new"
    assert both.proof.passed is (verdict is ProofVerdict.PASS)
    assert both.proof.lines[1] == f"all but photographs: {verdict}; 9 objects"
