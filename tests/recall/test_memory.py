"""The memory of an out folder: it saves time, and never changes or breaks anything."""

import contextlib
import os
import sqlite3
from functools import partial

import numpy as np
import pytest

from inkaccord.errors import InkaccordError
from inkaccord.recall import memory_file
from inkaccord.recall.memory import Memory
from inkaccord.recall.memory_file import KEPT_ORDERS, KEPT_RUNS, HeldResults, MemoryFile, inputs_key
from inkaccord.recall.recall import computed

CALLS = []


def halves(values: np.ndarray, *, twice: bool = False) -> np.ndarray:
    CALLS.append(values.tolist())
    return values / (4 if twice else 2)


def fails() -> None:
    CALLS.append("fails")
    raise InkaccordError.of("odd", "it can't be done")


@pytest.fixture(autouse=True)
def _no_calls():
    CALLS.clear()


@pytest.fixture
def path(tmp_path):
    return tmp_path / ".memory.sqlite"


def run(path, *numbers, **how):
    """Do what a run does: ask, and save."""
    recall = Memory(path)
    found = [recall(halves, np.array([number]), **how)[0] for number in numbers]
    recall.save()
    return found


def entries(path):
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        return file.execute("SELECT count(*) FROM results").fetchone()[0]


def test_what_was_computed_is_recalled(path):
    assert run(path, 1.0, 2.0, 1.0) == [0.5, 1.0, 0.5]
    assert CALLS == [[1.0], [2.0]]
    assert run(path, 2.0, 3.0) == [1.0, 1.5]
    assert CALLS == [[1.0], [2.0], [3.0]]
    assert run(path, 2.0, twice=True) == [0.5]


def test_what_one_order_computed_is_at_hand_for_the_next(tmp_path):
    for order in ("one", "other", "third"):
        recall = Memory(tmp_path / order, shared=MemoryFile(tmp_path / "shared", KEPT_ORDERS))
        assert recall(halves, np.array([1.0]))[0] == 0.5
        recall.save()
    assert CALLS == [[1.0]]
    assert run(tmp_path / "third", 1.0) == [0.5], "it is in the order's own memory too"
    assert CALLS == [[1.0]]


def test_without_a_memory_everything_is_computed(path):
    assert computed(halves, np.array([3.0])).tolist() == [1.5]
    assert computed(halves, np.array([3.0])).tolist() == [1.5]
    assert len(CALLS) == 2


def test_another_program_beside_it_is_another_result(path):
    for besides in ("one", "other", "one"):
        recall = Memory(path, besides)
        recall(halves, np.array([1.0]))
        recall.save()
    assert len(CALLS) == 2


def test_changed_code_recalls_nothing(path, monkeypatch):
    run(path, 1.0)
    monkeypatch.setattr("inkaccord.recall.memory.digest_of_code", lambda module: "changed")
    run(path, 1.0)
    assert len(CALLS) == 2


def test_what_fails_is_not_kept(path):
    recall = Memory(path)
    for _ in range(2):
        with pytest.raises(InkaccordError):
            recall(fails)
    recall.save()
    assert CALLS == ["fails", "fails"]
    assert not path.exists()


def test_what_the_last_runs_did_not_ask_for_is_forgotten(path):
    run(path, 1.0, 2.0)
    for _ in range(KEPT_RUNS - 1):
        run(path, 2.0)
    assert entries(path) == 2
    run(path, 2.0)
    assert entries(path) == 1
    CALLS.clear()
    run(path, 2.0)
    assert CALLS == []


@pytest.mark.parametrize("damage", [b"", b"no database at all" * 100, b"SQLite format 3\0" * 50])
def test_a_damaged_file_is_computed_anew_and_mended(path, damage):
    run(path, 1.0)
    path.write_bytes(damage)
    assert run(path, 1.0) == [0.5]
    assert run(path, 1.0) == [0.5]
    assert len(CALLS) == 2


@pytest.mark.parametrize("at", [0.3, 0.6, 0.9])
def test_bytes_overwritten_in_its_middle_change_no_result(path, at):
    run(path, *map(float, range(1, 200)))
    data = bytearray(path.read_bytes())
    start = int(at * len(data))
    data[start : start + 500] = os.urandom(500)
    path.write_bytes(data)
    assert run(path, *map(float, range(1, 200))) == [number / 2 for number in range(1, 200)]
    assert run(path, 1.0) == [0.5]


def tamper(path, value):
    """Put another value in the place of every one, with a right checksum where it is bytes."""
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        (key,) = file.execute("SELECT key FROM results").fetchone()
        right = memory_file._sum(key, value) if isinstance(value, bytes) else ""
        file.execute("UPDATE results SET value = ?, digest = ?", (value, right))


