"""The picture page of an inventory."""

import base64
import io
import re
from html.parser import HTMLParser

import numpy as np
import pytest
from PIL import Image

from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.inventory.nearest import nearest
from inkaccord.artwork.inventory.page import inventory_page
from inkaccord.colour.paints import Paint
from page_kit import changed, written

CONTENT = (
    "0.84 0.2 0.6 0.3 k 20 200 100 60 re f 0 0 0 1 k 20 20 100 50 re f "
    "1 0 0 rg 30 210 20 20 re f 0 0 1 rg 30 30 10 10 re f 0 0 0 1 k 30 30 10 10 re f"
)
BRAND = {"kelp": [Paint.parse("cmyk 85 20 60 30")]}


class Reader(HTMLParser):
    """Checks that elements close in order, and keeps what was read."""

    VOID = frozenset(("meta", "link", "img", "br"))

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.labels: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in self.VOID:
            self.open.append(tag)
        found = dict(attrs)
        self.ids += [found["id"]] if found.get("id") else []
        self.links += [found["href"]] if found.get("href") else []
        self.labels += [found["aria-label"]] if found.get("aria-label") else []

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def html() -> str:
    data = written(CONTENT)
    found = inventory(data, name="card <draft>.pdf")
    return inventory_page(data, found, nearest=nearest(found, BRAND))


def stencils(html: str) -> list[np.ndarray]:
    urls = re.findall(r"[^-]mask-image:url\(data:image/png;base64,([^)]+)\)", html)
    pictures = [Image.open(io.BytesIO(base64.b64decode(url))) for url in urls]
    return [np.asarray(picture.convert("RGBA"))[..., 3] > 0 for picture in pictures]


def test_it_is_one_sound_file_that_loads_nothing(html: str) -> None:
    reader = Reader()
    reader.feed(html)
    assert reader.open == []
    assert "http" not in html.replace("http://www.w3.org", "")
    assert "card &lt;draft&gt;.pdf" in html
    assert {link.removeprefix("#") for link in reader.links} <= set(reader.ids)
    assert len(reader.ids) == len(set(reader.ids)) == 4


def test_what_needs_a_decision_comes_first(html: str) -> None:
    names = re.findall(r"<h3>([^<]+)</h3>", html)
    assert names == [
        "cmyk 84 20 60 30", "rgb 255 0 0 (#FF0000)", "rgb 0 0 255 (#0000FF)", "cmyk 0 0 0 100",
    ]  # fmt: skip
    assert "3 colours need a decision" in html
    assert "near miss: kelp" in html


def test_a_hidden_colour_says_so(html: str) -> None:
    assert "nowhere to be seen: it is covered" in html


def test_each_colour_stands_where_it_was_painted(html: str) -> None:
    # The order of the cards: near miss, unknown, black; small ones bring a ring.
    masks = stencils(html)
    boxes = []
    for mask in masks:
        rows, columns = np.nonzero(mask)
        height, width = mask.shape
        boxes.append(
            (columns.min() / width * 200, columns.max() / width * 200,
             300 - rows.max() / height * 300, 300 - rows.min() / height * 300)
        )  # fmt: skip
    assert boxes[0] == pytest.approx((20, 120, 200, 260), abs=2)
    assert boxes[1] == pytest.approx((30, 50, 210, 230), abs=2)
    assert boxes[-1] == pytest.approx((20, 120, 20, 70), abs=2)
    assert not masks[0][round(80 / 300 * masks[0].shape[0]), round(40 / 200 * masks[0].shape[1])]


def test_labels_tell_what_the_pictures_show(html: str) -> None:
    reader = Reader()
    reader.feed(html)
    assert any("cmyk 84 20 60 30 on page 1" in label for label in reader.labels)


def test_turned_and_cropped_pages_keep_their_places() -> None:
    def turn(pdf: object) -> None:
        page = pdf.pages[0].obj  # type: ignore[attr-defined]  # a Pdf
        page["/Rotate"] = 90
        page["/CropBox"] = [10, 10, 190, 290]

    data = changed(written("1 0 0 rg 10 10 60 60 re f"), turn)
    (mask, *_) = stencils(inventory_page(data, inventory(data)))
    rows, columns = np.nonzero(mask)
    # Turned clockwise, the lower left corner of the page comes to the upper left.
    assert rows.min() == 0
    assert columns.min() == 0
    assert rows.max() / mask.shape[0] == pytest.approx(60 / 180, abs=0.03)
    assert columns.max() / mask.shape[1] == pytest.approx(60 / 280, abs=0.03)
