"""What a person does on the page by its forms alone, and what shelf and order have then."""

import datetime
import json
import re
import shutil
from pathlib import Path
from urllib.parse import urlencode

from artwork_kit import document
from inkaccord.shelf.kept import KeptReadings
from inkaccord.shelf.store import Shelf
from recording_kit import fill_in
from run_kit import inkaccord
from web_kit import ORDER, OpenPage, PageHere, once_known, send_form, sheet_of_run, upload, value_on

DAY = datetime.date(2026, 11, 20)


def test_what_to_do_next_comes_first(opened: OpenPage) -> None:
    orders = once_known(lambda: opened.get("/"))
    assert "Print sheet" in orders
    page = once_known(lambda: opened.get(opened.order))
    assert page.index("What to do next") < page.index("Where it stands")
    assert f"{opened.order}/look/{sheet_of_run(opened)}" in page


def test_a_tap_is_kept_at_once_and_may_be_said_more_exactly(opened: OpenPage) -> None:
    at = f"{opened.order}/look/{sheet_of_run(opened)}"
    who = {"by": "Ada", "light": "north window"}
    first = opened.get(f"{at}?by=Ada&light=north+window").text
    assert "a dried leaf" in first
    tile = value_on(first, "answer")
    answer = opened.post(f"{at}/answer", {**who, "q": "0", "answer": tile})
    assert answer.status == 303
    assert f"Kept: <b>{tile}</b>" in opened.get(answer.headers["location"]).text
    opened.post(f"{at}/answer", {**who, "q": "0", "answer": f"{tile}, a little darker"})
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        (look,) = [it.pick for it in shelf.picks_of_sheet(sheet_of_run(opened))]
    assert (look.swatch, look.nudge, look.by, look.light) == (tile, "darker", "Ada", "north window")
    shown = opened.get(f"{at}?by=Ada&light=north+window&q=0").text
    pressed = re.findall(r'value="([^"]*)" class="(?:plain|tile)" ?aria-pressed="true"', shown)
    assert pressed == [tile, f"{tile}, a little darker"]


def test_an_answer_that_is_none_is_said_and_not_kept(opened: OpenPage) -> None:
    at = f"{opened.order}/look/{sheet_of_run(opened)}"
    answer = opened.post(f"{at}/answer", {"by": "Eve", "light": "", "q": "0", "answer": "Z99"})
    assert answer.status == 409
    assert "Z99" in answer.text
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert "Eve" not in {it.pick.by for it in shelf.picks_of_sheet(sheet_of_run(opened))}


def test_a_sheet_that_is_not_made_for_the_eye_says_so(opened: OpenPage) -> None:
    order = opened.folder / "tags"
    made = inkaccord(
        "controls", "press@card", "--order", order, "--json", "--out", opened.folder / "sheets"
    )
    sheet = json.loads(made[1])["sheet"]
    answer = opened.get(f"{opened.order}/look/{sheet}")
    assert answer.status == 404
    assert "no swatches that were made for the eye" in answer.text
    assert inkaccord("look", sheet, "--colour", "kelp", "--by", "", "--light", "",
                     "--order", order)[0] == 2  # fmt: skip


def test_where_none_is_right_the_rest_of_the_sheet_is_there_to_tap(opened: OpenPage) -> None:
    at = f"{opened.order}/look/{sheet_of_run(opened)}"
    who = {"by": "Una", "light": "", "colour": "kelp"}
    along, whole = (opened.get(f"{at}?{urlencode(who)}&q={number}").text for number in (0, 3))
    assert "Of all of them" in whole
    assert "rest of the sheet" not in along
    paper = "X1"  # a control
    assert f'value="{paper}"' in whole.partition("rest of the sheet")[2]
    answer = opened.post(f"{at}/answer", {**who, "q": "3", "answer": paper})
    kept = opened.get(answer.headers["location"]).text
    assert f"Kept: <b>{paper}</b>" in kept
    assert f"{paper}, unsure" in kept
    assert f"between {paper}" not in kept
    assert f"{paper}, a little" not in kept


def test_a_look_of_another_day_at_one_colour_and_how_sure_is_kept_so(opened: OpenPage) -> None:
    at = f"{opened.order}/look/{sheet_of_run(opened)}"
    who = {"by": "Ida", "light": "", "on": "2026-10-30", "sure": "0.8", "colour": "kelp"}
    first = opened.get(f"{at}?{urlencode(who)}").text
    tile = value_on(first, "answer")
    assert opened.get(f"{at}?{urlencode(who)}&q=0").text == first
    opened.post(f"{at}/answer", {**who, "q": "0", "answer": tile})
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        (look,) = [
            it.pick for it in shelf.picks_of_sheet(sheet_of_run(opened)) if it.pick.by == "Ida"
        ]
    assert (look.picked_on, look.sure, look.colour) == (datetime.date(2026, 10, 30), 0.8, "kelp")
    for wrong, says in (
        ({"on": "x"}, "a date"), ({"on": "2999-01-01"}, "still to come"),
        ({"sure": "3"}, "0 to 1"), ({"colour": "x"}, "x"),
    ):  # fmt: skip
        answer = opened.get(f"{at}?{urlencode(who | wrong)}")
        assert (answer.status, says in answer.text) == (409, True), wrong
        assert 'value="Ida"' in answer.text


