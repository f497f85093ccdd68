"""Every benchmark runs: figures are for people, but a broken benchmark measures nothing."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from outside import GHOSTSCRIPT_CMYK, KRITA_CMYK, need_file, need_program

pytestmark = pytest.mark.slow

HERE = Path(__file__).parent
PROFILES = {
    "calibrating": (KRITA_CMYK, "krita-data"),
    "enhancing": (KRITA_CMYK, "krita-data"),
    "glass": (KRITA_CMYK, "krita-data"),
    "many_pairs": (GHOSTSCRIPT_CMYK, "libgs-common"),
    "photographs": (KRITA_CMYK, "krita-data"),
    "picks": (GHOSTSCRIPT_CMYK, "libgs-common"),
    "press_prior": (KRITA_CMYK, "krita-data"),
    "read_and_scanned": (GHOSTSCRIPT_CMYK, "libgs-common"),
    "rgb": (GHOSTSCRIPT_CMYK, "libgs-common"),
    "usual_residual": (KRITA_CMYK, "krita-data"),
}
"""What some of them print on: published profiles, and the Debian packages that carry them."""


@pytest.mark.parametrize(
    "name",
    [
        "bounds",
        "calibrating",
        "conversions",
        "swatch_set",
        "drift",
        "enhancing",
        "glass",
        "growth",
        "impose",
        "loop",
        "many_pairs",
        "page",
        "photographs",
        "picks",
        "press_prior",
        "read_and_scanned",
        "recolour",
        "rgb",
        "scale",
        "second_sheet",
        "shelf",
        "usual_residual",
        "whole_command",
    ],
)
def test_a_quick_run_of_each_benchmark(name):
    if name in PROFILES:
        need_file(*PROFILES[name])
        need_program("transicc", "liblcms2-utils")  # which brings LittleCMS
    done = subprocess.run(
        [sys.executable, HERE / f"{name}.py", "--quick"],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.strip()


def test_the_quick_orders_end():
    done = subprocess.run(
        [sys.executable, HERE / "endings.py", "--quick", "--json"],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    orders = json.loads(done.stdout)
    assert [order["kind"] for order in orders] == ["numbers", "eye alone"]
    for order in orders:
        assert order["ended"], order["why"]
        assert order["ready"] == order["pieces"]
        assert order["rounds"] <= 3
        assert not order["wrong"]


def test_the_judge_sees_a_device_that_prints_otherwise(monkeypatch, tmp_path):
    monkeypatch.syspath_prepend(str(HERE))
    from drawn_orders import draw_order
    from invented_devices import State
    from order_desk import Desk

    desk = Desk(draw_order(10), tmp_path)
    with desk.shelf:
        assert desk.play()["wrong"] == []
        drawn = desk.drawn
        drawn.known_before = next(iter(drawn.devices))
        drawn.drift = State(np.full(4, 0.08), np.full(4, 0.9))  # after all was read
        judged = desk.judged()
    assert judged["ready"] == judged["pieces"]
    assert judged["wrong"]


def test_a_few_gangs_are_laid_no_worse_than_by_an_independent_solver():
    done = subprocess.run(
        [sys.executable, HERE / "gangs.py", "--quick", "--json"],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    rows = json.loads(done.stdout)
    assert len(rows) == 3
    for row in rows:
        assert (row["sheets"], row["layouts"]) <= (row["other_sheets"], row["other_layouts"])
