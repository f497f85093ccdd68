"""The report: what it says, that it says it the same each time, and that nothing can break in."""

import re
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.knowledge.values import Evidence, Trade
from inkaccord.layout.model import Way
from inkaccord.order.model import Order
from inkaccord.report.glance import glance
from inkaccord.report.html import report
from inkaccord.report.screen import screen_colour
from inkaccord.report.wording import some
from inkaccord.run.agreement import Distance
from inkaccord.run.imposed import WeighedWays
from inkaccord.run.plan import NextStep
from inkaccord.run.record import PieceStatus, Run
from inkaccord.run.verdicts import Sign, agreement_of, at_a_glance
from large_order_kit import large_desk
from report_kit import Desk


class Page(HTMLParser):
    """The elements, links and words of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._mute = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._mute += tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._mute -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._mute:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def of(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


@pytest.fixture(scope="module")
def html(desk: Desk) -> str:
    return desk.html


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_the_six_parts_are_there_in_order_with_headings(page: Page) -> None:
    ids = [attrs.get("id") for attrs in page.of("section")]
    assert ids == ["ready", "pieces", "colours", "pairs", "sheets", "findings"]
    assert len(page.of("h1")) == 1
    assert len(page.of("h2")) == 6
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_it_says_what_is_ready_what_waits_and_what_to_do(page: Page, desk: Desk) -> None:
    for expected in (
        "2 ready",
        "2 held",
        "1 waiting",
        "inkaccord record N53-B4R READINGS-FILE",
        "Print sheet N53-B4R",
        "a screen can't show print exactly",
        "Run the order again.",
        "the waterline is meant to be this fine",
        "small-bleed",
        "33 sheets",
        "to match the museum's slate roof sample, judged by eye",
    ):
        assert expected in page.text, expected
    assert page.text.count("a screen can't show print exactly") == 1


def test_every_piece_is_shown_twice_and_every_picture_has_words(page: Page, desk: Desk) -> None:
    alts = [attrs.get("alt") or "" for attrs in page.of("img")]
    assert all(alts)
    for it in desk.run.pieces:
        assert sum(alt.startswith(f"{it.name}, page 1, original builds") for alt in alts) == 1
        waits = it.name == "lantern-tag"
        shown = sum(alt.startswith(f"{it.name}, page 1, matched builds") for alt in alts)
        assert shown == (0 if waits else 1)
    for attrs in page.of("svg"):
        assert attrs.get("aria-hidden") == "true" or attrs.get("aria-label")


def test_tables_have_captions_and_headers_with_scope(page: Page) -> None:
    assert len(page.of("table")) == len(page.of("caption")) > 8
    assert all(attrs.get("scope") in {"col", "row"} for attrs in page.of("th"))


def test_nothing_is_fetched_and_nothing_runs(page: Page, html: str) -> None:
    assert "script" not in {tag for tag, _ in page.tags}
    for tag, attrs in page.tags:
        for name, value in attrs.items():
            assert not name.startswith("on")
            if name in {"src", "href"}:
                inside = ("data:image/", "#") if tag != "a" else ("#", "./")
                assert str(value).startswith(inside), (tag, value)
                assert ".." not in str(value)
                assert ":" not in str(value).partition(";")[0].removeprefix("data:")
    assert "url(" not in html
    assert "@import" not in html
    policy = next(it["content"] for it in page.of("meta") if it.get("http-equiv"))
    assert "default-src 'none'" in str(policy)


def test_every_build_and_distance_of_the_record_is_on_the_page(page: Page, desk: Desk) -> None:
    for it in desk.run.translations:
        assert str(it.build) in page.text
        assert f"±{it.uncertainty:.1f}" in page.text
    for it in desk.run.agreement:
        assert f"{it.delta_e_00:.1f} ±{it.uncertainty:.1f}" in page.text


def test_the_agreement_follows_from_the_predicted_colours_alone(desk: Desk) -> None:
    """Recomputed from the record: ΔE00 of the pieces' predicted CIELAB."""
    for colour in desk.order.colours:
        shown = agreement_of(desk.run, colour)
        lab = {(t.device, t.stock): np.array(t.predicted_lab)
               for t in desk.run.translations if t.colour == colour}  # fmt: skip
        assert len(shown.groups) == len(lab)
        for row, group in enumerate(shown.groups):
            for column, cell in enumerate(shown.between[row]):
                other = shown.groups[column]
                wanted = delta_e_2000(
                    lab[group.pair.device, group.pair.stock],
                    lab[other.pair.device, other.pair.stock],
                )
                assert cell is not None
                assert cell.delta_e_00 == pytest.approx(float(wanted), abs=0.001)


