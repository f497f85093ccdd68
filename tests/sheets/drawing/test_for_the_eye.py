"""Sheets for the eye, read back from their PDFs by other programs, judged by published profiles."""

import datetime
import io
import re
import subprocess
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pikepdf
import pytest

from benchmarks.virtual_pairs import GHOSTSCRIPT, SCRIBUS, profile_pair
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.direction import Direction
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.knowledge.pairs import paper_readings
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.ladders import laddered
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM
from outside import need_file, need_program

WHITE, KRAFT, DARK = (94.0, 0.0, -2.0), (62.0, 8.0, 22.0), (40.0, 2.0, -8.0)
SLATE, ROSE, LEAF, SEA = (30, 22, 20, 10), (5, 45, 25, 5), (50, 10, 70, 15), (60, 25, 10, 10)
MAIN_HUES = {"redder": 0.0, "yellower": 90.0, "greener": 180.0, "bluer": 270.0}


def unread(paper: tuple[float, float, float]) -> Predictor:
    return fit(paper_readings(Drive.CMYK, paper))


@cache
def planned(
    middle: tuple[float, ...], paper: tuple[float, float, float] = WHITE, size: str = "a4"
) -> SampleSheet:
    model = unread(paper)
    rows = eye_set(model, middle, InkPolicy(total_ink_limit=300))
    sheet = plan_sheet(
        Pair.parse("laser@card"),
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="slate", builds=tuple(Build.cmyk(*r) for r in rows), for_eye=True)],
        SheetFormat(size=Size.parse(size), unprintable=Sides.even(12.0)),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
        settings=SheetSettings.suiting(None, paper[0]),
        look=model,
    )
    assert sheet is not None
    return sheet


class Drawn(NamedTuple):
    """A filled rectangle or a word, from the lower left corner of the page."""

    page: int
    left: float
    bottom: float
    right: float
    top: float
    what: tuple[float, ...] | str


def filled(pdf: bytes) -> list[Drawn]:
    """Return the filled rectangles with their CMYK in percent, as pikepdf reads them."""
    found = []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for number, page in enumerate(document.pages, start=1):
            colour: tuple[float, ...] = ()
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "k":
                    colour = tuple(round(100 * float(value), 2) for value in operands)
                elif str(operator) == "re":
                    x, y, width, height = (float(value) for value in operands)
                    found.append(Drawn(number, x, y, x + width, y + height, colour))
    return [box for box in found if box.right - box.left > 25 and box.top - box.bottom > 25]


def words(pdf: bytes) -> list[Drawn]:
    """Return the words with their places, as poppler reads them."""
    program = need_program("pdftotext", "poppler-utils")
    told = subprocess.run(
        [program, "-bbox", "-", "-"], input=pdf, capture_output=True, check=True
    ).stdout.decode()
    found, page, height = [], 0, 0.0
    for line in told.splitlines():
        numbers = [float(one) for one in re.findall(r'="([\d.]+)"', line)]
        if "<page" in line:
            page, height = page + 1, numbers[1]
        elif "<word" in line:
            left, top, right, bottom = numbers
            what = re.sub("<[^>]*>", "", line).strip()
            found.append(Drawn(page, left, height - bottom, right, height - top, what))
    return found


class DrawnRow(NamedTuple):
    """A row of swatches for the eye: its builds from the left, and the words at either end."""

    builds: list[tuple[float, ...]]
    start: set[str]
    end: set[str]


def rows_of(pdf: bytes) -> list[DrawnRow]:
    """Return the rows for the eye of a PDF from the top: those that run into a dashed window."""
    told, ways = words(pdf), {str(way) for way in Direction}
    cut = [word for word in told if word.what in {"Cut"}]
    boxes = sorted(filled(pdf), key=lambda box: (box.page, -box.top, box.left))
    found = []
    for (page, top), row in groupby(boxes, key=lambda box: (box.page, round(box.top, 1))):
        ones = list(row)
        if not any(word.page == page and 0 < word.bottom - top < 8 for word in cut):
            continue
        bottom, middle = ones[0].bottom, (ones[0].left + ones[-1].right) / 2
        said = [
            word
            for word in told
            if word.page == page and bottom - 40 < word.bottom < bottom
            if str(word.what).strip(",") in ways
        ]
        assert len({round(word.bottom) for word in said}) <= 1
        found.append(
            DrawnRow(
                [box.what for box in ones if not isinstance(box.what, str)],
                {str(word.what).strip(",") for word in said if word.right < middle},
                {str(word.what).strip(",") for word in said if word.left > middle},
            )
        )
    return found


