import io
from collections.abc import Callable

import numpy as np
import pikepdf
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from inkaccord.artwork.inventory.edges import ink_box
from inkaccord.layout.feeding import Feeding, Flap, beyond_printable, feed, single_feed
from inkaccord.layout.model import Edge
from inkaccord.sizes import Box, Sides, Size

A7 = Size.parse("a7-envelope")  # 7.25 × 5.25 in
Draw = Callable[..., bytes]


@pytest.mark.parametrize(
    ("leading", "page", "corner"),
    [
        (Edge.TOP, (522, 378), (0, 0)),
        (Edge.RIGHT, (378, 522), (1, 0)),
        (Edge.BOTTOM, (522, 378), (1, 1)),
        (Edge.LEFT, (378, 522), (0, 1)),
    ],
)
def test_leading_edge_is_at_the_top_of_the_page(
    draw_art: Draw, leading: Edge, page: tuple[float, float], corner: tuple[int, int]
) -> None:
    """The white square stands at the piece's lower left corner; see where it comes to lie."""
    fed = feed("outer", A7, Feeding(leading=leading))
    assert (fed.page.width_pt, fed.page.height_pt) == pytest.approx(page)

    out = single_feed(draw_art(A7, bleed_pt=0.0, label=""), "outer", A7, Feeding(leading=leading))
    with pikepdf.open(io.BytesIO(out.data)) as pdf:
        assert [float(v) for v in pdf.pages[0].mediabox[2:]] == pytest.approx(page)
        assert [float(v) for v in pdf.pages[0].obj.TrimBox[2:]] == pytest.approx(page)
    with pypdfium2.PdfDocument(out.data) as pdf:
        image = pdf[0].render().to_numpy()[:, :, 0]
    white = np.argwhere(image > 250)
    y, x = white.mean(axis=0)
    assert (int(x > page[0] / 2), int(y < page[1] / 2)) == corner


def test_open_flap_makes_the_page_longer() -> None:
    feeding = Feeding(leading=Edge.BOTTOM, flap=Flap.OPEN, flap_edge=Edge.TOP, flap_depth_pt=100.0)
    fed = feed("outer", A7, feeding)

    assert fed.page.height_pt == pytest.approx(378 + 100)
    # Bottom first: the face lies at the top of the page, the flap trails.
    assert fed.placement.trim == pytest.approx((0, 100, 522, 478))
    assert not fed.findings


def test_what_cannot_print_is_reported() -> None:
    fed = feed("outer", A7, Feeding(leading=Edge.LEFT, margins=Sides.even(12)))
    width, height = fed.page.width_pt, fed.page.height_pt

    assert beyond_printable("outer", fed, None) == ()
    assert beyond_printable("outer", fed, Box(12, 12, width - 12, height - 12)) == ()
    (beyond,) = beyond_printable("outer", fed, Box(20, 20, width - 20, height - 5))
    (whole,) = beyond_printable("outer", fed, Box(0, 0, width, height))
    assert [beyond.code, whole.code] == ["beyond-printable"] * 2
    assert "2.5 mm" in beyond.message
    assert "4.2 mm" in whole.message


def test_margins_stand_as_the_page_is_fed() -> None:
    """The left edge of the envelope leads, so it is what the margin at the top is cut from."""
    fed = feed("outer", A7, Feeding(leading=Edge.LEFT, margins=Sides(top=30)))

    for from_the_left, codes in ((31, []), (28, ["beyond-printable"])):
        data = _covered(A7, Box(from_the_left, 0, A7.width_pt, A7.height_pt))
        written = single_feed(data, "outer", A7, Feeding(leading=Edge.LEFT))
        found = beyond_printable("outer", fed, ink_box(written.data))
        assert [one.code for one in found] == codes


def _covered(size: Size, box: Box) -> bytes:
    """Return a page on which one box is filled."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(size.width_pt, size.height_pt))
    canvas.setFillColorCMYK(0.2, 0.4, 0.1, 0)
    canvas.rect(box.left, box.bottom, box.width, box.height, stroke=0, fill=1)
    canvas.save()
    return file.getvalue()


@pytest.mark.parametrize(
    ("flap", "words"), [(Flap.DOWN, "face up"), (Flap.UP, "face down"), (Flap.NONE, "tray")]
)
def test_flap_is_said(flap: Flap, words: str) -> None:
    fed = feed("outer", A7, Feeding(flap=flap))
    assert words in fed.how
    assert "maker" in fed.how
    assert fed.how.startswith("left edge first")


def test_flaps_that_may_jam() -> None:
    leads = feed("outer", A7, Feeding(leading=Edge.TOP, flap=Flap.DOWN))
    unknown = feed("outer", A7, Feeding(flap=Flap.OPEN))

    assert [f.code for f in leads.findings] == ["flap-leads"]
    assert [f.code for f in unknown.findings] == ["flap-depth-unknown"]
