"""``inkaccord samples``: where each sheet is on its way, and what is needed by when."""

import datetime
import json
import re
import shutil

import pytest

import run_kit
from inkaccord.cli import samples
from recording_kit import fill_in
from run_kit import run_of

BEFORE, AFTER = datetime.date(2026, 10, 20), datetime.date(2026, 11, 4)


@pytest.fixture
def ids(asked):
    """The ids of the two sheets, that of the envelope last."""
    sheets = {it["stock"]: it["id"] for it in run_of(asked)["samples"]}
    return sheets["white"], sheets["cream"]


def told(inkaccord, order):
    data = json.loads(inkaccord("samples", order, "--json")[1])
    return {it["id"]: it for it in data["sheets"]}


def test_a_sheet_is_planned_sent_back_and_read(asked, ids, inkaccord):
    card, envelope = ids
    assert {it["state"] for it in told(inkaccord, asked).values()} == {"planned"}
    assert inkaccord("shelf", "sent", card, envelope, "--to", "Quay", "--order", asked)[0] == 0
    found = told(inkaccord, asked)
    assert {(it["state"], it["who"]) for it in found.values()} == {("sent", "Quay")}
    back = inkaccord("shelf", "back", card, "--place", "drawer 2", "--order", asked)[1]
    printed = inkaccord("shelf", "printed", envelope, "--order", asked)[1]
    for sheet, out in ((card, back), (envelope, printed)):
        record = f"inkaccord record {sheet} READINGS-FILE --order {asked}"
        assert out.endswith(f"When it is read: {record}\n")
    found = told(inkaccord, asked)
    assert (found[card]["state"], found[card]["who"]) == ("back", "drawer 2")
    fill_in(asked / "out/samples" / f"{card}.txt", asked / "read.txt")
    assert inkaccord("record", card, asked / "read.txt", "--order", asked)[0] == 0
    read = told(inkaccord, asked)[card]
    assert (read["state"], read["reminder"], read["pieces"]) == ("read", "", [])


@pytest.mark.parametrize(
    ("today", "says"),
    [
        (BEFORE, "to be printed or sent by Monday, 2 November 2026, or card is late"),
        (AFTER, "was to be printed or sent by Monday, 2 November 2026: ask, or card is late"),
    ],
)
def test_it_reminds_by_the_due_date(asked, ids, inkaccord, monkeypatch, today, says):
    monkeypatch.setattr(samples, "today", lambda: today)
    out = inkaccord("samples", asked)[1]
    assert f"{ids[0]}: {says}." in out
    words = f"inkaccord samples {asked} studio --sent"
    assert f"When those of studio are off to be printed: {words}\n" in out


def test_each_step_says_what_comes_next(asked, ids, inkaccord):
    card, envelope = ids
    out = inkaccord("samples", asked, "studio", "--sent")[1]
    assert f"When those of studio are back: inkaccord samples {asked} studio --back\n" in out
    out = inkaccord("samples", asked, "studio", "--back")[1]
    read = [
        f"When {it} is read: inkaccord record {it} READINGS-FILE --order {asked}\n" for it in ids
    ]
    assert all(it in out for it in read)
    fill_in(asked / "out/samples" / f"{card}.txt", asked / "read.txt")
    inkaccord("record", card, asked / "read.txt", "--order", asked)
    out = inkaccord("samples", asked)[1]
    assert [it in out for it in read] == [False, True]
    assert "All of them are read" not in out
    fill_in(asked / "out/samples" / f"{envelope}.txt", asked / "read.txt")
    inkaccord("record", envelope, asked / "read.txt", "--order", asked)
    out = inkaccord("samples", asked)[1]
    assert out.endswith(f"All of them are read. Next: inkaccord run {asked}\n")
    assert inkaccord("samples", asked, "--json")[0] == 0
    other = asked.parent / "other"
    other.mkdir()
    text = (asked / "order.yaml").read_text("utf-8")
    (other / "order.yaml").write_text(re.sub("(?m)^order: .*", "order: other", text), "utf-8")
    both = inkaccord("samples", asked, other)[1]
    assert both.endswith(f"All of them are read. Next: inkaccord run {asked}\n"), "other has none"
    assert inkaccord("run", asked)[0] == 0
    assert inkaccord("samples", asked)[1].endswith("All of them are read.\n"), "and nothing waits"


