"""Plugins that misbehave in the middle of a run."""

import json
import sys
from pathlib import Path

import pytest

BROKEN = Path(__file__).parents[1] / "plugins" / "broken"


@pytest.fixture(autouse=True)
def _broken(monkeypatch):
    monkeypatch.syspath_prepend(BROKEN)
    yield
    for module in BROKEN.glob("*.py"):
        sys.modules.pop(module.stem, None)


@pytest.mark.parametrize("name", ["raises_when_called", "gives_nonsense"])
def test_the_order_goes_on_and_the_plugin_is_named(order, inkaccord, name):
    code, _, err = inkaccord("--plugin", name, "run", order)
    assert code == 3, err
    run = json.loads((order / "out" / "run.json").read_text("utf-8"))
    blamed = [it for it in run["findings"] if it["code"] == "plugin-failed"]
    assert {it["source"] for it in blamed} == {name}
    assert (order / "out" / "report.html").exists()


def test_a_delivery_cannot_leave_the_folder_or_take_the_record(order, inkaccord):
    inkaccord("--plugin", "leaves_the_folder", "run", order)
    run = json.loads((order / "out" / "run.json").read_text("utf-8"))
    codes = {it["code"] for it in run["findings"] if it["source"] == "leaves_the_folder"}
    assert codes == {"outside-folder", "file-taken"}
    assert not (order / "escaped.txt").exists()
    assert (order / "out" / "extra" / "fine.txt").read_text() == "fine"
    assert run["order"] == "loop"


def test_a_stage_that_gives_nonsense_stops_the_run_and_is_named(order, inkaccord):
    code, _, err = inkaccord("--plugin", "replaces_a_stage_badly", "run", order)
    assert code == 2
    assert "replaces_a_stage_badly" in err
