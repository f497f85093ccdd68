"""An order that someone sent writes in its own folder, and its record is not taken at its word."""

import hashlib
import json

import pytest

import inkaccord.out_folder
from inkaccord.shelf.register import is_record_of_ours, remember_record, user_folder
from run_kit import change, run_of


@pytest.mark.parametrize("place", ["../theirs.sqlite", "{tmp}/theirs.sqlite", "link/shelf.sqlite"])
def test_a_shelf_outside_is_asked_about(asked, tmp_path, inkaccord, place):
    (tmp_path / "elsewhere").mkdir()
    (asked / "link").symlink_to(tmp_path / "elsewhere")
    change(asked, "shelf: shelf.sqlite", f"shelf: {place.format(tmp=tmp_path)}")
    code, _, err = inkaccord("run", asked)
    assert code == 2
    assert "order.yaml:" in err
    assert "--shelf" in err
    assert not list(tmp_path.glob("**/theirs.sqlite"))
    assert not list((tmp_path / "elsewhere").iterdir())
    said = next(line for line in err.splitlines() if "--shelf" in line).rpartition("--shelf ")[2]
    assert inkaccord("run", asked, "--shelf", said)[0] == 3


def test_a_shelf_in_the_users_own_folder_is_fine(asked, inkaccord):
    shared = user_folder() / "of-the-studio.sqlite"
    change(asked, "shelf: shelf.sqlite", f"shelf: {shared}")
    assert inkaccord("run", asked)[0] == 3
    assert shared.exists()


def test_an_unknown_persons_folder_is_said(asked, inkaccord):
    code, _, err = inkaccord("run", asked, "--shelf", "~nobody-at-all/shelf.sqlite")
    assert code == 2
    assert "~nobody-at-all" in err


def test_an_out_folder_that_leads_elsewhere_is_asked_about(asked, tmp_path, inkaccord):
    (asked / "out").rename(tmp_path / "elsewhere")
    (asked / "out").symlink_to(tmp_path / "elsewhere")
    before = sorted(tmp_path.joinpath("elsewhere").rglob("*"))
    code, _, err = inkaccord("run", asked)
    assert (code, "--out" in err) == (2, True)
    assert sorted(tmp_path.joinpath("elsewhere").rglob("*")) == before
    assert inkaccord("run", asked, "--out", asked / "out")[0] == 3


def forge(order, *names):
    """Write into an order's record that a run wrote some files."""
    record = run_of(order)
    record["files"] += [
        {
            "path": name,
            "sha256": hashlib.sha256((order / "out" / name).read_bytes()).hexdigest(),
            "size": (order / "out" / name).stat().st_size,
            "what": what,
        }
        for name, what in names
    ]
    (order / "out" / "run.json").write_text(json.dumps(record), "utf-8")


def test_a_forged_record_removes_and_overwrites_nothing(asked, inkaccord):
    mine = asked / "out" / "my notes.txt"
    mine.write_text("of a person", "utf-8")
    table = min((asked / "out" / "samples").glob("*.txt"))
    table.write_text(table.read_text("utf-8") + "# filled in\n", "utf-8")
    filled = table.read_bytes()
    forge(asked, ("my notes.txt", "print"), (f"samples/{table.name}", "sample-table"))
    code, _, err = inkaccord("run", asked)
    assert code == 3
    assert mine.read_text("utf-8") == "of a person"
    assert table.read_bytes() == filled
    assert "my notes.txt" in err
    assert "no run on this computer" in err


def test_a_record_that_names_what_no_run_writes_is_no_trouble(asked, inkaccord):
    record = run_of(asked)
    strange = {"sha256": "0" * 64, "size": 1, "what": "print"}
    record["files"] += [{"path": name, **strange} for name in ("../x", "CON", "a\\b", "a\0b")]
    (asked / "out" / "run.json").write_text(json.dumps(record), "utf-8")
    code, _, err = inkaccord("run", asked)
    assert (code, err) == (3, "")


def test_what_a_run_wrote_is_removed_when_nobody_wants_it(asked, inkaccord):
    tables = {it.name for it in (asked / "out" / "samples").rglob("*.pdf")}
    piece = "  envelope: {artwork: envelope.pdf, trim: a7-envelope, device: press, stock: cream}\n"
    change(asked, piece, "")
    code, _, err = inkaccord("run", asked)
    assert (code, "no run on this computer" in err) == (3, False)
    assert {it.name for it in (asked / "out" / "samples").rglob("*.pdf")} < tables


@pytest.fixture
def broken_off(monkeypatch):
    """Let a run be broken off just before its record is written."""
    write = inkaccord.out_folder.write_if_changed

    def written(path, data):
        if path.name == "run.json":
            raise KeyboardInterrupt
        write(path, data)

    monkeypatch.setattr(inkaccord.out_folder, "write_if_changed", written)


@pytest.mark.slow
def test_what_nobody_wants_is_gone_before_a_record_forgets_it(asked, inkaccord, broken_off):
    tables = {it.name for it in (asked / "out" / "samples").rglob("*.pdf")}
    piece = "  envelope: {artwork: envelope.pdf, trim: a7-envelope, device: press, stock: cream}\n"
    change(asked, piece, "")
    inkaccord("run", asked)
    assert {it.name for it in (asked / "out" / "samples").rglob("*.pdf")} < tables


@pytest.mark.slow
def test_records_are_remembered_up_to_a_thousand():
    for number in range(1003):
        remember_record(str(number).encode())
    assert not is_record_of_ours(b"1")
    assert is_record_of_ours(b"1002")
