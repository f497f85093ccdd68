"""``inkaccord sent``: what went to whom and when, and what was changed after it."""

import hashlib
import json

from run_kit import change, inkaccord, run_of


def test_what_is_sent_is_kept_by_digest_and_a_later_change_is_said(finished):
    assert inkaccord("sent", finished) == (
        0,
        "",
        "Nothing was sent yet, as far as the diary says.\n",
    )
    code, out, err = inkaccord(
        "sent", finished, "studio", "--on", "2026-10-08", "--note", "by hand"
    )
    assert code == 0, err
    assert "studio was sent 2 print files on 2026-10-08" in out
    (kept,) = json.loads((finished / "order.diary.json").read_text("utf-8"))["sendings"]
    for path, digest in kept["files"].items():
        assert hashlib.sha256((finished / "out" / path).read_bytes()).hexdigest() == digest
    assert len(kept["files"]) == 2
    package = finished / "out" / "studio" / "loop-studio.zip"
    assert hashlib.sha256(package.read_bytes()).hexdigest() == kept["package"]
    assert "sent on 2026-10-08 (by hand), as it lies here now" in inkaccord("sent", finished)[1]

    code, out, _ = inkaccord("run", finished)
    assert code == 0
    assert "(card, envelope)  sent on 2026-10-08" in out
    report = (finished / "out" / "report.html").read_text("utf-8")
    assert "Sent to studio on 8 October 2026: by hand" in report
    assert run_of(finished)["sent"][0]["changed"] == []

    change(finished, "suites: 20", "suites: 26")
    code, out, _ = inkaccord("run", finished)
    assert code == 0
    words = " ".join(out.split())
    assert "warning studio was sent its files on 2026-10-08, and they are others now" in words
    assert "card: 20 copies then, 26 now" in words
    assert "sent on 2026-10-08, changed since: send it again" in words
    report = " ".join((finished / "out" / "report.html").read_text("utf-8").split())
    assert "studio was sent its files on 8 October 2026, and they are others now:" in report
    assert f"and then: inkaccord sent {finished} studio" in words
    elsewhere = ("--shelf", finished / "shelf.sqlite")
    words = " ".join(inkaccord("run", finished, *elsewhere)[1].split())
    assert f"inkaccord sent {finished} --shelf {finished / 'shelf.sqlite'} studio" in words
    assert "since then: " in inkaccord("sent", finished)[1]

    assert inkaccord("sent", finished, "studio", "--on", "2026-10-09")[0] == 0
    assert "others now" not in inkaccord("run", finished)[1]
    assert [it["on"] for it in run_of(finished)["sent"]] == ["2026-10-09"]


def test_another_artwork_is_another_file(finished):
    from inkaccord.testing import draw_artwork

    assert inkaccord("sent", finished, "studio")[0] == 0
    (finished / "card.pdf").write_bytes(draw_artwork("5in x 7in", label="drawn anew"))
    assert "loop-card.pdf was changed" in inkaccord("run", finished)[1]
    (finding,) = [it for it in run_of(finished)["findings"] if it["code"] == "changed-after-sent"]
    assert "inkaccord sent ORDER studio" in finding["hint"]


def test_only_what_lies_there_is_sent(finished, first_run):
    assert inkaccord("sent", finished, "nobody")[0] == 2
    package = finished / "out" / "studio" / "loop-studio.zip"
    package.write_bytes(b"another")
    code, _, err = inkaccord("sent", finished, "studio")
    assert code == 2
    assert "is not as the run left it" in err
    code, _, err = inkaccord("sent", first_run[0], "studio")
    assert code == 2
    assert f"inkaccord samples {first_run[0] / 'order.yaml'} studio --sent" in err
    assert not (finished / "order.diary.json").exists()


def test_next_season_was_sent_nothing(finished, tmp_path):
    assert inkaccord("sent", finished, "studio")[0] == 0
    assert inkaccord("new", tmp_path / "again", "--from", finished)[0] == 0
    assert inkaccord("sent", tmp_path / "again", "studio")[0] == 2
    assert not (tmp_path / "again" / "order.diary.json").exists()
