"""Plugins that misbehave in the middle of a run."""

import datetime
import json
import re
import sys
import types
from pathlib import Path

import pytest

from inkaccord.hooks import Specifications, hookimpl
from run_kit import record_all

pytestmark = pytest.mark.slow

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
    lines = (BROKEN / f"{name}.py").read_text("utf-8").splitlines()
    for finding in blamed:
        assert finding["place"]["file"] == f"{name}.py"
        # The line that raises, or the head of the function that gave what is wrong.
        assert re.match(r"\s+raise |@|def ", lines[finding["place"]["line"] - 1])
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


def test_a_stage_cannot_leave_the_folder(order, inkaccord):
    code, _, err = inkaccord("--plugin", "imposes_outside", "run", order)
    assert code == 2
    assert "imposes_outside" in err
    assert "outside" in err
    assert not list(order.parent.rglob("escaped.pdf"))
    assert not (order / "out" / "run.json").exists()


def test_a_piece_that_a_check_fails_on_is_unchecked_and_stays(finished, inkaccord):
    code, _, _ = inkaccord("--plugin", "raises_when_called", "run", finished)
    run = json.loads((finished / "out" / "run.json").read_text("utf-8"))
    assert code == 4
    assert {piece["why"] for piece in run["pieces"]} == {"checks failed: plugin-failed"}
    assert inkaccord("run", finished)[0] == 0  # without the plugin it goes


HOOKS = {name for name in vars(Specifications) if name.startswith("inkaccord_")}


def listener(asked, *, wrapper):
    """Return a module that hears every hook, and adds nothing."""
    module = types.ModuleType("listens")
    for hook in HOOKS:

        def answer(hook=hook):
            asked.add(hook)

        def round_it(hook=hook):
            asked.add(hook)
            return (yield)

        hears = round_it if wrapper else answer
        # A hook is known by its name; without arguments it takes what it is given.
        hears.__name__, hears.__defaults__ = hook, (hook,)
        setattr(module, hook, hookimpl(wrapper=wrapper)(hears))
    return module


@pytest.mark.parametrize("wrapper", [False, True])
def test_an_outside_plugin_hears_every_hook_and_the_files_stay_the_same(
    order, run_to_its_end, inkaccord, monkeypatch, wrapper
):
    asked = set()
    monkeypatch.setitem(sys.modules, "listens", listener(asked, wrapper=wrapper))

    read = next(run_to_its_end.glob("read-*.txt"))
    then = datetime.datetime.fromtimestamp(read.stat().st_mtime, datetime.UTC).astimezone()

    def heard(*words):
        return inkaccord("--plugin", "listens", *words)

    assert heard("run", order)[0] == 3
    record_all(order, lambda *words: heard(*words, "--on", then.date()))  # midnight may have passed
    assert heard("run", order)[0] == 0
    assert asked == HOOKS - {"inkaccord_executors"}  # that one is for --cluster alone
    plain = {path.relative_to(run_to_its_end): path for path in run_to_its_end.rglob("*.pdf")}
    assert {path.relative_to(order) for path in order.rglob("*.pdf")} == plain.keys()
    assert [
        name for name, path in plain.items() if path.read_bytes() != (order / name).read_bytes()
    ] == []
