"""A mask's geometry, measured in a picture of its page that another program made."""

import datetime
import re
from functools import cache
from itertools import pairwise

import numpy as np
import pypdfium2
import pytest

from inkaccord.cautions import KNIFE
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.mask import HOW_TO_USE, draw_mask, lay_mask
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size
from pdf_words import words_of

DPI = 150
GREY = Build.cmyk(45, 35, 35, 15)
A4 = SheetFormat(size=Size.parse("a4"), unprintable=Sides.even(12.0))


@cache
def sheet(size: str) -> SampleSheet:
    planned = plan_sheet(
        Pair.parse("laser@card"),
        Purpose.CLOSING_IN,
        [
            SwatchGroup(
                colour="slate",
                builds=tuple(Build.cmyk(30, 20, 20, n) for n in range(0, 40, 10)),
                for_eye=True,
            )
        ],
        SheetFormat(size=Size.parse(size)),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
    )
    assert planned is not None
    return planned


def runs(line: np.ndarray) -> list[tuple[int, int]]:
    """Return where a line of pixels is grey: first pixel, and the one past the last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(int)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2) if b - a > 10]


def picture(pdf: bytes) -> np.ndarray:
    """Return where a page is of the colour that covers most of it besides the paper."""
    pixels = pypdfium2.PdfDocument(pdf)[0].render(scale=DPI / 72).to_numpy()[..., :3]
    packed = pixels.astype(int) @ (1 << 16, 1 << 8, 1)
    return np.asarray(packed == np.argsort(np.bincount(packed.ravel()))[-2])


@pytest.mark.slow
@pytest.mark.parametrize("size", ["a4", "a6"])
def test_its_holes_are_the_swatches_size_and_distance_in_a_picture(size: str) -> None:
    of = sheet(size)
    swatch = next(s.box_pt for s in of.swatches if s.for_eye and s.box_pt)
    grey, mm = picture(draw_mask(lay_mask(of, A4, GREY))), 25.4 / DPI
    rows, columns = np.flatnonzero(grey.any(axis=1)), np.flatnonzero(grey.any(axis=0))
    card = grey[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    # Two lines of pixels: down through the left of both holes, beside their words, and across the
    # top of the upper one.
    left = runs(card[card.sum(axis=1).argmin()])[0][1] + 8
    bands = runs(card[:, left])
    across = runs(card[bands[0][1] + 5])
    high, wide = swatch.height * 25.4 / 72 - 2.0, swatch.width * 25.4 / 72 - 2.0
    holes = [(after[0] - before[1]) * mm for before, after in pairwise(bands)]
    assert holes == pytest.approx([high, high], abs=0.5)
    assert [(b - a) * mm for a, b in bands] == pytest.approx([30.0, 3.0, 30.0], abs=0.5)
    assert [(after[0] - before[1]) * mm for before, after in pairwise(across)] == pytest.approx(
        [wide], abs=0.5
    )
    assert [(b - a) * mm for a, b in across] == pytest.approx([30.0, 30.0], abs=0.5)


def test_it_says_how_to_use_it_in_two_sentences_and_how_to_cut() -> None:
    told = words_of(draw_mask(lay_mask(sheet("a4"), A4, GREY)))
    assert len(re.findall(r"\.(?: |$)", HOW_TO_USE)) == 2
    assert " ".join(HOW_TO_USE.split()) in told
    assert " ".join(KNIFE.split()) in told
    for word in (
        "away from yourself",
        "mat",
        "steel rule",
        "maker's instructions",
        "only as neutral",
    ):
        assert word in told
    assert told.count("Cut out") == 2
    assert sheet("a4").id in told


def test_the_same_mask_gives_the_same_bytes_on_the_page_that_was_asked_for() -> None:
    pdf = draw_mask(lay_mask(sheet("a5"), A4, GREY))
    assert draw_mask(lay_mask(sheet("a5"), A4, GREY)) == pdf
    assert pypdfium2.PdfDocument(pdf)[0].get_size() == pytest.approx((595.28, 841.89), abs=0.01)


def test_a_page_without_room_and_a_sheet_that_was_not_drawn_here_are_refused() -> None:
    small = SheetFormat(size=Size.parse("2in x 3.5in"))
    with pytest.raises(OrderError) as caught:
        lay_mask(sheet("a4"), small, GREY)
    assert caught.value.findings[0].code == "sheet-too-small"
    foreign = sheet("a4").model_copy(update={"live_pt": None})
    with pytest.raises(OrderError) as caught:
        lay_mask(foreign, A4, GREY)
    assert caught.value.findings[0].code == "not-drawn-here"