def test_the_glance_shows_the_worst_that_was_found(desk: Desk) -> None:
    rank = list(Sign)
    glance = at_a_glance(desk.run)
    for (colour, piece), sign in glance.items():
        own = [
            rank.index(Sign.of(it))
            for it in desk.run.agreement
            if it.colour == colour and piece in {it.piece, it.other}
        ]
        measured = [at for at in own if rank[at] is not Sign.BY_EYE]
        assert sign == (rank[max(measured or own)] if own else Sign.UNKNOWN)
    assert set(glance.values()) >= {Sign.INSIDE, Sign.UNCERTAIN, Sign.OUTSIDE, Sign.UNKNOWN}


def test_a_piece_that_was_measured_is_not_blamed_for_one_that_was_judged_by_eye(
    desk: Desk,
) -> None:
    def distance(piece: str, other: str | None, verdict: Verdict, *, by_eye: bool) -> Distance:
        return Distance(
            colour="slate",
            piece=piece,
            other=other,
            delta_e_00=0.3,
            uncertainty=3.5 if by_eye else 0.8,
            tolerance=2.5,
            verdict=verdict,
            by_eye=by_eye,
        )

    run = desk.run.model_copy(
        update={
            "agreement": (
                distance("invitation", "envelope", Verdict.UNCERTAIN, by_eye=True),
                distance("invitation", "reply-card", Verdict.UNCERTAIN, by_eye=True),
                distance("reply-card", "envelope", Verdict.INSIDE, by_eye=False),
            )
        }
    )
    glance = at_a_glance(run)
    assert glance["slate", "invitation"] is Sign.BY_EYE  # slate was picked on its pair
    assert glance["slate", "envelope"] is Sign.INSIDE
    assert glance["slate", "reply-card"] is Sign.INSIDE
    assert glance["slate", "programme"] is Sign.UNKNOWN
    vague = [it.model_copy(update={"uncertainty": 6.1}) for it in run.agreement if it.by_eye]
    unsettled = at_a_glance(run.model_copy(update={"agreement": tuple(vague)}))
    assert unsettled["slate", "invitation"] is Sign.UNCERTAIN  # the eye had too little to see
    worse = run.model_copy(
        update={
            "agreement": (
                *run.agreement,
                distance("invitation", "envelope", Verdict.OUTSIDE, by_eye=True),
            )
        }
    )
    assert at_a_glance(worse)["slate", "envelope"] is Sign.OUTSIDE
    accepted = worse.agreement[-1].model_copy(update={"accepted": "invitation"})
    known = at_a_glance(worse.model_copy(update={"agreement": (*run.agreement, accepted)}))
    assert known["slate", "invitation"] is Sign.OUTSIDE  # and accepted there
    assert known["slate", "envelope"] is Sign.INSIDE
    alone = at_a_glance(worse.model_copy(update={"agreement": (accepted,)}))
    assert alone["slate", "envelope"] is Sign.OUTSIDE  # nothing else is known of it


@pytest.mark.slow
def test_the_glance_can_be_listened_to(desk: Desk) -> None:
    assert (
        "kelp: too uncertain to say on invitation, reply-card, envelope and programme, "
        "not known yet on lantern-tag;"
    ) in glance(desk.run, desk.order, desk.bench).says
    large = large_desk()
    told = glance(large.run, large.order, large.bench).says
    assert "colour-19: surely outside on 60 pieces" in told
    assert len(told) < 2000


def test_the_same_run_gives_the_same_text(desk: Desk, html: str) -> None:
    assert desk.html == html
    assert report(desk.order, desk.run, desk.bench, desk.gallery).path == "report.html"


HOSTILE = "</style></svg><script>alert(1)</script><img src=http://x.example onerror=x>\"'&{{7*7}}"


