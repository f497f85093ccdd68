"""The client's page: all that a client decides about, and nothing of how colour is found."""

import html
import io
import re

import numpy as np
import pikepdf
import pytest

import colour
from inkaccord.order.model import Order
from inkaccord.report.client_page import client_pages
from pdf_words import words_of
from report_kit import Desk


def pages(desk: Desk, order: Order | None = None) -> tuple[bytes, str]:
    paper, screen = client_pages(order or desk.order, desk.run, desk.bench, desk.gallery)
    return paper.data, screen.data.decode()


@pytest.fixture(scope="module")
def made(desk: Desk) -> tuple[bytes, str]:
    return pages(desk)


@pytest.fixture(scope="module", params=["paper", "screen"])
def said(request: pytest.FixtureRequest, made: tuple[bytes, str]) -> str:
    if request.param == "paper":
        return " ".join(words_of(made[0]).split())
    body = made[1].partition("</head>")[2]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_it_says_what_a_client_decides_about(desk: Desk, said: str) -> None:
    for name, piece in desk.order.pieces.items():
        assert name in said
        assert (piece.finishing or "") in said
    for it in (*desk.order.colours, *desk.order.stocks):
        assert it in said
    assert "120 suites of 5 pieces, due Friday, 6 November 2026" in said
    assert "125 copies" in said  # 120 suites and 5 extra invitations
    assert "scored and folded once" in said


def test_it_says_nothing_of_how_colour_is_found(desk: Desk, said: str) -> None:
    assert not re.search(r"ΔE|±|\bcmyk\b|\brgb\b|\blab\b|L\*", said, re.IGNORECASE)
    for it in desk.run.translations:
        assert str(it.build) not in said
        assert it.device not in said
    for vendor in desk.order.vendors.values():
        assert not vendor.title or vendor.title not in said


def test_it_says_what_is_a_picture_and_what_a_proof(desk: Desk, made: tuple[bytes, str]) -> None:
    said = " ".join(html.unescape(made[1]).split())
    assert "no picture here is a proof of colour" in said
    assert "a swatch that the same printer printed on the same stock" in said
    sheet = desk.run.translations[0].sheets[0]
    assert f"{sheet} on natural-cotton" in said
    assert "Nothing printed on kraft yet" in said


def test_what_is_not_matched_is_not_passed_off_as_print(said: str) -> None:
    after = said[said.index("lantern-tag") :]
    assert "its colours are not matched yet" in after[:300]
    assert "matched yet" in said[said.index("by name") :]


def test_there_is_a_place_to_sign(said: str) -> None:
    signing = said[said.index("To sign") :]
    assert "What is signed for" in signing
    for word in ("Name", "Date", "Signature"):
        assert word in signing


def test_the_place_to_sign_does_not_stand_alone(made: tuple[bytes, str]) -> None:
    with pikepdf.open(io.BytesIO(made[0])) as pdf:
        count = len(pdf.pages)
        del pdf.pages[:-1]
        out = io.BytesIO()
        pdf.save(out)
    assert count == 2, "the suite is shown a little smaller, which spares a third page"
    last = words_of(out.getvalue())
    assert "The stocks" in last
    assert "To sign" in last


def test_every_page_of_every_piece_is_shown(desk: Desk, made: tuple[bytes, str]) -> None:
    sides = sum(
        len(pikepdf.open(desk.bench.folder / it.artwork).pages) for it in desk.order.pieces.values()
    )
    paper, screen = made
    assert screen.count("<img ") == sides
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        assert sum(len(page.get_images()) for page in pdf.pages) == sides


def test_a_patch_has_the_colour_that_will_print(desk: Desk, made: tuple[bytes, str]) -> None:
    """Against colour-science: CIELAB D50 to sRGB through Bradford."""
    kelp = next(it for it in desk.run.translations if it.colour == "kelp")
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    xyz = colour.Lab_to_XYZ(kelp.predicted_lab, white)
    rgb = colour.XYZ_to_RGB(xyz, "sRGB", white, "Bradford", apply_cctf_encoding=True)
    first = made[1][made[1].index("The colours, by name") :]
    patches = re.findall(r'<div style="background:#(\w{6})"></div>', first)
    assert np.allclose(list(bytes.fromhex(patches[0])), np.clip(rgb, 0, 1) * 255, atol=1.5)


def test_the_paper_is_the_orders(desk: Desk, made: tuple[bytes, str]) -> None:
    data = desk.order.model_dump(mode="json")
    for it in data["pieces"].values():
        it["trim"] = "100x150mm"
    metric = pages(desk, Order.model_validate(data))
    for paper, size in ((made[0], (612, 792)), (metric[0], (595.28, 841.89))):
        with pikepdf.open(io.BytesIO(paper)) as pdf:
            assert [float(it) for it in pdf.pages[0].mediabox[2:]] == pytest.approx(size, abs=0.1)


def test_the_same_order_gives_the_same_bytes(desk: Desk, made: tuple[bytes, str]) -> None:
    assert pages(desk) == made
