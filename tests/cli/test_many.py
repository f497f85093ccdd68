"""Many orders in one go: what comes of each, and that a bad one stops no other."""

import io
import json
import sys
from pathlib import Path

import pytest

from inkaccord.cli import many_runs
from inkaccord.cli.main import STOPPED
from inkaccord.cli.many_shown import run_many
from inkaccord.cli.shared import CalmConsole, Settings
from inkaccord.errors import ExitCode
from inkaccord.recall.memory import Memory
from run_kit import change, run_of, state

BROKEN = Path(__file__).parents[1] / "plugins" / "broken"


@pytest.fixture
def studio(tmp_path, finished, monkeypatch):
    """Four orders: one that is ready, three that can't be run, each for another reason."""
    folder = tmp_path / "autumn"
    folder.mkdir()
    finished.rename(folder / "ball")
    for name, text in (
        ("broken", "order: [\n"),
        ("empty", ""),
        ("wrong", "order: wrong\nsuits: 2\n"),
    ):
        (folder / name).mkdir()
        (folder / name / "order.yaml").write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    return folder


def lines_of(out):
    return [json.loads(line) for line in out.splitlines()]


def test_a_bad_order_stops_no_other_and_the_code_is_the_worst(studio, inkaccord):
    before = state(studio / "ball")
    code, out, err = inkaccord("run", "autumn", "autumn/gone")
    assert code == ExitCode.FILES
    ball, broken, empty, wrong, gone, _, total = out.splitlines()
    assert ball == "autumn/ball: 2 ready, unchanged. Nothing more is asked"
    for line, name in ((broken, "broken"), (empty, "empty"), (wrong, "wrong"), (gone, "gone")):
        assert line.startswith(f"autumn/{name}: failed. ")
        assert f"error autumn/{name}" in err
    assert wrong.startswith("autumn/wrong: failed. date: is missing"), "says what is"
    assert total == "5 orders: 1 ready, 4 failed."
    assert state(studio / "ball") == before
    assert inkaccord("run", "autumn")[0] == ExitCode.WRONG


def test_why_an_order_failed_is_its_error_though_a_warning_stands_first(order, inkaccord):
    change(order, "stocks:\n", "stocks:\n  unused: {size: a4}\n")
    change(order, "trim: ", "trimmed: ")
    _, out, err = inkaccord("run", order, order.parent / "gone")
    assert "stocks.unused: no piece is printed on this stock" in err
    assert "trim: is missing" in out.splitlines()[0]
    assert "unused" not in out


def test_json_is_a_line_for_each_order_and_last_their_sum(studio, inkaccord):
    code, out, _ = inkaccord("run", "--json", "autumn/b*", "autumn/gone")
    ball, broken, gone, total = lines_of(out)
    assert ball == {
        "order": "autumn/ball",
        "exit_code": 0,
        "state": "ready",
        "unchanged": True,
        "pieces": {"ready": 2},
        "next": ["Nothing more is asked"],
        "record": "autumn/ball/out/run.json",
        "findings": [],
    }
    assert [it["code"] for it in broken["findings"]] == ["bad-yaml"]
    assert (gone["state"], gone["record"], gone["exit_code"]) == ("failed", None, 5)
    assert total == {
        "orders": 3, "ended": 3, "exit_code": code, "ready": 1, "waiting": 0, "failed": 2
    }  # fmt: skip


def test_orders_of_one_folder_are_not_run_into_one_out_folder(studio, inkaccord):
    (studio / "ball" / "again.yaml").write_bytes((studio / "ball" / "order.yaml").read_bytes())
    before = state(studio / "ball")
    code, out, err = inkaccord("run", "autumn/ball/*.yaml")
    assert code == ExitCode.WRONG
    assert err.count("would write into one out folder") == 2
    assert "2 orders: 2 failed." in out
    assert state(studio / "ball") == before


def test_what_is_for_one_order_is_refused_for_many(studio, inkaccord):
    for option in (("--out", "x"), ("--watch",)):
        code, _, err = inkaccord("run", "autumn", *option)
        assert (code, f"{option[0]} is for one order" in err) == (2, True)


def test_a_mistake_of_our_own_is_shown_and_stops_no_other(studio, inkaccord, monkeypatch):
    runs = many_runs.run_once

    def once(settings, order, **words):
        return runs(settings, order, **words) if order.name == "ball" else {}["a mistake"]

    monkeypatch.setattr(many_runs, "run_once", once)
    code, out, err = inkaccord("run", "autumn/gone", "autumn/ball", "autumn/gone/too")
    assert code == 1
    assert "Traceback" in err
    assert out.splitlines()[-1] == "3 orders: 1 ready, 2 failed."


def test_stopped_it_says_how_far_it_came(studio, inkaccord, monkeypatch):
    runs = many_runs.run_once

    def once(settings, order, **words):
        if order.name == "empty":
            raise KeyboardInterrupt
        return runs(settings, order, **words)

    monkeypatch.setattr(many_runs, "run_once", once)
    code, out, err = inkaccord("run", "autumn")
    assert (code, "stopped" in err) == (STOPPED, True)
    assert out.splitlines()[-1] == (
        "4 orders: 1 ready, 1 failed; 2 not run yet: the same command goes on there."
    )
    code, out, _ = inkaccord("run", "autumn", "--json")
    assert code == STOPPED
    assert lines_of(out)[-1] == {
        "orders": 4, "ended": 2, "exit_code": 2, "ready": 1, "waiting": 0, "failed": 1
    }  # fmt: skip


@pytest.mark.parametrize("width", [80, 120])
def test_on_a_terminal_a_table_fills(studio, width):
    settings = Settings()
    settings.screen = CalmConsole(
        file=io.StringIO(), force_terminal=True, color_system=None, width=width, height=12
    )
    orders = [studio / name for name in ("ball", "broken", "empty")]
    assert run_many(settings, orders, as_json=False) == ExitCode.WRONG
    filled, _, table = settings.screen.file.getvalue().rpartition("order ")
    assert "of 3" in filled
    lines = table.splitlines()
    assert max(map(len, lines)) <= width
    assert "2 ready, unchanged" in table
    assert lines[-1] == "3 orders: 1 ready, 2 failed."


@pytest.mark.slow
def test_each_is_run_as_if_it_were_alone(order, tmp_path, inkaccord, write_order, monkeypatch):
    """What a plugin did wrong in one order is not laid at the door of the next."""
    monkeypatch.syspath_prepend(BROKEN)
    (tmp_path / "many").mkdir()
    order.rename(tmp_path / "many" / "first")
    for name in ("many/second", "alone"):
        (tmp_path / name).mkdir()
        write_order(tmp_path / name)
        change(tmp_path / name, "order: loop", "order: second")
    learned = []
    learn = Memory._learn

    def noted(self, key, value):
        learned.append(key)
        learn(self, key, value)

    monkeypatch.setattr(Memory, "_learn", noted)
    code, out, err = inkaccord("--plugin", "raises_when_called", "run", tmp_path / "many")
    assert (code, out.splitlines()[-1]) == (3, "2 orders: 2 waiting."), err
    assert len(learned) == len({*learned}), "the artwork of both was measured once"
    once = len(learned)
    assert inkaccord("--plugin", "raises_when_called", "run", tmp_path / "alone")[0] == 3
    sys.modules.pop("raises_when_called")
    assert run_of(tmp_path / "many" / "second") == run_of(tmp_path / "alone")
    assert len(learned) > once, "alone it measures again"
