"""A sheet's cuts on the page: beside its picture, never under it, with the caution before them."""

import pypdfium2

from inkaccord.cautions import BLADES
from inkaccord.report.cutting_part import (
    NEVER_ON_EACH_OTHER,
    ON_EACH_OTHER,
    before_cutting,
    cutting_part,
)
from inkaccord.report.paper import typeset
from inkaccord.run.imposed import CutLine, LaidTrim, SheetRun
from inkaccord.sizes import Size
from pdf_words import words_of

LINES = 70


def long_sheet() -> SheetRun:
    return SheetRun(
        number=1, vendor="studio", device="press", stock="card", pieces={"card": 1}, run=3,
        turns=1, width_mm=320, height_mm=450, printable_mm=(4, 4, 316, 446), used=0.5,
        path="studio/x.pdf",
        cut_plan=tuple(f"{n}. set {500 - n}.00 mm (9.000 in)" for n in range(1, LINES + 1)),
        trims=(LaidTrim(piece="card", box_mm=(10, 10, 90, 90), bleed_mm=(7, 7, 93, 93)),),
        cuts=tuple(CutLine(number=n, ends_mm=(4 * n, 0, 4 * n, 450)) for n in range(1, LINES + 1)),
    )  # fmt: skip


def test_the_list_keeps_its_column_on_every_page() -> None:
    pdf = typeset(
        lambda width: cutting_part(long_sheet(), width), size=Size.parse("a4"), title="", running=""
    )
    said = words_of(pdf)
    assert f"{LINES} settings, the pile turned 1 time" in said
    lefts = []
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(document) > 1
        for page in document:
            text = page.get_textpage()
            for at in range(text.count_rects()):
                box = text.get_rect(at)
                if "set" in text.get_text_bounded(*box).split()[:1]:
                    lefts.append(box[0])
    assert len(lefts) == LINES
    assert max(lefts) - min(lefts) < 2
    assert min(lefts) > 0.4 * 595


def test_caution_and_how_it_lies_stand_once_before_the_cuts() -> None:
    laid = [long_sheet(), long_sheet()]
    for numbered, said in (((), ON_EACH_OTHER), (("card",), NEVER_ON_EACH_OTHER)):
        pdf = typeset(
            lambda width, them=numbered: [
                *before_cutting(laid, them),
                *(part for sheet in laid for part in cutting_part(sheet, width)),
            ],
            size=Size.parse("letter"), title="", running="",
        )  # fmt: skip
        words = " ".join(words_of(pdf).split())
        assert words.count(BLADES) == words.count("Front up, head away from you") == 1
        assert words.count(said) == 1
        assert words.index(BLADES) < words.index("set 499.00 mm")
    assert before_cutting([long_sheet().model_copy(update={"cut_plan": ()})], ()) == []