def test_readings_are_shown_before_they_are_kept(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    read = opened.folder / "read.txt"
    fill_in(opened.folder / "tags" / "out" / "samples" / f"{sheet}.txt", read)
    at = f"{opened.order}/read/{sheet}"
    shown = upload(opened, at, read.read_bytes())
    assert shown.status == 200
    assert "ΔE00 from what was expected" in shown.text
    assert "the number is how far they lie apart, in ΔE00" in shown.text
    assert "This pair was not read before" in shown.text
    word = value_on(shown.text, "file")
    assert not readings(opened, sheet)
    assert opened.post(f"{at}/keep", {"file": word, "do": "discard"}).status == 303
    assert not readings(opened, sheet)
    shown = upload(opened, at, read.read_bytes(), on="2025-03-02")
    said = {it: value_on(shown.text, it) for it in ("file", "on")}
    kept = opened.post(f"{at}/keep", said | {"do": "keep"})
    assert kept.status == 303
    (one,) = readings(opened, sheet)
    assert one.day == datetime.date(2025, 3, 2), "when it was read, and not when it is kept"
    asked = opened.get(opened.order).text
    assert "Its readings are in, the last of 2 March 2025" in asked
    assert f"Sheet {sheet} is printed here" not in asked, "that is plain by then"
    again = upload(opened, at, read.read_bytes())
    assert again.status == 200
    assert "was not read before" not in again.text
    word = kept.headers["location"].partition("done=")[2]
    assert opened.post("/undo", {"word": word}).status == 303
    assert not readings(opened, sheet)


def test_columns_that_a_file_calls_otherwise_are_named_on_the_form(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    read = opened.folder / "other.txt"
    fill_in(opened.folder / "tags" / "out" / "samples" / f"{sheet}.txt", read, read_on=DAY)
    data = read.read_text("utf-8").replace("LAB_L LAB_A LAB_B", "Lstar astar bstar").encode()
    at = f"{opened.order}/read/{sheet}"
    refused = upload(opened, at, data)
    assert refused.status == 409
    assert 'name="columns"' in refused.text
    columns = "L=Lstar,a=astar,b=bstar"
    shown = upload(opened, at, data, columns=columns)
    assert value_on(shown.text, "columns") == columns
    form = {"file": value_on(shown.text, "file"), "columns": columns, "do": "keep"}
    kept = opened.post(f"{at}/keep", form)
    assert kept.status == 303, kept.text
    assert readings(opened, sheet)


def test_a_sheet_of_several_pages_may_come_in_several_files(opened: OpenPage) -> None:
    sheet = sheet_of_run(opened)
    read = opened.folder / "all.txt"
    fill_in(opened.folder / "tags" / "out" / "samples" / f"{sheet}.txt", read)
    head, _, rest = read.read_text("utf-8").partition("BEGIN_DATA\n")
    rows, _, end = rest.partition("END_DATA")
    lines = rows.splitlines(keepends=True)
    parts = [
        f"{head}BEGIN_DATA\n{''.join(own)}END_DATA{end}".replace(
            f"NUMBER_OF_SETS {len(lines)}", f"NUMBER_OF_SETS {len(own)}"
        ).encode()
        for own in (lines[: len(lines) // 2], lines[len(lines) // 2 :])
    ]
    shown = upload(opened, f"{opened.order}/read/{sheet}", *parts)
    assert f"{len(lines)} readings of sheet {sheet}" in shown.text


def test_a_file_that_is_none_of_the_sheets_says_why(opened: OpenPage) -> None:
    answer = upload(opened, f"{opened.order}/read/{sheet_of_run(opened)}", b"nothing of the kind")
    assert answer.status == 409
    assert "Nothing was kept" in answer.text
    assert "<b>read-0.txt is in no form that is known here" in answer.text


def test_a_mistake_in_the_order_stands_beside_what_was_typed(opened: OpenPage) -> None:
    path = opened.folder / "tags" / "order.yaml"
    before = path.read_bytes()
    page = opened.get(f"{opened.order}/text").text
    was = value_on(page, "was")
    typed = before.decode().replace("suites", "suitse")
    answer = opened.post(f"{opened.order}/text", {"text": typed, "was": was, "do": "keep"})
    assert answer.status == 409
    assert "did you mean &#39;suites&#39;?" in answer.text
    assert "suitse: 10" in answer.text
    assert path.read_bytes() == before
    kept = opened.post(
        f"{opened.order}/text",
        {"text": before.decode() + "# a remark\n", "was": was, "do": "keep"},
    )
    assert kept.status == 303
    assert path.read_bytes() == before + b"# a remark\n"
    again = opened.post(f"{opened.order}/text", {"text": typed, "was": was, "do": "keep"})
    assert "changed elsewhere" in again.text
    shown = opened.get(kept.headers["location"]).text
    word = value_on(shown, "word")
    assert opened.post("/undo", {"word": word}).status == 303
    assert path.read_bytes() == before


def test_what_was_changed_since_is_not_undone(opened: OpenPage) -> None:
    path = opened.folder / "tags" / "order.yaml"
    before = path.read_bytes()
    page = opened.get(f"{opened.order}/text").text
    was = value_on(page, "was")
    kept = opened.post(
        f"{opened.order}/text", {"text": before.decode() + "# one\n", "was": was, "do": "keep"}
    )
    path.write_bytes(before + b"# two\n")
    word = kept.headers["location"].partition("done=")[2]
    answer = opened.post("/undo", {"word": word})
    assert "would be lost" in answer.text
    assert path.read_bytes() == before + b"# two\n"
    path.write_bytes(before)


def test_an_order_is_begun_from_artwork(opened: OpenPage) -> None:
    artwork = (opened.folder / "tags" / "tag.pdf").read_bytes()
    form = {"name": "../winter"}, [("artwork", "card.pdf", artwork)]
    answer = send_form(opened, "/begin", *form)
    assert answer.status == 303
    assert "cmyk 85 20 60 30" in opened.get(answer.headers["location"]).text
    assert (opened.folder / "winter" / "artwork" / "card.pdf").read_bytes() == artwork
    again = send_form(opened, "/begin", *form)
    assert again.status == 409
    assert "not an empty folder" in again.text
    shutil.rmtree(opened.folder / "winter")


def test_an_order_is_begun_from_nothing_as_on_the_command_line(
    opened: OpenPage, tmp_path: Path
) -> None:
    assert "no file was dropped" in opened.post("/begin", {"name": "spring"}).text
    answer = opened.post("/begin", {"name": "spring", "do": "starter"})
    assert answer.status == 303
    assert "It is in order" in once_known(lambda: opened.get(answer.headers["location"]))
    assert inkaccord("new", tmp_path / "spring")[0] == 0
    begun = opened.folder / "spring"
    assert contents(begun) == contents(tmp_path / "spring")
    shutil.rmtree(begun)


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(it.relative_to(folder)): it.read_bytes() for it in folder.rglob("*") if it.is_file()
    }


def test_an_order_is_made_once_more(opened: OpenPage) -> None:
    at = f"{opened.order}/again"
    assert "To think about" in opened.get(at).text
    answer = opened.post(at, {"name": "../next"})
    assert answer.status == 303
    assert "order: next" in opened.get(answer.headers["location"]).text
    again = opened.post(at, {"name": "next"})
    assert again.status == 409
    assert 'value="next"' in again.text
    shutil.rmtree(opened.folder / "next")


def test_a_page_of_one_order_offers_no_other(opened: OpenPage) -> None:
    alone = PageHere(opened.folder / "tags")
    shown = alone.get(alone.order).text
    assert "/again" not in shown
    assert "open the folder that your orders lie in" in shown
    assert "/begin" not in alone.get("/").text
    assert alone.get(f"{alone.order}/again").status == 404
    assert "/again" in opened.get(opened.order).text


def test_a_colour_is_asked_for_without_an_order(opened: OpenPage) -> None:
    page = opened.get(f"{opened.order}/ask?colour=lab+41+-20+8").text
    assert "press<wbr>@card" in page
    assert "cmyk" in page
    assert opened.get(f"{opened.order}/ask?colour=order.yaml").status == 409
    assert opened.get(f"{opened.order}/ask?colour=mauve").status == 409


def readings(opened: OpenPage, sheet: str) -> tuple[KeptReadings, ...]:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        return shelf.readings_of_sheet(sheet)


def test_where_a_check_failed_the_page_asks_to_mend_and_not_to_send(opened: OpenPage) -> None:
    order = opened.folder / "edge"
    order.mkdir()
    unused = ORDER.replace("kelp:", "nowhere:").replace("[cmyk 85 20 60 30]", "[cmyk 9 9 9 9]")
    text = unused.replace("order: tags", "order: edge") + "keep: [cmyk 85 20 60 30]\n"
    (order / "order.yaml").write_text(text, "utf-8")
    (order / "tag.pdf").write_bytes(document(b"0.85 0.2 0.6 0.3 k 0 0 100 60 re f"))
    assert inkaccord("run", order)[0] == 4
    found = re.search(r'href="(/order/\w+)">\s*<h2>edge', opened.get("/").text)
    assert found is not None
    page = opened.get(found[1]).text
    assert "Mend tag, as said above" in page
    assert "send each vendor" not in page
    letter = re.search(r'href="([^"]+artwork-letters/tag\.pdf)"', page)
    assert letter is not None
    assert opened.get(letter[1]).text.startswith("%PDF")
    shutil.rmtree(order)
