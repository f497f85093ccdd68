"""What an approval covers: all that a client signs for, and nothing else."""

import json
import subprocess
import sys
from collections import Counter

import pytest

from inkaccord.errors import FileError
from inkaccord.order.approving import Approval, approval_now, shown_of
from inkaccord.order.diary import Diary, diary_of, enter, read_diary, strike
from inkaccord.order.loading import load_order


@pytest.fixture
def shown_with(write_order, tmp_path):
    """Return what is shown of the order with some of its text written otherwise."""

    def shown(*changes, artwork=b"one"):
        path = write_order(*changes)
        (tmp_path / "card.pdf").write_bytes(artwork)
        return shown_of(load_order(path, {}))

    return shown


def test_the_same_order_is_the_same_page(shown_with):
    assert shown_with().digest == shown_with().digest
    assert shown_with().code == shown_with().digest[:4].upper() + "-" + (
        shown_with().digest[4:8].upper()
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("suites: 20", "suites: 25"), "card: 23 copies then, 28 now"),
        (("5in x 7in", "5in x 6in"), "card: 5 × 7 in then, 5 × 6 in now"),
        (("stock: natural-cotton", "stock: natural-cotton, fold: {}"), "card: 'fold' was changed"),
        (
            ("stock: natural-cotton", "stock: natural-cotton, finishing: round corners"),
            "card: finishing not said then, round corners now",
        ),
        (("[33, -24, 4]", "[33, -24, 5]"), "kelp: aim CIELAB 33, -24, 4 (D50, 2°) then"),
    ],
)
def test_a_change_of_what_is_signed_for_is_said(shown_with, change, said):
    then, now = shown_with(), shown_with(change)
    assert then.digest != now.digest
    found = approval_now(Approval(by="Ada", on="2026-10-07", shown=then), now)
    (words,) = found.changed
    assert words.startswith(said)
    assert not found.covers


def test_another_artwork_is_another_page(shown_with):
    then, now = shown_with(), shown_with(artwork=b"two")
    found = approval_now(Approval(by="Ada", on="2026-10-07", shown=then), now)
    assert found.changed == ("card: its artwork was changed",)


@pytest.mark.parametrize(
    "change",
    [
        ("stock: natural-cotton", "stock: natural-cotton, accept: {kelp: good enough}"),
        ("stock: natural-cotton", "stock: natural-cotton, waive: {thin-line: it held}"),
        ("date: 2026-10-05", "date: 2026-10-06"),
        ("laser:", "laser-two:"),
    ],
)
def test_what_a_client_is_not_shown_takes_no_approval_back(shown_with, change):
    changes = [change]
    if change[0] == "laser:":
        changes.append(("device: laser", "device: laser-two"))
    assert shown_with(*changes).digest == shown_with().digest


def test_a_diary_is_read_as_it_was_written(shown_with, tmp_path):
    order = tmp_path / "order.yaml"
    assert read_diary(order) == Diary()
    kept = Diary(approvals=(Approval(by="Ada", on="2026-10-07", note="yes", shown=shown_with()),))
    enter(order, kept.approvals[0])
    assert read_diary(order) == kept
    assert diary_of(order).name == "order.diary.json"


ENTERS = """
import datetime, sys
from pathlib import Path
from inkaccord.order.diary import enter
from inkaccord.order.sending import Sending
order, vendor = Path(sys.argv[1]), sys.argv[2]
for day in range(1, 26):
    on = datetime.date(2026, 10, day)
    enter(order, Sending(vendor=vendor, on=on, package="", files={}, copies={}))
"""


@pytest.mark.slow
def test_what_several_write_at_once_stands_there_whole(tmp_path):
    order = tmp_path / "order.yaml"
    writers = [
        subprocess.Popen([sys.executable, "-c", ENTERS, order, vendor])
        for vendor in ("quay", "mill", "studio")
    ]
    assert [it.wait(60) for it in writers] == [0, 0, 0]
    sendings = read_diary(order).sendings
    assert Counter(it.vendor for it in sendings) == {"quay": 25, "mill": 25, "studio": 25}
    for vendor in ("quay", "mill", "studio"):
        days = [it.on.day for it in sendings if it.vendor == vendor]
        assert days == list(range(1, 26))
    assert strike(order, sendings[7])
    assert not strike(order, sendings[7])
    assert len(read_diary(order).sendings) == 74
    assert [it.name for it in tmp_path.iterdir()] == ["order.diary.json"]


def test_a_broken_diary_says_where(tmp_path):
    order = tmp_path / "order.yaml"
    diary_of(order).write_text(json.dumps({"format": 2}), "utf-8")
    with pytest.raises(FileError, match=r"order\.diary\.json: format: .*diary can't be read"):
        read_diary(order)
