"""Ordering again: the same order gives the same bytes, and a change touches what it changes."""

import datetime
import json
import os
import time

import pytest

from inkaccord.testing import draw_artwork
from run_kit import state

NEXT_YEAR = datetime.timedelta(days=400)
FOLLOWS = {
    "studio/order-sheet.pdf",  # shows the piece, and its file's checksum
    "studio/SHA256SUMS",
    "studio/loop-studio.zip",
    "packing-list.pdf",  # shows the piece
    "agreement.pdf",
    "client.pdf",
    "client.html",
    "report.html",
    "run.json",
}
"""What speaks of the changed piece, besides its own files."""


@pytest.fixture
def next_year(monkeypatch):
    """Put every clock forward by more than a year, in another time zone."""
    real = time.time

    class Later(datetime.datetime):
        @classmethod
        def now(cls, tz=None):
            return super().now(tz) + NEXT_YEAR

    def put_forward():
        monkeypatch.setattr(datetime, "datetime", Later)
        monkeypatch.setattr(time, "time", lambda: real() + NEXT_YEAR.total_seconds())
        monkeypatch.setenv("TZ", "Pacific/Kiritimati")
        time.tzset()

    yield put_forward
    monkeypatch.undo()
    time.tzset()


def test_a_reorder_next_year_gives_the_same_bytes(finished, inkaccord, next_year, tmp_path):
    for file in finished.iterdir():  # copied from a backup
        os.utime(file, (0, 0))
    next_year()
    code, out, err = inkaccord("run", finished, "--out", tmp_path / "again")
    assert code == 0, out + err
    first = {name: data for name, (_, data) in state(finished / "out").items()}
    second = {name: data for name, (_, data) in state(tmp_path / "again").items()}
    assert any(name.startswith("studio/") for name in first)
    assert second == first


def test_a_changed_piece_remakes_its_own_files_alone(finished, inkaccord, computed, tmp_path):
    before = state(finished / "out")
    (finished / "card.pdf").write_bytes(draw_artwork("5in x 7in", label="drawn anew"))
    code, out, err = inkaccord("run", finished)
    assert code == 0, out + err
    after = state(finished / "out")
    assert set(after) == set(before)
    written = {name for name in after if after[name][0] != before[name][0]}
    client = {"client.pdf", "client.html"}  # their code tells which artwork is signed for
    assert written == {"studio/loop-card.pdf"} | client | FOLLOWS
    looked = ("inventory", "prove", "preflight", "fit")
    assert [computed.count(it) for it in looked] == [1, 1, 1, 0]
    # What was kept is what would have been made.
    assert inkaccord("run", finished, "--out", tmp_path / "again")[0] == 0
    again = {name: data for name, (_, data) in state(tmp_path / "again").items()}
    assert {name: data for name, (_, data) in after.items()} == again


def test_another_ink_limit_checks_every_piece_anew(finished, inkaccord, computed):
    path = finished / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("ink_limit: 300", "ink_limit: 290"), "utf-8")
    assert inkaccord("run", finished)[0] == 0
    assert computed.count("preflight") == 2


@pytest.mark.slow
def test_what_failed_is_looked_at_again(finished, inkaccord):
    """A finding that holds a piece back is kept with it, and goes when the artwork is mended."""
    good = (finished / "card.pdf").read_bytes()
    (finished / "card.pdf").write_bytes(draw_artwork("5in x 7in", bleed_in=0))
    for _ in range(2):  # the second run finds the first one's finding
        assert inkaccord("run", finished)[0] == 4
        run = json.loads((finished / "out" / "run.json").read_text("utf-8"))
        assert {it["name"]: it["status"] for it in run["pieces"]}["card"] == "failed"
        (finished / "envelope.pdf").write_bytes(
            draw_artwork("a7-envelope", bleed_in=0, label="again")
        )
    (finished / "card.pdf").write_bytes(good)
    assert inkaccord("run", finished)[0] == 0


def test_a_piece_that_fits_no_sheet_leaves_the_ready_files_of_the_others(finished, inkaccord):
    """The poster has the colour and the pair that the order knows, and no sheet takes it."""
    text = (finished / "order.yaml").read_text("utf-8")
    poster = (
        "pieces:\n  poster: {artwork: poster.pdf, trim: 12in x 9in, device: press, stock: white}"
    )
    (finished / "order.yaml").write_text(text.replace("pieces:", poster, 1), "utf-8")
    (finished / "poster.pdf").write_bytes(draw_artwork("12in x 9in"))
    before = state(finished / "out")
    code, out, err = inkaccord("check", finished)
    assert code == 4, "as its run ends"
    assert "poster fits on no sheet" in err
    code, out, _ = inkaccord("run", finished)
    assert code == 4
    assert "poster fits on no sheet" in out
    after = state(finished / "out")
    for path in ("studio/loop-card.pdf", "studio/loop-envelope.pdf"):
        assert after[path] == before[path], path
    standing = {
        it["name"]: it["status"]
        for it in json.loads((finished / "out" / "run.json").read_text("utf-8"))["pieces"]
    }
    assert standing == {"poster": "failed", "card": "ready", "envelope": "ready"}