@pytest.mark.parametrize(
    "value", [b"true", b'{"$": "subprocess:Popen", "fields": {}}', b"[0.5]", "text", 7]
)
def test_an_entry_that_was_tampered_with_is_computed(path, value):
    run(path, 1.0)
    tamper(path, value)
    assert run(path, 1.0) == [0.5]
    assert len(CALLS) == 2


def test_entries_that_changed_places_are_computed(path):
    run(path, 1.0, 2.0)
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        (one, value, right), (other, *_) = file.execute("SELECT key, value, digest FROM results")
        file.execute(
            "UPDATE results SET value = ?, digest = ? WHERE key = ?", (value, right, other)
        )
    assert one != other
    assert run(path, 1.0, 2.0) == [0.5, 1.0]
    assert len(CALLS) == 3


def test_a_link_is_not_followed(path, tmp_path):
    other = tmp_path / "shelf.sqlite"
    run(other, 1.0)
    before = other.read_bytes()
    path.symlink_to(other)
    run(path, 1.0, 2.0)
    assert other.read_bytes() == before
    assert not path.is_symlink()


def test_two_runs_at_once_keep_what_both_learned(path):
    one, other = Memory(path), Memory(path)
    one(halves, np.array([1.0]))
    other(halves, np.array([2.0]))
    one.save()
    other.save()
    CALLS.clear()
    assert run(path, 1.0, 2.0) == [0.5, 1.0]
    assert CALLS == []


def test_a_run_does_not_wait_for_one_that_writes_for_ever(path, monkeypatch):
    monkeypatch.setattr("inkaccord.recall.memory_file._WAIT_S", 0.01)
    run(path, 1.0)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as busy:
        busy.execute("BEGIN EXCLUSIVE")
        assert run(path, 1.0, 2.0) == [0.5, 1.0]
        busy.execute("ROLLBACK")
    assert entries(path) == 1


def test_where_nothing_can_be_written_nothing_is(tmp_path):
    assert run(tmp_path / "missing" / ".memory.sqlite", 1.0) == [0.5]
    assert list(tmp_path.iterdir()) == []


def test_what_a_run_depended_on_is_known_by_its_record(path):
    recall = Memory(path)
    recall.keep_inputs(b"the record", "digest")
    recall.save()
    with contextlib.closing(MemoryFile(path)) as later:
        assert later.read(inputs_key(b"the record")) == b"digest"
        assert later.read(inputs_key(b"another record")) is None
    assert MemoryFile(path.with_name("missing")).read(inputs_key(b"the record")) is None


def halves_together(calls):
    CALLS.append(len(calls))
    return [None if values.size == 0 else values / 2 for (values,) in calls]


def test_what_is_computed_ahead_is_recalled_and_only_what_is_new_is_computed(path):
    first, second, nothing = np.array([2.0]), np.array([4.0]), np.array([])
    run(path, 2.0)
    CALLS.clear()
    memory = Memory(path)
    memory.ahead([partial(halves, it) for it in (first, second, nothing)], halves_together)
    assert CALLS == [2]
    assert [memory(halves, it).tolist() for it in (first, second)] == [[1.0], [2.0]]
    assert CALLS == [2]
    memory(halves, nothing)
    assert CALLS == [2, []]
    memory.save()
    CALLS.clear()
    with contextlib.closing(Memory(path)) as later:
        later.ahead([partial(halves, it) for it in (first, second)], halves_together)
    assert CALLS == []


def test_what_another_one_learned_is_known_and_saved(path):
    theirs = Memory(HeldResults())
    theirs(halves, np.array([1.0]))
    ours = Memory(path)
    ours.take_over(theirs.learned, theirs.asked)
    assert ours(halves, np.array([1.0])).tolist() == [0.5]
    assert ours(halves, np.array([2.0])).tolist() == [1.0]
    ours.save()
    assert CALLS == [[1.0], [2.0]]
    with contextlib.closing(MemoryFile(path)) as kept:
        found = kept.all()
    assert found.keys() == {*theirs.learned, *ours.learned}
    known = Memory(HeldResults(found))
    assert known(halves, np.array([2.0])).tolist() == [1.0]
    assert CALLS == [[1.0], [2.0]]
    assert MemoryFile(path.with_name("none")).all() == {}


def test_held_results_let_go_of_what_was_asked_for_the_longest_ago(monkeypatch):
    monkeypatch.setattr(memory_file, "MOST_BYTES", 100)
    held = HeldResults({"a": b"1" * 40})
    held.write({"b": b"2" * 40}, ["b"])
    held.write({"c": b"3" * 40}, ["a"])
    assert [held.read(key) for key in "abc"] == [b"1" * 40, None, b"3" * 40]
