"""What a person says on the page of sheets on paper, and takes back again."""

import datetime
import re

import pytest

import run_kit
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, readings_of, sheet_of
from web_kit import OpenPage, PageHere, sheet_of_run, studio, upload, value_on


def shelf_of(opened: OpenPage) -> Shelf:
    return Shelf.open(opened.folder / "tags" / "shelf.sqlite")


def take_back(opened: OpenPage, at: str) -> None:
    """Press the button of the page that a doing led to."""
    word = value_on(opened.get(at).text, "word")
    assert opened.post("/undo", {"word": word}).status == 303
    assert "can&#39;t be taken back" in opened.post("/undo", {"word": word}).text


def test_a_sheet_is_sent_comes_back_and_lies_somewhere(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    at = f"{opened.order}/shelf/{sheet}"
    opened.post(at, {"do": "sent", "said": "the <quay>", "from": "order"})
    assert "the &lt;quay&gt;" in opened.get(opened.order).text
    back = opened.post(at, {"do": "back", "said": "drawer 2", "from": "order"})
    assert "It lies here: drawer 2" in opened.get(opened.order).text
    assert "drawer 2" in opened.get(f"{opened.order}/shelf").text
    with shelf_of(opened) as shelf:
        assert shelf.kept_sheet(sheet).printed_at is not None
    take_back(opened, back.headers["location"])
    with shelf_of(opened) as shelf:
        kept = shelf.kept_sheet(sheet)
    assert kept.printed_at is None
    assert [(it.kind, it.place) for it in kept.moves] == [(MoveKind.SENT, "the <quay>")]


def test_sheets_that_were_sent_are_offered_as_such(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    run_kit.inkaccord("run", opened.folder / "tags")
    assert f"Sample sheet {sheet}" in opened.get(opened.order).text
    opened.post(f"{opened.order}/shelf/{sheet}", {"do": "sent", "said": "Quay", "from": "order"})
    assert run_kit.inkaccord("run", opened.folder / "tags")[0] in {0, 3}
    shown = opened.get(opened.order).text
    assert f"Sample sheet {sheet}" in shown
    assert "It was sent, and lies here still" in shown
    assert "Await sheet" in shown


def test_a_copy_is_lent_and_returned(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    at = f"{opened.order}/shelf/{sheet}"
    opened.post(at, {"do": "back", "said": "drawer 2"})
    opened.post(at, {"do": "lent", "said": "Ada & Ida"})
    shown = opened.get(at).text
    assert "drawer 2, 1 lent to Ada &amp; Ida on" in shown
    assert "in the dark, flat and dry; replace it after" in shown
    done = opened.post(at, {"do": "returned", "said": "Ada & Ida"})
    with shelf_of(opened) as shelf:
        assert shelf.summary(sheet).on_paper.lent == ()
    take_back(opened, done.headers["location"])
    with shelf_of(opened) as shelf:
        assert [it.place for it in shelf.summary(sheet).on_paper.lent] == ["Ada & Ida"]
    assert opened.get(f"{at}/label.pdf").text.startswith("%PDF")


def test_retiring_is_taken_back(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    at = f"{opened.order}/shelf/{sheet}"
    done = opened.post(at, {"do": "retire", "said": "smeared"})
    assert "smeared" in opened.get(at).text
    take_back(opened, done.headers["location"])
    with shelf_of(opened) as shelf:
        assert shelf.kept_sheet(sheet).retired_at is None
    assert opened.post(at, {"do": "burn"}).status == 404


def test_the_reason_of_a_retired_reading_is_had_again(opened: OpenPage) -> None:
    sheet = sheet_of(30, name="R3T-R3T")
    with shelf_of(opened) as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet))
        (record,) = shelf.readings_of_sheet(sheet.id)
        shelf.retire_readings(sheet.id, record.digest, "smeared")
    at = f"{opened.order}/shelf/{sheet.id}"
    used = opened.post(at, {"do": "use-reading", "digest": record.digest})
    take_back(opened, used.headers["location"])
    with shelf_of(opened) as shelf:
        (record,) = shelf.readings_of_sheet(sheet.id, retired=True)
        assert record.retired_why == "smeared"
        shelf.retire(sheet.id)


def test_a_sheet_is_printed_again_from_the_shelf(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    again = opened.get(f"{opened.order}/shelf/{sheet}/sheet.pdf")
    assert again.headers["content-type"] == "application/pdf"
    assert again.text.startswith("%PDF")


def test_a_target_of_others_is_taken_in_and_back(opened: OpenPage) -> None:
    rows = "".join(f"{at},{at * 9},0,0,0,{90 - at * 4},0,0\n" for at in range(10))
    table = f"SAMPLE_ID,CMYK_C,CMYK_M,CMYK_Y,CMYK_K,LAB_L,LAB_A,LAB_B\n{rows}".encode()
    at = f"{opened.order}/target"
    wrong = upload(opened, at, table, pair="nothing")
    assert wrong.status == 409
    assert 'value="nothing"' in wrong.text
    done = upload(opened, at, table, pair="press@card")
    assert done.status == 303, done.text
    sheet = done.headers["location"].partition("/shelf/")[2].partition("?")[0]
    with shelf_of(opened) as shelf:
        assert len(shelf.readings_of_sheet(sheet)[0].readings.readings) == 10
    assert "is a target of others" in opened.get(f"{opened.order}/shelf/{sheet}/sheet.pdf").text
    for path in ("", f"/{sheet}"):
        assert "0 days" not in (page := opened.get(f"{opened.order}/shelf{path}").text)
        assert "today" in page
    word = value_on(opened.get(done.headers["location"]).text, "word")
    back = opened.post("/undo", {"word": word})
    with shelf_of(opened) as shelf:
        assert sheet not in {it.sheet.id for it in shelf.sheets(retired=True)}
    take_back(opened, back.headers["location"])  # and had again
    with shelf_of(opened) as shelf:
        assert len(shelf.readings_of_sheet(sheet)[0].readings.readings) == 10


def test_drift_over_time_is_drawn(opened: OpenPage) -> None:
    first, second = sheet_of(30, name="B2B-B2B"), sheet_of(30, name="C3C-C3C")
    day = datetime.date(2026, 3, 1)
    with shelf_of(opened) as shelf:
        for number, sheet in enumerate((first, second)):
            shelf.add_sheet(sheet)
            read_on = day + datetime.timedelta(days=90 * number)
            shelf.record_readings(readings_of(sheet, seed=number, read_on=read_on))
    page = opened.get(f"{opened.order}/shelf").text
    drawn = re.search(r'<svg class="chart"[^>]*aria-label="([^"]*)"', page)
    assert drawn is not None
    assert f"Drift of the controls of {PAIR}" in drawn[1]
    assert "1 March 2026: 0.0; 30 May 2026" in drawn[1]
    assert "style=" not in page


@pytest.mark.slow
def test_a_tap_marks_all_sheets_of_a_vendor_and_the_order_stays_as_it_was_run(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder = tmp_path_factory.mktemp("round")
    run_kit.inkaccord("run", studio(folder))
    page = PageHere(folder)
    sheet, shown = sheet_of_run(page), page.get(page.order).text
    assert f'name="vendor" value="{value_on(shown, "vendor")}"' in shown
    form = {"vendor": value_on(shown, "vendor"), "said": "Quay"}
    assert page.post(f"{page.order}/samples", form | {"do": "back"}).status == 404
    sent = page.post(f"{page.order}/samples", form | {"do": "sent"}).headers["location"]
    shown = page.get(page.order).text
    assert "Not back yet" in shown
    assert "1 sheet away at Quay since" in page.get("/").text
    assert "It was sent, and lies here still" in shown
    assert "Changed since its last run" not in shown
    take_back(page, sent)
    assert "1 sheet to be printed or sent" in page.get("/").text
    with shelf_of(page) as shelf:
        assert shelf.kept_sheet(sheet).moves == ()
    page.post(f"{page.order}/samples", form | {"do": "sent"})
    back = page.post(f"{page.order}/samples", form | {"do": "back", "said": "drawer 2"})
    shown = page.get(page.order).text
    assert "It lies here: drawer 2" in shown
    assert "Changed since its last run" not in shown
    assert f"Sample sheet {sheet}" not in shown, "it is on paper, and goes to nobody"
    assert "1 sheet on paper, to be read" in page.get("/").text
    take_back(page, back.headers["location"])
    page.post(f"{page.order}/shelf/{sheet}", {"do": "laid", "said": "wall", "light": "yes"})
    assert "Changed since its last run" not in page.get(page.order).text
    page.post(f"{page.order}/shelf/{sheet}", {"do": "retire", "said": "smeared"})
    assert "Changed since its last run" in page.get(page.order).text


def test_copies_and_light_are_said_beside_the_place(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    at = f"{opened.order}/shelf/{sheet}"
    opened.post(at, {"do": "back", "said": "", "copies": "3"})
    opened.post(at, {"do": "laid", "said": "wall", "copies": "", "light": "yes"})
    shown = opened.get(at).text
    assert "It lies in the light: replace it after" in shown
    assert "came back, 3 copies" in shown
    assert opened.post(at, {"do": "lent", "said": "Ada", "on": "2026-10-20"}).status == 303
    assert "20 October 2026: lent: Ada" in opened.get(at).text
    assert "still to come" in opened.post(at, {"do": "lent", "on": "2999-01-01"}).text
    assert "laid: wall, in the light" in shown
    assert value_on(shown, "copies") == ""
    with shelf_of(opened) as shelf:
        found = shelf.summary(sheet).on_paper
    assert (found.copies, found.in_light, found.place) == (3, True, "wall")
    wrong = opened.post(at, {"do": "laid", "said": "the long shelf", "copies": "two"})
    assert wrong.status == 404
    assert "&#39;two&#39; is no number of copies" in wrong.text
    assert "the long shelf" in wrong.text
    with shelf_of(opened) as shelf:
        assert shelf.summary(sheet).on_paper == found
