"""What did not change is not computed again, and nobody can tell by the files."""

import json
import os

import pytest

from inkaccord.unchanged import MEMORY
from recording_kit import fill_in
from run_kit import change, state, written

pytestmark = pytest.mark.slow


def as_fresh(order, inkaccord, tmp_path):
    """Run into an empty folder, which has nothing to recall from; return what it writes."""
    inkaccord("run", order, "--out", tmp_path / "fresh")
    return written(tmp_path / "fresh")


def test_a_changed_tolerance_fits_and_matches_and_draws_nothing(
    finished, inkaccord, computed, tmp_path
):
    change(finished, "between_pieces: 3,", "between_pieces: 2.9,")
    code, out, err = inkaccord("run", finished)
    assert code == 0, out + err
    assert set(computed) == {"set_pages"}, "lists that speak of it"
    assert written(finished / "out") == as_fresh(finished, inkaccord, tmp_path)
    assert {"fit", "match", "inventory", "prove", "preflight"} <= set(computed)


def test_check_uses_what_the_last_run_found_out_and_adds_nothing(finished, inkaccord, computed):
    before = state(finished)
    code, out, err = inkaccord("check", finished)
    assert code == 0, out + err
    assert computed == []
    assert state(finished) == before


def test_a_new_reading_computes_what_follows_from_its_pair(finished, inkaccord, computed, tmp_path):
    run = json.loads((finished / "out" / "run.json").read_text("utf-8"))
    fitted_at_first = len({(it["device"], it["stock"]) for it in run["translations"]})
    inkaccord("controls", "press@cream", "--order", finished, "--out", tmp_path / "sheets")
    (table,) = (tmp_path / "sheets").glob("*.txt")
    fill_in(table, tmp_path / "read.txt")
    code, out, err = inkaccord("record", table.stem, tmp_path / "read.txt", "--order", finished)
    assert code == 0, out + err
    computed.clear()
    inkaccord("run", finished)
    assert fitted_at_first == 2
    # Its own model, and that of the other stock, whose kin it is.
    assert computed.count("fit") <= 3
    assert computed.count("inventory") == 0
    assert written(finished / "out") == as_fresh(finished, inkaccord, tmp_path)


@pytest.mark.parametrize("harm", ["deleted", "garbled"])
def test_without_a_sound_memory_the_files_are_the_same(finished, inkaccord, harm, tmp_path):
    change(finished, "to_aim: 4}", "to_aim: 3.9}")
    kept = finished / "out" / MEMORY
    if harm == "deleted":
        kept.unlink()
    else:
        size = kept.stat().st_size
        with kept.open("r+b") as file:
            for at in range(0, size, 3000):
                file.seek(at)
                file.write(os.urandom(40))
    code, out, err = inkaccord("run", finished)
    assert code == 0, out + err
    assert written(finished / "out") == as_fresh(finished, inkaccord, tmp_path)


def test_an_unchanged_order_without_its_memory_is_done_again_alike(finished, inkaccord, computed):
    before = written(finished / "out")
    inkaccord("run", finished)
    assert computed == []
    (finished / "out" / MEMORY).unlink()
    code, out, err = inkaccord("run", finished)
    assert code == 0, out + err
    assert computed.count("fit") > 0
    assert written(finished / "out") == before
    computed.clear()
    inkaccord("run", finished)
    assert computed == []
