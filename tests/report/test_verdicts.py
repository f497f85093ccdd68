"""What is said of an agreement: screen, report and agreement sheet name the same worst of it."""

import io

import pytest
from rich.console import Console

from inkaccord.cli.run_summary import _show_agreement
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.report.agreement_page import agreement_page
from inkaccord.report.html import report
from inkaccord.run.agreement import Distance
from inkaccord.run.verdicts import agreement_of, told
from pdf_words import words_of


def distance(piece, other, apart, verdict, **more):
    return Distance(
        colour="slate", piece=piece, other=other, delta_e_00=apart,
        tolerance=2.5, verdict=verdict, **more,
    )  # fmt: skip


BY_EYE = distance("invitation", "reply-card", 2.2, Verdict.UNCERTAIN, uncertainty=5.0, by_eye=True)
MEASURED = distance("invitation", "envelope", 1.4, Verdict.UNCERTAIN, uncertainty=1.9)
"""An eye has judged the first; nothing has judged the second, which lies nearer."""


def test_what_nothing_has_judged_is_worse_than_what_the_eye_has(desk):
    run = desk.run.model_copy(update={"agreement": (BY_EYE, MEASURED)})
    assert agreement_of(run, "slate").worst == MEASURED
    shown = io.StringIO()
    _show_agreement(Console(file=shown, width=140), run)
    assert "invitation and envelope" in shown.getvalue()
    assert "invitation and reply-card" not in shown.getvalue()
    page = report(desk.order, run, desk.bench, desk.gallery).data.decode()
    table = page[page.index("Two pieces, farthest apart") :].partition("</table>")[0]
    assert "invitation and envelope" in table
    assert "invitation and reply-card" not in table
    sheet = words_of(agreement_page(desk.order, run, desk.bench, desk.gallery).data)
    assert "invitation and envelope" in sheet


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (MEASURED, "too uncertain to say"),
        (BY_EYE, "by eye, not measured"),
        (BY_EYE.model_copy(update={"uncertainty": 6.1}), "too uncertain to say, by eye"),
        (MEASURED.model_copy(update={"accepted": "envelope"}), "too uncertain to say, accepted"),
        (distance("invitation", None, 0.2, Verdict.INSIDE, uncertainty=0.5), "surely inside"),
    ],
)
def test_the_same_words_are_said_of_a_distance_everywhere(found, words):
    assert told(found) == words