def test_a_run_and_its_report_say_who_has_a_sheet_and_keep_it(asked, ids, inkaccord):
    """What is with a vendor is not withdrawn, and its files stay as they were sent."""
    card, _ = ids
    before = {it.name: it.read_bytes() for it in (asked / "out/samples/studio").iterdir()}
    inkaccord("shelf", "sent", card, "--to", "Quay [Press]", "--order", asked)
    code, out, _ = inkaccord("run", asked)
    assert code == 3
    assert f"Await sheet {card}, which was sent to be printed, on press@white" in out
    assert "Sent to Quay [Press] on" in out
    assert "needed by Monday, 2 November 2026, or card is late." in out
    assert "Sent to Quay [Press] on" in (asked / "out/report.html").read_text("utf-8")
    (sheet,) = (it for it in run_of(asked)["samples"] if it["id"] == card)
    assert (sheet["away"]["to"], sheet["printed"]) == ("Quay [Press]", False)
    assert {it.name: it.read_bytes() for it in (asked / "out/samples/studio").iterdir()} == before


def test_a_wrong_id_among_several_changes_nothing(asked, ids, inkaccord):
    code, _, err = inkaccord("shelf", "sent", ids[0], "NOT-ONE", "--order", asked)
    assert code == 2
    assert "NOT-ONE" in err
    assert {it["state"] for it in told(inkaccord, asked).values()} == {"planned"}


def test_an_order_that_asked_for_none_says_how_to_go_on(order):
    code, out, err = run_kit.inkaccord("samples", order)
    assert (code, out) == (0, "")
    assert f"inkaccord run {order}" in " ".join(err.split())


def test_one_step_is_taken_down_for_all_sheets_of_a_vendor(asked, ids, inkaccord):
    code, out, err = inkaccord("samples", asked, "studio", "--sent")
    assert (code, err) == (0, "")
    assert set(ids) == set(out.splitlines()[0].removesuffix(" are sent.").split(" and "))
    found = told(inkaccord, asked)
    assert {(it["state"], it["who"]) for it in found.values()} == {("sent", "studio")}
    again, _, err = inkaccord("samples", asked, "studio", "--sent")
    assert again == 2
    assert "waits to be marked as sent" in err
    listed = inkaccord("samples", asked)[1]
    assert f"When those of studio are back: inkaccord samples {asked} studio --back\n" in listed
    words = ("samples", asked, "studio", "--back", "--place", "drawer 2", "--json")
    code, out, _ = inkaccord(*words)
    assert (code, set(json.loads(out)["sheets"])) == (0, set(ids))
    found = told(inkaccord, asked)
    assert {(it["state"], it["who"]) for it in found.values()} == {("back", "drawer 2")}


def test_what_is_on_its_way_already_is_left_as_it_was(asked, ids, inkaccord):
    card, envelope = ids
    inkaccord("shelf", "sent", card, "--to", "Quay", "--order", asked)
    out = inkaccord("samples", asked, "studio", "--printed")[1]
    assert out.startswith(f"{envelope} is printed.\n")
    found = told(inkaccord, asked)
    assert (found[card]["state"], found[envelope]["state"]) == ("sent", "printed")


def test_a_step_names_its_vendor(asked, inkaccord):
    assert "say whose sheets" in inkaccord("samples", asked, "--sent")[2]
    assert "did you mean 'studio'?" in inkaccord("samples", asked, "studoi", "--sent")[2]
    assert "add --back" in inkaccord("samples", asked, "studio", "--sent", "--place", "here")[2]
    assert {it["state"] for it in told(inkaccord, asked).values()} == {"planned"}