def test_hostile_words_stay_words(desk: Desk, page: Page) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    for vendor in data["vendors"].values():
        vendor.update(title=HOSTILE, notes=HOSTILE)
    data["colours"]["slate"]["aim"] = {"by_eye": HOSTILE}
    data["colours"]["kelp"]["note"] = HOSTILE
    run: Run = desk.run.model_copy(
        update={
            "title": HOSTILE,
            "pieces": tuple(
                it.model_copy(update={"why": HOSTILE, "waived": {HOSTILE: HOSTILE}})
                for it in desk.run.pieces
            ),
            "translations": tuple(
                it.model_copy(update={"note": HOSTILE, "lost": HOSTILE, "reachable": False})
                for it in desk.run.translations
            ),
            "samples": tuple(
                it.model_copy(update={"why": HOSTILE, "path": HOSTILE}) for it in desk.run.samples
            ),
            "sheets": tuple(
                it.model_copy(update={"path": HOSTILE, "picture": f"<svg>{HOSTILE}</svg>"})
                for it in desk.run.sheets
            ),
            "bounds": (HOSTILE,),
            "ways": (WeighedWays(pair=HOSTILE, stated=True, ways=()),),
            "next": (NextStep(text=HOSTILE, command=HOSTILE),),
            "findings": (
                Diagnostic(code="x", severity=Severity.ERROR, message=HOSTILE, hint=HOSTILE),
            ),
        }
    )
    attacked = Page(desk.but(Order.model_validate(data), run).html)
    known = {tag for tag, _ in page.tags}
    assert {tag for tag, _ in attacked.tags} <= known
    assert len(attacked.of("img")) == len(page.of("img"))
    assert not any(name.startswith("on") for _, attrs in attacked.tags for name in attrs)
    assert attacked.text.count("alert(1)") > 20
    assert "{{7*7}}" in attacked.text


def test_the_cost_of_staying_alike_is_shown_where_there_is_one(desk: Desk) -> None:
    plain = {"invitation": (39.0, -4.0, -12.0), "envelope": (47.0, -2.0, -8.0)}
    alike = {"invitation": (46.0, -2.0, -8.0), "envelope": (47.0, -2.0, -8.0)}
    trades = (
        Trade(
            colour="slate",
            apart=6.2,
            mean_to_aim=2.0,
            to_aim={"invitation": 0.25, "envelope": 4.5},
            labs=plain,
            chosen=True,
        ),
        Trade(
            colour="slate",
            apart=1.1,
            mean_to_aim=3.9,
            to_aim={"invitation": 3.75, "envelope": 4.5},
            labs=alike,
        ),
    )
    run = desk.run.model_copy(update={"trades": trades})
    html = desk.but(run=run).html
    said = Page(html).text
    assert "‘prefer: each-closest’ in the order chooses what is printed" in said
    assert "kept alike 3.8 4.5 1.1 3.9" in said
    assert "printed: each as close as it can be 0.2 4.5 6.2 2.0" in said
    for lab in (*plain.values(), *alike.values()):
        assert f'class="patch" style="background:{screen_colour(lab).hex}"' in html
    assert "invitation from 3.8 to 0.2; envelope from 4.5 to 4.5" in html


def test_pieces_released_without_agreement_are_never_called_fine(desk: Desk) -> None:
    run = desk.run.model_copy(
        update={
            "next": (),
            "pieces": tuple(
                it.model_copy(update={"status": PieceStatus.READY, "why": ""})
                for it in desk.run.pieces
            ),
        }
    )
    said = Page(desk.but(run=run).html).text
    assert "released because the order says so, not because all of it agrees" in said
    assert "kelp, lantern and slate" in said
    assert "Everything is ready." not in said
    agreed = run.model_copy(
        update={
            "agreement": tuple(
                it.model_copy(update={"verdict": Verdict.INSIDE}) for it in run.agreement
            )
        }
    )
    assert "Everything is ready." in Page(desk.but(run=agreed).html).text


