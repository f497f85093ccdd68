"""The run over a folder of PDFs finds what it is there to find."""

import pytest

from corpus import Judged, judge, judge_apart
from inkaccord.testing import draw_artwork


@pytest.mark.slow
def test_a_file_is_judged_apart_and_a_broken_one_refused(tmp_path):
    (tmp_path / "good.pdf").write_bytes(draw_artwork())
    (tmp_path / "broken.pdf").write_bytes(b"%PDF-1.7\nno more of it")
    good = judge_apart(tmp_path / "good.pdf", seconds=60, mib=3072)
    assert set(good.outcomes.values()) == {"ok"}
    assert not good.bad
    broken = judge(tmp_path / "broken.pdf")
    assert broken["inventory"] == broken["swap"] == "refused: not-a-pdf"


def test_a_hang_and_a_traceback_are_told(tmp_path, monkeypatch):
    (tmp_path / "good.pdf").write_bytes(draw_artwork())

    def falls(_path):
        raise KeyError("/Kids")

    monkeypatch.setitem(judge.__globals__["STEPS"], "inventory", falls)
    outcomes = judge(tmp_path / "good.pdf")
    assert outcomes["inventory"].startswith("traceback: KeyError test_corpus.py:")
    assert Judged(tmp_path, outcomes, 0.0).bad.keys() == {"inventory"}
    # It may get no more than it had at its start: what gives way then, and so the word for it, and
    # what still goes with that, differs by machine.
    starved = judge_apart(tmp_path / "good.pdf", seconds=60, mib=10)
    assert set(starved.outcomes.values()) != {"ok"}