def test_a_step_may_be_told_days_later(asked, ids, inkaccord):
    card, envelope = ids
    words = ("samples", asked, "studio", "--sent")
    code, _, err = inkaccord(*words, "--on", "2999-01-01")
    assert (code, "still to come" in err) == (2, True)
    assert inkaccord(*words, "--on", "2026-10-20")[0] == 0
    assert {it["since"] for it in told(inkaccord, asked).values()} == {"2026-10-20"}
    words = ("shelf", "back", card, "--on", "2026-10-28", "--order", asked)
    assert inkaccord(*words)[0] == 0
    found = told(inkaccord, asked)
    assert (found[card]["state"], found[card]["since"]) == ("back", "2026-10-28")
    assert found[envelope]["state"] == "sent"


@pytest.fixture
def two(asked, tmp_path):
    """A folder with two orders of the same printed suite, of which the one is due later."""
    folder = tmp_path / "year"
    for name in ("autumn", "spring"):
        shutil.copytree(asked, folder / name)
        text = (folder / name / "order.yaml").read_text("utf-8")
        text = text.replace("order: ", f"order: {name}-", 1)
        (folder / name / "order.yaml").write_text(text, "utf-8")
    later = folder / "spring/order.yaml"
    text = later.read_text("utf-8")
    assert "due: 2026-" in text
    later.write_text(text.replace("due: 2026-", "due: 2027-", 1), "utf-8")
    return folder


def test_several_orders_stand_in_one_list_what_is_due_first(two, ids):
    code, out, err = run_kit.inkaccord("samples", two, "--json")
    data = json.loads(out)
    assert (code, err) == (0, "")
    assert [it.partition("-")[0] for it in data["orders"]] == ["autumn", "spring"]
    listed = [(it["orders"][0].partition("-")[0], it["id"]) for it in data["sheets"]]
    assert [name for name, _ in listed] == ["autumn", "autumn", "spring", "spring"]
    assert {name for _, name in listed} == set(ids)
    by = [it["send_by"] for it in data["sheets"]]
    assert by == sorted(by)
    shown = run_kit.inkaccord("samples", two / "autumn", two / "spring")[1]
    assert shown.count("autumn-") == shown.count("spring-") == 2
    assert f"inkaccord samples {two / 'spring'} studio --sent" in shown


def test_a_vendor_s_sheets_of_several_orders_are_marked_at_once(two, ids):
    code, out, _ = run_kit.inkaccord("samples", two, "studio", "--sent", "--json")
    assert (code, sorted(json.loads(out)["sheets"])) == (0, sorted([*ids, *ids]))
    data = json.loads(run_kit.inkaccord("samples", f"{two}/*", "studio", "--json")[1])
    assert [it["state"] for it in data["sheets"]] == ["sent"] * 4


def test_a_sheet_that_two_orders_wait_for_is_told_once(two):
    shared = ("--shelf", two / "autumn/shelf.sqlite")
    data = json.loads(run_kit.inkaccord("samples", two, *shared, "--json")[1])
    assert [len(it["orders"]) for it in data["sheets"]] == [2, 2]
    autumn = run_kit.inkaccord("samples", two / "autumn", *shared, "--json")[1]
    assert data["sheets"][0]["send_by"] == json.loads(autumn)["sheets"][0]["send_by"]


def test_a_bad_order_hides_no_other(two):
    (two / "spring/order.yaml").write_text("order: [", "utf-8")
    code, out, err = run_kit.inkaccord("samples", two)
    assert code == 2
    assert "spring" in err
    assert "planned" in out
    code, out, _ = run_kit.inkaccord("samples", two, "--json")
    assert (code, len(json.loads(out)["sheets"]), bool(json.loads(out)["findings"])) == (2, 2, True)


def test_an_out_folder_is_that_of_one_order(two):
    assert "--out is for one order" in run_kit.inkaccord("samples", two, "--out", two / "out")[2]


def test_a_word_that_is_neither_order_nor_vendor_is_said(two):
    assert "no vendor 'studoi'" in run_kit.inkaccord("samples", two, "studoi")[2]
    assert "does not exist" in run_kit.inkaccord("samples", two / "summer")[2]
