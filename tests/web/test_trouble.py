"""What goes wrong is said on the page, with what to do; the page lives on, and nothing is lost."""

import os
import re
import shutil
import signal
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from outside import need_program
from web_kit import OpenPage, PageHere, open_page, send_form, sheet_of_run, studio

pytestmark = pytest.mark.slow  # each opens a page of its own


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[OpenPage]:
    """A page of its own, whose order nobody has run."""
    studio(tmp_path)
    yield from open_page(tmp_path)


def run_to_end(opened: OpenPage) -> str:
    """Run the order, and return its page then."""
    opened.post(f"{opened.order}/run", {})
    return opened_after_end(opened)


def test_a_damaged_order_says_so_and_the_others_stay(opened: OpenPage) -> None:
    damaged = opened.folder / "damaged"
    damaged.mkdir()
    (damaged / "order.yaml").write_bytes(b"order: [\xff")
    try:
        orders = opened.get("/").text
        assert "Mend its file" in orders
        key = orders.partition('class="order" href="')[2].partition('"')[0]
        page = opened.get(key)
        assert page.status == 200
        assert "To be mended" in page.text
        for part in ("/suite", "/text"):
            assert opened.get(key + part).status == 200
        for part in ("/shelf", "/again", "/target"):
            assert "That did not work" in opened.get(key + part).text
    finally:
        shutil.rmtree(damaged)
    assert opened.get("/").status == 200


def test_artwork_that_is_gone_is_named(fresh: OpenPage) -> None:
    (fresh.folder / "tags" / "tag.pdf").unlink()
    assert "tag.pdf" in run_to_end(fresh)


def test_a_disk_that_takes_nothing_is_said(fresh: OpenPage) -> None:
    """Where the out folder should be lies a file: the run can write nothing, whoever runs it."""
    (fresh.folder / "tags" / "out").write_text("", "utf-8")
    page = run_to_end(fresh)
    assert "cannot write the file" in page
    assert "see that you may write in its folder" in page


def test_a_disk_that_takes_no_upload_is_said_and_keeps_no_part_of_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files of this page end at 64 kB: as on a full disk the last block is refused."""
    need_program("prlimit", "util-linux")
    orders, temporary = tmp_path / "orders", tmp_path / "temporary"
    orders.mkdir()
    temporary.mkdir()
    monkeypatch.setenv("TMPDIR", str(temporary))
    with contextmanager(open_page)(orders, under=["prlimit", "--fsize=65536"]) as opened:
        files = [("artwork", "card.pdf", b"1" * 1000), ("artwork", "tag.pdf", b"1" * 200_000)]
        answer = send_form(opened, "/begin", {"name": "summer-party"}, files)
        assert answer.status == 500
        assert "free some disk space" in answer.text
        assert "Errno" not in answer.text
        assert "summer-party" in answer.text
        assert list(temporary.rglob("*.pdf")) == []
        assert opened.get("/").status == 200
    assert list(orders.iterdir()) == []


def test_a_run_that_dies_is_said_and_may_be_run_again(fresh: OpenPage) -> None:
    fresh.post(f"{fresh.order}/run", {})
    for child in children_of_page():
        os.kill(child, signal.SIGKILL)
    assert "stopped before its end" in opened_after_end(fresh)
    assert "Print sheet" in run_to_end(fresh)


def opened_after_end(opened: OpenPage) -> str:
    opened.get(f"{opened.order}/progress")
    return opened.get(opened.order).text


def children_of_page() -> list[int]:
    """The runs that pages of this test have begun: grandchildren of ours."""
    for _ in range(200):
        found = [at for at in _below(os.getpid(), 2) if "run" in _words_of(at)]
        if found:
            return found
        time.sleep(0.01)
    raise AssertionError("no run was begun")


def _below(process: int, deep: int) -> list[int]:
    at = [process]
    for _ in range(deep):
        at = [
            int(it)
            for one in at
            for it in Path(f"/proc/{one}/task/{one}/children").read_text("ascii").split()
        ]
    return at


def _words_of(process: int) -> list[str]:
    return Path(f"/proc/{process}/cmdline").read_text("utf-8").split("\0")


@pytest.mark.slow  # what is in use is waited for, half a minute
def test_a_shelf_in_use_is_waited_for_and_what_was_typed_stays(opened: OpenPage) -> None:
    at = f"{opened.order}/shelf/{sheet_of_run(opened)}"
    other = sqlite3.connect(opened.folder / "tags" / "shelf.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        answer = opened.ask_slowly("POST", at, {"do": "laid", "said": "the blue drawer"})
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert "another run is writing" in answer.text.lower()
    assert "the blue drawer" in answer.text
    assert opened.get(opened.order).status == 200


@pytest.mark.parametrize(("part", "inner"), [("text", "order_text"), ("pieces", "held_by")])
def test_a_fault_that_nobody_foresaw_gives_back_what_was_typed(
    part: str,
    inner: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    studio(tmp_path)
    page = PageHere(tmp_path)

    def fall(*_: object) -> None:
        raise ZeroDivisionError("<b>nought</b>")

    at = page.order
    monkeypatch.setattr(f"inkaccord.web.{part}.{inner}", fall)
    typed = {
        "do": "keep",
        "text": "title: 10 < 12\r\n\r\n",
        "field/title": "Tags & labels",
        "was": "0123abcd",
    }
    answer = page.post(f"{at}/{part}", typed)
    assert answer.status == 500
    assert "default-src" in answer.headers["content-security-policy"]
    assert "ZeroDivisionError: &lt;b&gt;nought" in answer.text
    areas = re.findall(r"<textarea readonly[^>]*>\n(.*?)</textarea>", answer.text, re.DOTALL)
    assert areas == ["title: 10 &lt; 12\r\n\r\n", "field/title: Tags &amp; labels"]
    assert "in fall" in caplog.text
