"""Time to choose, plan and draw a swatch set, and how it grows with its swatches.

Run ``python tests/benchmarks/swatch_set.py [--json] [--quick]``. Drawing stands beside the least
that any program could do with the same canvas: the same rectangles, builds and words, without
heads, codes or anything measured. The pair's model is fitted to one invented reading of its paper.
"""

import argparse
import datetime
import json
import resource
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np
from scipy.optimize import quadratic_assignment

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.press.model import PressModel, fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.even_set import Spacing, even_set, printable
from inkaccord.colour.sampling.ranges import parse_range
from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing
from inkaccord.sheets.drawing.card_drawing import lay_set_cards
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.keeping import RingCards
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.grid import build_text
from inkaccord.sheets.planning.set_order import range_order, walk
from inkaccord.sheets.planning.swatch_set import lay_swatch_set
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size

LETTER = SheetFormat(size=Size.parse("letter"), unprintable=Sides.even(12))
Result = TypeVar("Result")


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Return seconds of wall time and the result."""
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def press() -> PressModel:
    """Return what a pair prints of which only the paper is read."""
    return fit(
        Readings(
            drive=Drive.CMYK,
            builds=np.zeros((1, 4)),
            xyz=np.array([[83.0, 86.0, 70.0]]),
            sheet=np.zeros(1, dtype=int),
            noise=np.array([0.3]),
        )
    )


def least(sheet: SampleSheet) -> bytes:
    """Draw the sheet's rectangles and words with the bare canvas."""
    drawing = Drawing(sheet.size, title="least")
    canvas = drawing.canvas
    for page in range(1, sheet.pages + 1):
        for swatch in sheet.swatches:
            if swatch.page != page or swatch.box_pt is None:
                continue
            left, bottom, right, top = swatch.box_pt
            canvas.setFillColorCMYK(*(value / 100 for value in swatch.build.values))
            canvas.rect(left, bottom, right - left, top - bottom, stroke=0, fill=1)
            canvas.setFillColorCMYK(0, 0, 0, 1)
            canvas.setFont(BOLD, 7.3)
            canvas.drawString(left, bottom - 8, swatch.id)
            canvas.setFont(REGULAR, 6.3)
            canvas.drawString(left, bottom - 15, build_text(swatch.build))
        canvas.showPage()
    return drawing.bytes()


def measure(model: PressModel, count: int) -> dict[str, float]:
    """Return the seconds of each step for a swatch set of ``count`` swatches."""
    choosing, chosen = timed(lambda: even_set(model, Spacing(count=count), InkPolicy()))

    def plan(page: SheetFormat) -> SampleSheet:
        sheet = lay_swatch_set(
            Pair.parse("laser@smooth-ivory-card"),
            chosen.builds,
            chosen.lab,
            page,
            drive=Drive.CMYK,
            name="autumn set",
            date=datetime.date(2026, 5, 14),
        )
        assert sheet is not None
        return sheet

    draw_sheet(plan(LETTER).model_copy(update={"pages": 1}))  # fonts are loaded once
    planning, sheet = timed(lambda: plan(LETTER))
    drawing, pdf = timed(lambda: draw_sheet(sheet))
    bare, bare_pdf = timed(lambda: least(sheet))
    writing, _ = timed(lambda: write_cgats(sheet))
    cards = RingCards.four_on(LETTER.size)
    carded = plan(cards.page())
    drawn = [DrawnSheet(carded, draw_sheet(carded))]
    laying, _ = timed(lambda: lay_set_cards(drawn, cards, LETTER))
    return {
        "swatches": count,
        "min_delta_e": chosen.min_delta_e,
        "pages": sheet.pages,
        "choose_s": choosing,
        "plan_s": planning,
        "draw_s": drawing,
        "bare_canvas_s": bare,
        "draw_over_bare": drawing / bare,
        "cards_s": laying,
        "text_file_s": writing,
        "pdf_kb": len(pdf) / 1000,
        "bare_pdf_kb": len(bare_pdf) / 1000,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000,
    }


RANGES = ("greens", "deep blues", "greyed reds", "browns", "light colours")
COLUMNS = 8


def measure_walk(model: PressModel, words: str, count: int) -> dict[str, float | str]:
    """Return how far the eye walks over a range's page, beside what a solver finds.

    The sum of ΔE00 between swatches that are neighbours on the page, in ours and in an order by
    chance, each over that of SciPy's ``quadratic_assignment`` (2-opt), which may put every swatch
    anywhere; ours keeps its rows from light to dark.
    """
    region = parse_range(words).among(printable(model, InkPolicy()))
    lab = even_set(model, Spacing(count=count), InkPolicy(), region=region).lab
    place = np.arange(len(lab))
    right = (np.abs(place[:, None] - place) == 1) & (place[:, None] // COLUMNS == place // COLUMNS)
    beside = (right | (np.abs(place[:, None] - place) == COLUMNS)).astype(float)
    apart = np.asarray(delta_e_2000(lab[:, None], lab[None]))
    ours = np.array(range_order(place, lab, COLUMNS))
    solved = quadratic_assignment(
        beside,
        apart,
        method="2opt",
        options={"partial_guess": np.column_stack([place, ours]), "rng": np.random.default_rng(0)},
    ).col_ind
    chance = np.random.default_rng(0).permutation(len(lab))
    by_solver = walk(lab[solved], COLUMNS)
    return {
        "range": words,
        "ours_over_solver": walk(lab[ours], COLUMNS) / by_solver,
        "chance_over_solver": walk(lab[chance], COLUMNS) / by_solver,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument(
        "--quick", action="store_true", help="a small swatch set, to see that it runs"
    )
    asked = parser.parse_args()
    model = press()
    rows = [measure(model, count) for count in ((100,) if asked.quick else (100, 1000, 3000, 5000))]
    walks = [measure_walk(model, words, 12 if asked.quick else 48) for words in RANGES]
    if asked.json:
        print(json.dumps({"swatch sets": rows, "walks": walks}, indent=2))
        return
    for name in rows[0]:
        print(f"{name:16}" + "".join(f"{row[name]:12.3g}" for row in rows))
    for one in walks:
        print("{range:16}{ours_over_solver:12.3g}{chance_over_solver:12.3g}".format(**one))


if __name__ == "__main__":
    main()