def is_so(way: str, lab: np.ndarray, middle: np.ndarray) -> bool:
    """Tell whether a colour differs from a middle as a word says, both CIELAB."""
    if way in MAIN_HUES:
        angles = (np.degrees(np.arctan2(one[2], one[1])) - MAIN_HUES[way] for one in (lab, middle))
        far, before = (abs((angle + 180.0) % 360.0 - 180.0) for angle in angles)
        return bool(far < before)
    stronger = bool(np.hypot(*lab[1:]) > np.hypot(*middle[1:]))
    lighter = bool(lab[0] > middle[0])
    return {"lighter": lighter, "darker": not lighter}.get(way, stronger is (way == "stronger"))


def twin(rows: list[DrawnRow]) -> tuple[float, ...]:
    """Return the build that stands twice on a sheet."""
    builds = [build for row in rows for build in row.builds]
    (own,) = {build for build in builds if builds.count(build) == 2}
    return own


@pytest.mark.parametrize("profile", [GHOSTSCRIPT, SCRIBUS], ids=["ghostscript", "scribus"])
@pytest.mark.parametrize("middle", [ROSE, LEAF, SEA], ids=["rose", "leaf", "sea"])
def test_what_is_said_at_the_ends_is_so_on_a_published_profile(
    profile: Path, middle: tuple[float, ...]
) -> None:
    """Planned with a press that nobody has read; printed on another, which the words must fit."""
    press = profile_pair(need_file(profile))
    rows = rows_of(draw_sheet(planned(middle)))
    centre = press.lab([twin(rows)])[0]
    wrong = [
        (way, build)
        for row in rows
        for build, ways in ((row.builds[0], row.start), (row.builds[-1], row.end))
        for way in ways
        if not is_so(way, press.lab([build])[0], centre)
    ]
    assert not wrong
    assert sum(len(row.start) + len(row.end) for row in rows) >= 2 * len(rows)


@pytest.mark.parametrize("middle", [SLATE, ROSE, LEAF, SEA])
def test_ladders_run_from_end_to_end_on_a_published_profile(middle: tuple[float, ...]) -> None:
    press = profile_pair(need_file(GHOSTSCRIPT))
    rows = rows_of(draw_sheet(planned(middle)))
    light, strong, hue = rows[:3]
    assert (light.start, light.end) == ({"darker"}, {"lighter"})
    # Slate is so weak that its ladder ends past grey, in another hue.
    assert strong.start <= (set(MAIN_HUES) if middle == SLATE else {"weaker"})
    assert strong.end == {"stronger"}
    assert hue.start | hue.end <= set(MAIN_HUES)
    assert light.builds[2] == strong.builds[2] == twin(rows)
    assert (np.diff(press.lab(light.builds)[:, 0]) > 1.0).all()
    far = press.lab(strong.builds) - press.lab([twin(rows)])
    along = far @ (far[-1] - far[0])
    assert (np.diff(along) > 0.0).all()
    assert all("darker" in row.start and "darker" in row.end for row in rows[3:4])
    assert all("lighter" in row.start and "lighter" in row.end for row in rows[4:])


def test_a_sheet_has_all_that_was_planned_once_and_nothing_marks_the_twin() -> None:
    model = unread(WHITE)
    offered = [
        tuple(float(value) for value in row)
        for row in eye_set(model, SLATE, InkPolicy(total_ink_limit=300))
    ]
    pdf = draw_sheet(planned(SLATE))
    rows = rows_of(pdf)
    assert sorted(build for row in rows for build in row.builds) == sorted(offered)
    told = words(pdf)
    boxes = [box for box in filled(pdf) if box.what == twin(rows)]
    assert len(boxes) == 2
    for box in boxes:
        below = [
            str(word.what)
            for word in told
            if box.left - 1 < word.left < box.right and box.bottom - 32 < word.top < box.bottom
        ]
        assert len(below) == 5  # the id and the numbers
        assert below[1:] == [f"{value:g}" for value in twin(rows)]


