"""``inkaccord diff``: two orders, or two runs of one, in words."""

import json
import shutil

from run_kit import change, inkaccord


def test_a_reorder_that_nobody_touched_says_so(finished, tmp_path):
    kept = tmp_path / "kept.json"
    shutil.copy(finished / "out" / "run.json", kept)
    shutil.rmtree(finished / "out")
    assert inkaccord("run", finished)[0] == 0
    code, out, _ = inkaccord("diff", kept, finished)
    assert code == 0
    assert out.startswith("Nothing was changed: the same pieces, the same builds, and 2 print file")


def test_what_was_changed_is_said_in_words(finished, tmp_path):
    before = tmp_path / "before"
    shutil.copytree(finished, before)
    change(finished, "suites: 20", "suites: 30")
    change(finished, "lab: [52, -28, 22]", "lab: [54, -26, 22]")
    change(finished, "device: press, stock: white", "device: press, stock: white, fold: vertical")
    said = " ".join(inkaccord("diff", before, finished)[2].split())
    assert "was changed since its last run" in said
    assert inkaccord("run", finished)[0] == 0
    code, out, _ = inkaccord("diff", before, finished)
    assert code == 0
    assert "suites: 20 then, 30 now" in out
    assert "card: 20 copies then, 30 copies now" in out
    assert "card: 'fold' was changed" in out
    assert "leaf: aim CIELAB 52, -28, 22 (D50, 2°) then, CIELAB 54, -26, 22" in out
    said = json.loads(inkaccord("diff", before, finished, "--json")[1])
    assert not said["none"]
    assert {it["colour"] for it in said["builds"]} == {"leaf"}
    assert all("its aim is another" in it["why"][0] for it in said["builds"])
    assert said["files"]


def test_what_was_never_run_and_what_is_no_record_say_so(finished, tmp_path):
    order = tmp_path / "never"
    shutil.copytree(finished, order, ignore=shutil.ignore_patterns("out"))
    code, _, err = inkaccord("diff", finished, order)
    assert code == 2
    assert "was not run yet" in err
    assert "inkaccord run" in err
    other = tmp_path / "other.json"
    other.write_text("{}", "utf-8")
    code, _, err = inkaccord("diff", other, finished)
    assert code == 5
    assert "no run.json that a run of this release left" in err
