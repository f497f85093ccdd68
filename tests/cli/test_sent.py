"""``inkaccord sent``: what went to whom and when, and what was changed after it."""

import hashlib
import json

import pytest

from inkaccord.colour.builds import Build
from inkaccord.knowledge.values import TintBuild
from inkaccord.order.sending import Sending
from inkaccord.run.collected import FoundAs
from inkaccord.run.differing import differences
from inkaccord.run.record import PieceStatus
from inkaccord.run.sending import contents_of, sent_now
from report_kit import mid_flight
from run_kit import change, inkaccord, run_of


def test_what_is_sent_is_kept_by_digest_and_a_later_change_is_said(finished):
    code, out, err = inkaccord("sent", finished)
    assert (code, err) == (0, "Nothing was sent yet, as far as the diary says.\n")
    assert out == f"Still to be sent: studio. Next: inkaccord message {finished} studio\n"
    code, out, err = inkaccord(
        "sent", finished, "studio", "--on", "8 Oct 2026", "--note", "by hand"
    )
    assert code == 0, err
    assert "studio was sent 2 print files on 2026-10-08" in out
    (kept,) = json.loads((finished / "order.diary.json").read_text("utf-8"))["sendings"]
    for path, digest in kept["files"].items():
        assert hashlib.sha256((finished / "out" / path).read_bytes()).hexdigest() == digest
    assert len(kept["files"]) == 2
    assert out.endswith("Every vendor has its files.\n")
    package = finished / "out" / "studio" / "loop-studio.zip"
    assert hashlib.sha256(package.read_bytes()).hexdigest() == kept["package"]
    assert "sent on 2026-10-08 (by hand), as it lies here now" in inkaccord("sent", finished)[1]
    err = inkaccord("message", finished, "studio")[2]
    assert err == "studio was sent its files on 2026-10-08, as they are now.\n", "not once more"

    code, out, _ = inkaccord("run", finished)
    assert code == 0
    assert "(card, envelope)  sent on 2026-10-08" in out
    report = (finished / "out" / "report.html").read_text("utf-8")
    assert "Sent to studio on 8 October 2026: by hand" in report
    assert run_of(finished)["sent"][0]["changed"] == []

    change(finished, "suites: 20", "suites: 26")
    code, out, _ = inkaccord("run", finished)
    assert code == 3, "a person is waited for"
    words = " ".join(out.split())
    assert "Tell studio at once: it was sent its files on 2026-10-08, and they are others" in words
    assert "card: 20 copies then, 26 now" in words
    assert "Nothing more is asked" not in words
    report = " ".join((finished / "out" / "report.html").read_text("utf-8").split())
    assert "studio was sent its files on 8 October 2026, and they are others now." in report
    assert "card: 20 copies then, 26 now" in report
    assert f"inkaccord sent {finished} studio" in words
    letter = inkaccord("message", finished, "studio")[1]
    assert "This takes the place of what we sent you on Thursday, 8 October 2026" in letter
    elsewhere = ("--shelf", finished / "shelf.sqlite")
    words = " ".join(inkaccord("run", finished, *elsewhere)[1].split())
    assert f"inkaccord sent {finished} --shelf {finished / 'shelf.sqlite'} studio" in words
    said = inkaccord("sent", finished)[1]
    assert "since then: " in said
    assert f"Still to be sent: studio. Next: inkaccord message {finished} studio" in said

    assert inkaccord("sent", finished, "studio", "--on", "2026-10-09")[0] == 0
    code, out, _ = inkaccord("run", finished)
    assert code == 0
    assert "others now" not in out
    assert "Every vendor has its files." in out
    assert [it["on"] for it in run_of(finished)["sent"]] == ["2026-10-09"]


def test_another_artwork_is_another_file(finished):
    from inkaccord.testing import draw_artwork

    assert inkaccord("sent", finished, "studio")[0] == 0
    (finished / "card.pdf").write_bytes(draw_artwork("5in x 7in", label="drawn anew"))
    assert "loop-card.pdf was changed" in inkaccord("run", finished)[1]
    (step,) = run_of(finished)["next"]
    assert (step["kind"], step["vendor"]) == ("send", "studio")
    assert step["command"] == "inkaccord sent ORDER studio"


def test_what_is_not_to_be_sent_is_not_taken_down_either(finished):
    """As ``message`` says: what lies there is of an order that is another by now."""
    change(finished, "suites: 20", "suites: 26")
    refused = [inkaccord(it, finished, "studio") for it in ("message", "sent")]
    for code, _, err in refused:
        assert code == 2
        assert "was not run as it is now" in err
        assert f"inkaccord run {finished}, and send what that makes" in err
    assert "if older files have gone off, tell that vendor at once" in refused[1][2]
    assert not (finished / "order.diary.json").exists()
    code, _, err = inkaccord("sent", finished, "studio", "--on", "2026-02-30")
    assert (code, "a day that no calendar has" in err) == (2, True), err
    said = inkaccord("sent", finished)
    assert said[1] == ""
    assert "The order was changed since its last run, which this is held against" in said[2]


