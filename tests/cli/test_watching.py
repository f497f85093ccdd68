"""``run --watch``: what it looks at, and that it runs again, once, when that changes."""

import json
import os
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from inkaccord.cli import watching
from inkaccord.cli.shared import Settings
from inkaccord.cli.watching import WatchedShelf, stamps, wait_for_change, watch_order, watched
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork, read_on_plain_press
from postgres_kit import PASSWORD, own_server


def touch(file: Path, text: str) -> None:
    file.write_text(text, "utf-8")
    later = time.time_ns() + 5_000_000_000 + len(text)  # coarse clocks of some file systems
    os.utime(file, ns=(later, later))


def test_it_looks_at_all_that_a_run_depends_on(order):
    (order / "evidence").mkdir()
    (order / "evidence" / "shelf.json").write_text("{}", "utf-8")
    text = (order / "order.yaml").read_text("utf-8")
    (order / "order.yaml").write_text(text + "evidence: evidence\n", "utf-8")
    files, shelf = watched(Settings(), order)
    assert {file.name for file in files} == {
        "order.yaml",
        "order.diary.json",
        "card.pdf",
        "envelope.pdf",
        "evidence",
        "shelf.json",
    }
    assert shelf.stamps() == {}
    for name in ("shelf.sqlite", "shelf.sqlite-wal"):
        (order / name).touch()
    assert {file.name for file in shelf.stamps()} == {"shelf.sqlite", "shelf.sqlite-wal"}
    (order / "order.yaml").write_text("pieces: [", "utf-8")
    files, shelf = watched(Settings(), order)
    assert (files, shelf.stamps()) == ([order / "order.yaml"], {})


def test_it_waits_until_a_file_rests(tmp_path):
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_text("1", "utf-8")
    found: list[list[Path]] = []
    before = stamps([one, other])

    def look():
        found.append(wait_for_change([one, other], WatchedShelf(None), before, 0.5))

    waiting = threading.Thread(target=look)
    waiting.start()
    time.sleep(0.2)
    for text in ("12", "123", "1234"):
        touch(one, text)
        time.sleep(0.02)
    touch(other, "new")
    waiting.join(timeout=10)
    assert found == [[one, other]]


def test_what_was_changed_meanwhile_is_seen_at_once(tmp_path):
    file = tmp_path / "file"
    file.write_text("1", "utf-8")
    before = stamps([file])
    touch(file, "12")
    assert wait_for_change([file], WatchedShelf(None), before, 0.01) == [file]
    before = stamps([file])
    file.unlink()
    assert wait_for_change([file], WatchedShelf(None), before, 0.01) == [file]


@pytest.fixture
def changes(monkeypatch):
    """Let a list of changes happen, one after each run; then stop."""
    todo = []

    def change(files, shelf, before):
        if not todo:
            raise KeyboardInterrupt
        todo.pop(0)()
        return files[:1]

    monkeypatch.setattr(watching, "wait_for_change", change)
    return todo


@pytest.mark.slow
def test_it_runs_again_through_mistakes_and_mends(order, changes, capsys):
    file = order / "order.yaml"
    text = file.read_text("utf-8")
    changes += [
        lambda: file.write_text(text.replace("suites: 20", "suites: many"), "utf-8"),
        lambda: file.write_text(text.replace("suites: 20", "suites: 30"), "utf-8"),
        lambda: (order / "card.pdf").write_bytes(draw_artwork("5in x 7in")),  # the same again
    ]
    code = watch_order(Settings(), order, out=None, as_json=False)
    printed = capsys.readouterr()
    assert code == 3
    assert printed.out.count("A loop   20 suites") == 1
    assert printed.out.count("A loop   30 suites") == 1
    assert "suites: 'many' is not a whole number" in printed.err
    assert printed.err.count("Changed: order.yaml. Running again.") == 3
    assert printed.err.count("It makes no difference.") == 1


@pytest.mark.slow
def test_as_data_it_gives_a_line_a_run(order, changes, capsys):
    file = order / "order.yaml"
    text = file.read_text("utf-8")
    changes += [lambda: file.write_text(text.replace("suites: 20", "suites: 0"), "utf-8")]
    code = watch_order(Settings(quiet=True), order, out=None, as_json=True)
    first, second = map(json.loads, capsys.readouterr().out.splitlines())
    assert code == 2
    assert (first["exit_code"], first["suites"]) == (3, 20)
    assert second["exit_code"] == 2
    assert "suites" in second["findings"][0]["place"]["field"]


@pytest.mark.slow
def test_what_another_seat_records_on_a_server_is_seen(order, monkeypatch, capsys):
    monkeypatch.setattr(watching, "SERVER_S", 0.1)
    waits, wait = [], watching.wait_for_change
    with own_server() as server:
        monkeypatch.setenv("PGPASSWORD", PASSWORD)

        def other_seat(files, shelf, before):
            if waits:
                raise KeyboardInterrupt
            with Shelf.open(server.address()) as theirs:
                for kept in theirs.sheets():
                    read_on_plain_press(theirs, kept.sheet)
            waits.append(wait(files, shelf, before, 0.05))
            return waits[-1]

        monkeypatch.setattr(watching, "wait_for_change", other_seat)
        settings = Settings(shelf=server.address())
        assert watch_order(settings, order, out=None, as_json=False) == 0
        assert waits == [[Path("the shelf")]]
        assert "Changed: the shelf. Running again." in capsys.readouterr().err


@pytest.mark.slow
def test_a_server_that_does_not_answer_is_asked_again(order, monkeypatch):
    monkeypatch.setattr(watching, "SERVER_S", 0.0)
    said = []
    with own_server() as server:
        monkeypatch.setenv("PGPASSWORD", PASSWORD)
        _, shelf = watched(Settings(shelf=server.address()), order)
        shelf.say = said.append
        with closing(shelf):
            before = shelf.stamps()
            assert before
            server.control("stop")
            assert shelf.stamps() == shelf.stamps() == before
            assert len(said) == 1
            assert "no connection to the shelf's server" in said[0]
            server.control("start")
            assert shelf.stamps() == before
            assert len(said) == 1
