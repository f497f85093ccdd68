"""``inkaccord message``: what to write to a vendor."""

import json
import zipfile


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
    inkaccord("run", asked)
    assert "nothing is ready for studio" in inkaccord("message", asked, "studio")[2]
    assert inkaccord("message", asked) == (0, "", "Nothing is ready to be sent yet.\n")


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
