"""What was changed since another order, on a page."""

import html
import re
import shutil
from pathlib import Path

import pytest

from run_kit import inkaccord
from web_kit import PageHere, studio, upload


@pytest.mark.slow
def test_two_orders_of_a_folder_are_held_against_each_other(tmp_path: Path) -> None:
    order = studio(tmp_path)
    assert inkaccord("run", order)[0] == 3
    page = PageHere(tmp_path)
    assert "No other order of this folder was run yet" in page.get(f"{page.order}/differences").text

    shutil.copytree(order, tmp_path / "winter")
    at = page.order
    asked = page.get(f"{at}/differences").text
    (other,) = set(re.findall(r'<option value="(\w+)"', asked))
    assert "Nothing was changed" in page.get(f"{at}/differences?since={other}").text

    path = tmp_path / "winter" / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("suites: 10", "suites: 12"), "utf-8")
    assert inkaccord("run", tmp_path / "winter")[0] == 3
    shown = page.get(f"{at}/differences?since={other}").text
    assert {"suites: 10 then, 12 now", "suites: 12 then, 10 now"} & set(
        re.findall(r"<li>(suites[^<]*)</li>", shown)
    )
    assert "Nothing was changed" not in shown


@pytest.mark.slow
def test_an_order_is_held_against_a_run_that_was_kept(tmp_path: Path) -> None:
    order = studio(tmp_path)
    assert inkaccord("run", order)[0] == 3
    kept = order / "earlier" / "run-march.json"
    kept.parent.mkdir()
    shutil.copy(order / "out" / "run.json", kept)
    (order / "run-none.json").write_text("{}", "utf-8")
    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("suites: 10", "suites: 12"), "utf-8")
    assert inkaccord("run", order)[0] == 3
    code, said, _ = inkaccord("diff", kept, order)
    assert code == 0

    page = PageHere(tmp_path)
    at = f"{page.order}/differences"
    asked = page.get(at).text
    ((word, words),) = set(re.findall(r'<option value="(\w+)">([^<]+)</option>', asked))
    assert words.startswith("earlier/run-march.json (tags, ")
    for shown in (page.get(f"{at}?since={word}").text, upload(page, at, kept.read_bytes()).text):
        listed = re.findall(r"<li>([^<]*)</li>", shown.partition("h-found")[2])
        assert [html.unescape(it) for it in listed] == [
            line.strip() for line in said.splitlines() if line.startswith("  ")
        ]
        assert listed

    refused = upload(page, at, b"{}")
    assert refused.status == 409
    assert "this is no run.json" in refused.text
    assert "inkaccord-" not in refused.text
    assert "no file was dropped" in upload(page, at).text
    # Two kept records without the last run, too.
    shutil.copy(order / "out" / "run.json", order / "run-april.json")
    options = dict(re.findall(r'<option value="(\w+)">([^ ]+) ', page.get(at).text))
    april = next(it for it, name in options.items() if name == "run-april.json")
    there = page.get(f"{at}?since={word}&until={april}").text
    assert "suites: 10 then, 12 now" in there
    back = page.get(f"{at}?since={april}&until={word}").text
    assert "suites: 12 then, 10 now" in back