@pytest.mark.parametrize(("size", "least"), [("a4", 18.0), ("letter", 18.0), ("a6", 10.9)])
def test_swatches_are_as_large_as_the_page_allows(size: str, least: float) -> None:
    sheet = planned(SLATE, size=size)
    for swatch in sheet.swatches:
        if swatch.for_eye:
            assert swatch.box_pt is not None
            assert swatch.box_pt[3] - swatch.box_pt[1] >= least * PT_PER_MM - 0.02
            assert swatch.box_pt[2] - swatch.box_pt[0] >= swatch.box_pt[3] - swatch.box_pt[1] - 0.02
    if size == "a4":
        widths = [s.box_pt.right - s.box_pt.left for s in sheet.swatches if s.for_eye and s.box_pt]
        assert min(widths) > 30 * PT_PER_MM
        assert sheet.pages == 1


@pytest.mark.parametrize("paper", [WHITE, KRAFT, DARK], ids=["white", "kraft", "dark"])
@pytest.mark.parametrize("size", ["a6", "a5", "a4"])
def test_a_sheet_says_in_three_lines_how_to_look_and_by_every_window_how_to_cut(
    paper: tuple[float, float, float], size: str
) -> None:
    told = words(draw_sheet(planned(SLATE, paper, size)))
    for start in ("Light:", "Hold:", "Look:"):
        (word,) = [word for word in told if word.what == start]
        assert word.top - word.bottom > 6.9  # the height of the type's line: 7 pt and more
    text = " ".join(str(word.what) for word in told)
    assert "north window" in text
    assert "grey card" in text
    assert "second person" in text
    assert text.count("blade") >= len({word for word in told if word.what == "Cut"}) > 0


def test_a_sheet_that_was_laid_out_without_a_look_says_no_ways() -> None:
    """So it is with sheets of earlier versions on a shelf: they are drawn as they were."""
    sheet = plan_sheet(
        Pair.parse("laser@card"),
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="slate", builds=(Build.cmyk(1, 2, 3, 4),) * 2, for_eye=True)],
        SheetFormat(size=Size.parse("a5")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
    )
    assert sheet is not None
    assert not sheet.settings.how_to_look
    told = {word.what for word in words(draw_sheet(sheet))}
    assert not told & {"Light:", "Hold:", "Look:", *map(str, Direction)}


@pytest.mark.parametrize("middle", [(62, 50, 52, 0), (40, 30, 34, 10), (0, 60, 90, 0)])
def test_a_ladder_that_ends_past_grey_or_at_the_reach_says_nothing_untrue(
    middle: tuple[float, ...],
) -> None:
    model = unread(WHITE)
    rows = eye_set(model, middle, InkPolicy(total_ink_limit=300), steps=(3.0, 8.0, 5.0))
    builds = tuple(Build.cmyk(*row) for row in rows)
    ladders = laddered(SwatchGroup(builds=builds, colour="slate", for_eye=True), model)
    (own,) = {build for build in builds if builds.count(build) == 2}
    labs = {one: model.predict_lab(np.array([one.values]))[0] for one in builds}
    said = [
        (str(way), build)
        for ladder in ladders
        for build, ways in zip(ladder.builds, ladder.ways, strict=True)
        for way in ways
    ]
    assert len(said) >= 6
    assert not [one for one in said if not is_so(one[0], labs[one[1]], labs[own])]
    assert sorted(build.values for ladder in ladders for build in ladder.builds) == sorted(
        build.values for build in builds
    )


@pytest.mark.parametrize("middle", [(28, 80, 123), (11, 39, 11), (89, 188, 102)])
def test_what_other_drivers_ask_for_leaves_the_ladders_as_they_are(
    middle: tuple[float, ...],
) -> None:
    """It may stand three times as far out: of a dark colour's mixtures none is a ladder's end."""
    screen = fit(paper_readings(Drive.RGB, WHITE))
    rows = []
    for others in ((), other_drivers(Drive.RGB, WHITE)):
        own = eye_set(screen, middle, InkPolicy(), others=others)
        builds = tuple(Build(drive=Drive.RGB, values=tuple(row)) for row in own.tolist())
        ladders = laddered(SwatchGroup(builds=builds, colour="slate", for_eye=True), screen)
        rows.append({build: at for at, ladder in enumerate(ladders) for build in ladder.builds})
    alone, among = rows
    assert len(among) > len(alone)
    (own,) = {build for build in builds if builds.count(build) == 2}
    assert all(among[build] == row for build, row in alone.items() if build != own)