@pytest.mark.slow
def test_what_was_judged_by_eye_is_said_first_and_calmly(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    data["accept_by_eye"] = True
    eye = {"verdict": Verdict.UNCERTAIN, "by_eye": True, "uncertainty": 4.0}
    run = desk.run.model_copy(
        update={
            "next": (),
            "pieces": tuple(
                it.model_copy(update={"status": PieceStatus.READY}) for it in desk.run.pieces
            ),
            "agreement": tuple(it.model_copy(update=eye) for it in desk.run.agreement),
        }
    )
    assert any(it.evidence is Evidence.PICKED for it in run.translations)
    said = Page(desk.but(Order.model_validate(data), run).html).text
    assert "Everything is ready." in said
    assert "The order lets the eye decide where nothing was measured: slate on invitation." in said
    data["accept_by_eye"] = False
    assert "Everything is ready." not in Page(desk.but(Order.model_validate(data), run).html).text


def test_what_fills_the_sheets_beyond_the_order_is_said(desk: Desk, html: str, page: Page) -> None:
    row = html.partition('href="#piece-1">invitation<')[2].partition("</tr>")[0]
    assert re.findall(r'<td class="n"[^>]*>(.*?)</td>', row) == ["125", "5", "2", "132"]
    assert "beyond the number ordered" in page.text
    run = desk.run.model_copy(update={"sheets": ()})
    assert "beyond the number ordered" not in Page(desk.but(desk.order, run).html).text


def test_a_piece_that_failed_is_to_be_mended_and_waits_for_nothing(desk: Desk) -> None:
    failed = {"status": PieceStatus.FAILED, "why": "it fits on no sheet"}
    run = desk.run.model_copy(
        update={
            "pieces": tuple(
                it.model_copy(update=failed) if it.name == "lantern-tag" else it
                for it in desk.run.pieces
            ),
        }
    )
    said = Page(desk.but(desk.order, run).html).text
    assert "Mend lantern-tag as said under findings" in said
    assert "not matched: it fits on no sheet" in said
    assert "waits for" not in said
    without = tuple(it for it in run.artworks if it.piece != "lantern-tag")
    said = Page(desk.but(desk.order, run.model_copy(update={"artworks": without})).html).text
    assert "no picture: it fits on no sheet" in said


def test_many_pieces_on_one_pair_are_counted_not_listed() -> None:
    assert some(["a"]) == "a"
    assert some(["a", "b", "c"]) == "a, b and c"
    assert some(["a", "b", "c", "d"]) == "a and 3 more"


def test_the_folders_to_send_are_one_click_away(desk: Desk, page: Page) -> None:
    links = [attrs["href"] for attrs in page.of("a")]
    assert {"./north-quay/", "./millrace/"} <= set(links)
    waiting = "./samples/studio-laser/N53-B4R.pdf"
    assert links.count(waiting) == 2  # beside what to do, and in the list
    assert "./studio-laser/" not in links  # nothing of it is ready


def test_many_colours_are_closed_until_asked_for_and_few_lie_open(desk: Desk, page: Page) -> None:
    assert len(page.of("details")) == len(desk.order.colours) + len(desk.order.pairs_needed())
    assert all("open" in attrs for attrs in page.of("details"))
    ids = {attrs["id"] for _, attrs in page.tags if "id" in attrs}
    for attrs in page.of("a"):
        if str(attrs["href"]).startswith("#"):
            assert str(attrs["href"])[1:] in ids


def test_what_was_never_read_is_called_an_estimate(page: Page) -> None:
    assert page.text.count("an estimate, as this pair has not been read") == 1  # the lantern tag


def test_an_order_of_which_nothing_is_known_still_has_a_report(desk: Desk) -> None:
    run = desk.run.model_copy(
        update={
            "translations": (),
            "agreement": (),
            "sheets": (),
            "findings": (),
            "samples": (),
            "next": (),
            "saved": type(desk.run.saved)(),
            "due": None,
        }
    )
    page = Page(desk.but(run=run).html)
    said = page.text
    assert "Not known yet on" in said
    assert "known by eye only" not in said
    assert "as none is matched yet" in said
    assert not any("matched builds, as" in str(attrs.get("alt")) for attrs in page.of("img"))
    assert "./agreement.pdf" not in {attrs["href"] for attrs in page.of("a")}
    assert "Nothing was found." in said
    assert "No sheet waits." in said


def test_paper_is_weighed_against_work_in_a_table(desk: Desk) -> None:
    way = Way(layouts=5, sheets=72, settings=80, turns=30, mixed=2, cost=171.5, chosen=True)
    few = way.model_copy(update={"layouts": 3, "sheets": 75, "cost": 140.0, "chosen": False})
    weighed = WeighedWays(pair="laser@kraft", stated=False, ways=(way, few))
    page = Page(desk.but(desk.order, desk.run.model_copy(update={"ways": (weighed,)})).html)
    assert "Paper against work" in page.text
    assert "5 72 80 30 2 172 yes 3 75 80 30 2 140" in page.text
    assert "common practice, no source" in page.text
