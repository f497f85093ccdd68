"""A device that drifts: the controls tell, and the order goes on or asks for a new sheet."""

import datetime
import json
import shutil
from dataclasses import dataclass

import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.testing import plain_press
from recording_kit import fill_in
from run_kit import inkaccord, run_of

pytestmark = pytest.mark.slow

SPRING, AUTUMN, LATER = (datetime.date(2026, 3, 2), datetime.date(2026, 9, 21),
                         datetime.date(2026, 9, 28))  # fmt: skip


def fatter(builds):
    """Print as plain_press does, but with a tenth more gain at half tone."""
    share = builds / 100
    return plain_press(100 * np.clip(share + 0.4 * share * (1 - share), 0, 1))


@dataclass(frozen=True)
class Step:
    """One run: its exit code, what it printed, its record and its report."""

    code: int
    out: str
    run: dict
    report: str


def step(order):
    code, out, _ = inkaccord("run", order)
    page = order / "out" / "report.html"
    return Step(code, out, run_of(order), page.read_text("utf-8") if page.exists() else "")


def record(order, run, press, day):
    for sheet in run["samples"]:
        read = order / f"read-{sheet['id']}-{day}.txt"
        fill_in(order / "out" / sheet["table"], read, press, read_on=day)
        assert inkaccord("record", sheet["id"], read, "--order", order)[0] == 0


def set_device(order, text):
    path = order / "order.yaml"
    path.write_text(
        path.read_text("utf-8").replace("ink_limit: 300", f"ink_limit: 300, {text}"), "utf-8"
    )


@pytest.fixture(scope="module")
def way(tmp_path_factory, first_run):
    """One order over half a year: read, old, its controls read on a drifted press, read anew."""
    order = shutil.copytree(first_run[0], tmp_path_factory.mktemp("drift") / "order")
    set_device(order, "stale_after_days: 100")
    record(order, run_of(order), plain_press, SPRING)
    steps = {"old": step(order)}
    record(order, steps["old"].run, fatter, AUTUMN)
    steps["re-anchored"] = step(order)
    steps["shelf"] = json.loads(inkaccord("shelf", "--order", order, "list", "--json")[1])["sheets"]
    set_device(order, "when_drifted: new-sheet")
    steps["asked"] = step(order)
    record(order, steps["asked"].run, fatter, LATER)
    steps["anew"] = step(order)
    return steps


def test_old_readings_ask_for_the_controls_alone(way):
    old = way["old"]
    assert old.code == 3
    assert {it["purpose"] for it in old.run["samples"]} == {"controls"}
    assert {(it["swatches"], it["pages"]) for it in old.run["samples"]} == {(12, 1)}
    assert {it["status"] for it in old.run["pieces"]} == {"held"}
    assert all("its controls come first" in it["why"] for it in old.run["pieces"])
    assert "the controls alone" in old.out
    assert "stale-readings" in {it["code"] for it in old.run["findings"]}
    assert old.run["steadiness"] == []


def test_a_drifted_pair_is_re_anchored_from_its_controls(way):
    it = way["re-anchored"]
    assert {pair["state"] for pair in it.run["steadiness"]} == {"re-anchored"}
    for pair in it.run["steadiness"]:
        (seen,) = pair["compared"]
        assert seen["beyond"]
        assert seen["delta_e_00"] > pair["tolerance"]
        assert seen["swatches"] == 12
        assert (seen["since"], seen["read_on"]) == (str(SPRING), str(AUTUMN))
    codes = [finding["code"] for finding in it.run["findings"]]
    assert codes.count("drifted") == 2
    assert "stale-readings" not in codes
    assert "has drifted: the controls of sheet" in it.out


def test_its_builds_follow_the_drift_with_a_bound_that_holds(way):
    pairs = zip(way["old"].run["translations"], way["re-anchored"].run["translations"], strict=True)
    for old, new in pairs:
        assert "re-anchored by the controls" in new["note"]
        values = [[float(x) for x in it["build"].split()[1:]] for it in (old, new)]
        stale, fresh = delta_e_2000(fatter(np.array(values)), np.array(new["aim_lab"]))
        assert fresh < 0.5 * stale
        assert fresh < new["uncertainty"]


def test_the_report_shows_the_drift(way):
    page = way["re-anchored"].report
    assert "the pair is re-anchored" in page
    assert "drift from 2 on" in page
    assert "the pair is" not in way["old"].report


def test_the_shelf_lists_the_same_drift(way):
    seen = {
        it["compared"][0]["sheet"]: it["compared"][0]["delta_e_00"]
        for it in way["re-anchored"].run["steadiness"]
    }
    listed = {it["id"]: it["drift"] for it in way["shelf"] if it["purpose"] == "controls"}
    assert listed == seen


def test_a_device_may_ask_for_a_new_sheet_instead(way):
    asked = way["asked"]
    assert asked.code == 3
    assert {it["state"] for it in asked.run["steadiness"]} == {"to be read anew"}
    assert {it["status"] for it in asked.run["pieces"]} == {"waiting"}
    assert {it["purpose"] for it in asked.run["samples"]} == {"scouting"}
    assert ": it has drifted and is read anew.\n" in asked.out


def test_a_pair_that_was_read_anew_stands_alone(way):
    anew = way["anew"]
    assert {it["state"] for it in anew.run["steadiness"]} == {"read anew"}
    assert [it["beyond"] for it in anew.run["steadiness"][0]["compared"]] == [True, False]
    assert {it["status"] for it in anew.run["pieces"]} == {"ready"}
    for it in anew.run["translations"]:
        build = np.array([[float(x) for x in it["build"].split()[1:]]])
        assert delta_e_2000(fatter(build)[0], np.array(it["aim_lab"])) < 1.0