@pytest.mark.slow
def test_a_vendor_of_whose_files_none_is_made_now_is_called_back(finished):
    assert inkaccord("sent", finished, "studio", "--on", "2026-10-08")[0] == 0
    change(finished, "device: press, stock: white", "device: late, stock: white")
    change(finished, "device: press, stock: cream", "device: late, stock: cream")
    change(finished, "pieces:\n", "  pier: {devices: {late: {}}}\npieces:\n")
    code, out, err = inkaccord("run", finished)
    assert code == 3, err
    words = " ".join(out.split())
    assert "Tell studio at once that nothing is to be printed from what it was sent" in words
    letter = inkaccord("message", finished, "studio")[1]
    assert "please print nothing from the files of Thursday, 8 October 2026" in letter
    assert "We need nothing of it any more." in letter
    code, out, _ = inkaccord("sent", finished, "studio", "--on", "2026-10-09")
    assert code == 0
    assert "on 2026-10-09, studio was told that what it was sent does not hold." in out
    assert "Tell studio" not in inkaccord("run", finished)[1]
    assert inkaccord("sent", finished, "studio")[0] == 2, "there is nothing more to say to it"


@pytest.mark.parametrize("changed", ["file", "tint"])
def test_what_was_changed_is_said_by_its_numbers(changed):
    """A tint moved by one percent says so, beside the file that holds it."""
    run = mid_flight().run
    artwork, colour, solid = next(
        (artwork, it, translation)
        for artwork in run.artworks
        for it in artwork.colours
        for translation in run.translations
        if it.found_as is FoundAs.BRAND and it.colour == translation.colour
        if str(translation.pair) in {str(p.pair) for p in run.pieces if p.name == artwork.piece}
    )
    found = colour.model_copy(update={"tint": 40.0})
    artworks = tuple(
        it.model_copy(update={"colours": (*it.colours, found)}) if it is artwork else it
        for it in run.artworks
    )
    vendor = next(it.vendor for it in run.pieces if it.name == artwork.piece)
    pieces = tuple(it.model_copy(update={"status": PieceStatus.READY}) for it in run.pieces)
    run = run.model_copy(update={"artworks": artworks, "pieces": pieces})
    steps = tuple(
        TintBuild(tint=float(it), build=Build.cmyk(it / 2, it / 5, 0, 0))
        for it in range(10, 100, 10)
    )
    before = solid.model_copy(update={"build": Build.cmyk(50, 20, 0, 0), "tints": steps})
    moved = (*steps[:3], TintBuild(tint=40.0, build=Build.cmyk(21, 8, 0, 0)), *steps[4:])
    after = before.model_copy(update={"tints": moved})

    def with_translation(one):
        known = tuple(one if it is solid else it for it in run.translations)
        return run.model_copy(update={"translations": known})

    held = contents_of(with_translation(before), vendor)
    sent = Sending(vendor=vendor, on="2026-10-08", package="p", **held)
    now = with_translation(after if changed == "tint" else before)
    if changed == "file":
        files = dict(sent.files) | {next(iter(sent.files)): "0" * 64}
        sent = sent.model_copy(update={"files": files})
    (said,) = sent_now([sent], now)
    place = f"{solid.colour}, 40 % tint, on {solid.pair}"
    line = f"{place}: cmyk 20 8 0 0 then, cmyk 21 8 0 0 now"
    assert (line in said.changed) is (changed == "tint")
    assert bool(said.changed)
    if changed == "tint":
        different = differences(with_translation(before), now)
        (tint,) = different.builds
        assert (tint.colour, tint.tint) == (solid.colour, 40.0)
        assert tint.words.startswith(line)
        assert different.same_builds == len(run.translations) - 1
        assert not different.none


def test_only_what_lies_there_is_sent(finished, first_run):
    assert inkaccord("sent", finished, "nobody")[0] == 2
    package = finished / "out" / "studio" / "loop-studio.zip"
    package.write_bytes(b"another")
    code, _, err = inkaccord("sent", finished, "studio")
    assert code == 2
    assert f"the files in {finished / 'out'} or what the shelf knows was changed since" in err
    code, _, err = inkaccord("sent", first_run[0], "studio")
    assert code == 2
    assert f"inkaccord samples {first_run[0] / 'order.yaml'} studio --sent" in err
    assert not (finished / "order.diary.json").exists()


def test_next_season_was_sent_nothing(finished, tmp_path):
    assert inkaccord("sent", finished, "studio")[0] == 0
    assert inkaccord("new", tmp_path / "again", "--from", finished)[0] == 0
    assert inkaccord("sent", tmp_path / "again", "studio")[0] == 2
    assert not (tmp_path / "again" / "order.diary.json").exists()
