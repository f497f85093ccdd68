"""Lists on paper: set once where they say the same, with their pictures put in afterwards."""

import io
import subprocess
import sys

import pypdfium2
import pytest
from PIL import Image

from inkaccord.recall.memory import Memory
from inkaccord.report import paper
from inkaccord.report.paper import picture, text, typeset
from inkaccord.sizes import Size

MARGIN_PX = 51
"""18 mm at 72 dpi."""


def png(colour, mode="RGB"):
    """A picture of 6 x 4 pixels, one of them black."""
    shown = Image.new("RGB", (6, 4), colour)
    shown.putpixel((0, 0), (0, 0, 0))
    with io.BytesIO() as packed:
        shown.convert(mode).save(packed, "PNG")
        return packed.getvalue()


def page(*pictures, recall):
    parts = [text("Said"), *(picture(one, 6, 4, (60.0, 40.0)) for one in pictures)]
    return typeset(
        lambda width: parts, size=Size.parse("a4"), title="t", running="r", recall=recall
    )


def pixels(data):
    with pypdfium2.PdfDocument(data) as pdf:
        return pdf[0].render(scale=1).to_pil().convert("RGB")


@pytest.fixture
def counted(monkeypatch):
    """A memory, and how often a page was set with it."""
    times = []
    once = paper.set_pages

    def set_pages(parts, size, title, running) -> bytes:
        times.append(title)
        return once(parts, size, title, running)

    set_pages.__module__ = once.__module__
    monkeypatch.setattr(paper, "set_pages", set_pages)
    return Memory(None), times


def test_a_page_whose_picture_alone_changed_is_not_set_again_and_comes_out_as_if_it_were(counted):
    memory, times = counted
    page(png("red"), png("blue"), recall=memory)
    changed = page(png("green"), png("blue"), recall=memory)
    assert times == ["t"]
    assert changed == page(png("green"), png("blue"), recall=Memory(None))


@pytest.mark.parametrize("mode", ["RGB", "P", "RGBA", "1"])
def test_a_picture_of_any_kind_shows_its_own_pixels(mode, counted):
    shown = pixels(page(png("white", mode), recall=counted[0]))
    first = MARGIN_PX + 13  # below the line of text
    assert shown.getpixel((MARGIN_PX + 5, first + 5)) == (0, 0, 0)
    assert shown.getpixel((MARGIN_PX + 30, first + 20)) == (255, 255, 255)


def test_a_picture_that_stands_twice_is_in_the_file_once(counted):
    noise = io.BytesIO()
    Image.effect_noise((200, 100), 90).convert("RGB").save(noise, "PNG")
    one, two = (page(*[noise.getvalue()] * times, recall=counted[0]) for times in (1, 2))
    assert len(two) < len(one) + 1000


def test_a_part_is_measured_where_nothing_was_drawn_before():
    """As where a run recalls all that it drew, and a letter is measured first of all."""
    words = (
        "from inkaccord.report.paper import heights_of, text; print(*heights_of([text('a')], 99))"
    )
    done = subprocess.run(
        [sys.executable, "-c", words], capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.stderr) == ("12.75\n", "")
