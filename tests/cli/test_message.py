"""``inkaccord message``: what to write to a vendor."""

import json
import zipfile

from recording_kit import fill_in
from run_kit import run_of


def test_it_is_what_to_send_with_each_zip(run_to_its_end, inkaccord, inkaccord_json):
    code, said, _ = inkaccord("message", run_to_its_end, "studio")
    assert code == 0
    assert said.startswith("A loop: 2 pieces to print\n")
    data = inkaccord_json("message", run_to_its_end)[1]
    (only,) = data["messages"]
    assert only["message"] == said
    assert zipfile.is_zipfile(only["zip"])


def test_nothing_is_sent_to_a_vendor_whose_sheets_are_on_paper_and_not_yet_read(asked, inkaccord):
    assert inkaccord("message", asked, "studio")[1].startswith("A loop: 2 sample sheets to print")
    for table in (asked / "out/samples").glob("*.txt"):
        inkaccord("shelf", "printed", table.stem, "--order", asked)
    assert "nothing is ready for studio" in inkaccord("message", asked, "studio")[2]
    inkaccord("run", asked)
    assert "nothing is ready for studio" in inkaccord("message", asked, "studio")[2]
    code, out, err = inkaccord("message", asked)
    assert (code, out) == (0, "")
    assert err.startswith("Nothing is ready to be sent yet; 'inkaccord run ")


def test_a_vendor_of_no_name_is_refused(first_run, inkaccord):
    code, out, err = inkaccord("message", first_run[0], "stduio")
    assert (code, out) == (2, "")
    assert "did you mean 'studio'?" in err


def test_what_was_changed_since_the_run_is_run_first(finished, inkaccord):
    path = finished / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("suites: 20", "suites: 30"), "utf-8")
    code, out, _ = inkaccord("message", finished, "--json")
    assert code == 2
    (finding,) = json.loads(out)["findings"]
    assert finding["code"] == "run-first"
    assert f"inkaccord run {finished}" in finding["hint"]


def test_where_sheets_are_changes_no_message_and_a_reading_does(asked, inkaccord):
    before = inkaccord("message", asked, "studio")
    one, other = sorted(it.stem for it in (asked / "out/samples").glob("*.txt"))
    for words in (("sent", one), ("back", one), ("place", one, "drawer 2"), ("lent", one, "Ida")):
        assert inkaccord("shelf", *words, "--order", asked)[0] == 0
        assert inkaccord("message", asked, "studio") == before, words
    fill_in(asked / "out/samples" / f"{other}.txt", asked / "read.txt")
    assert inkaccord("record", other, asked / "read.txt", "--order", asked)[0] == 0
    assert "was not run as it is now" in inkaccord("message", asked, "studio")[2]


def test_a_run_still_says_where_sheets_are_now(finished, inkaccord, computed):
    sheet = run_of(finished)["next"] or run_of(finished)["samples"]
    assert sheet == []
    name = json.loads(inkaccord("shelf", "list", "--order", finished, "--json")[1])["sheets"][0]
    assert inkaccord("shelf", "place", name["id"], "drawer 7", "--order", finished)[0] == 0
    assert inkaccord("run", finished)[0] == 0
    assert "drawer 7" in (finished / "out/report.html").read_text("utf-8")
