"""``inkaccord approve``: taken down, bound to what was shown, and said where it no longer holds."""

import hashlib
import json

import pytest
from PIL import Image

from inkaccord.errors import FileError
from run_kit import change, inkaccord, run_of


def said(order):
    return {it["code"]: it for it in run_of(order)["findings"]}


def test_it_is_kept_with_what_was_shown_and_said_until_something_is_changed(finished, tmp_path):
    scan = tmp_path / "signed page.png"
    Image.new("RGB", (8, 8), "white").save(scan)
    before = run_of(finished)
    code, out, err = inkaccord(
        "approve", finished, "--by", "The committee", "--note", "with thanks", "--scan", scan
    )
    assert code == 0, err
    page = before["shown"][:4].upper() + "-" + before["shown"][4:8].upper()
    assert f"The committee approved loop as page {page} shows it" in out
    assert f"Next: inkaccord run {finished}" not in err
    assert "Approved by The committee on " in out
    assert f"inkaccord message {finished}" in out
    assert inkaccord("message", finished)[0] == 0, "it was run once more, and can be sent"
    (kept,) = json.loads((finished / "order.diary.json").read_text("utf-8"))["approvals"]
    assert kept["by"] == "The committee"
    made = {it["path"]: it["sha256"] for it in before["files"]}
    assert set(kept["files"].values()) == {
        made["client.pdf"],
        made["client.html"],
        hashlib.sha256(scan.read_bytes()).hexdigest(),
    }
    for path, digest in kept["files"].items():
        assert hashlib.sha256((finished / path).read_bytes()).hexdigest() == digest

    approval = run_of(finished)["approval"]
    assert (approval["by"], approval["code"], approval["changed"]) == ("The committee", page, [])
    assert "with thanks" in said(finished)["approved"]["message"]
    assert "Approved by The committee" in (finished / "out" / "report.html").read_text("utf-8")

    change(finished, "suites: 20", "suites: 21")
    code, out, _ = inkaccord("check", finished)
    assert code == 0
    assert "no longer covers this order: card: 20 copies then, 21 now; envelope: 20" in out
    assert f"then: inkaccord approve {finished} --by NAME\n" in out
    code, out, _ = inkaccord("run", finished)
    assert code == 0  # the order does not ask for an approval
    assert "no longer covers this order" in out
    assert "no longer covers this order" in (finished / "out" / "report.html").read_text("utf-8")


@pytest.mark.slow
def test_an_order_may_want_it_before_any_zip(finished):
    change(finished, "suites: 20\n", "suites: 20\napproval_first: true\n")
    code, out, _ = inkaccord("run", finished)
    assert code == 3
    assert out.endswith(f"inkaccord approve {finished} --by NAME\n"), "which runs it again"
    assert not list((finished / "out").glob("*/*.zip"))
    assert list((finished / "out" / "studio").glob("*.pdf"))  # to be looked through
    (step,) = run_of(finished)["next"]
    assert step["kind"] == "approve"

    code, out, _ = inkaccord("approve", finished, "--by", "Ada")
    assert code == 0
    assert "Approved by Ada" in out
    assert list((finished / "out").glob("*/*.zip"))

    change(finished, "suites: 20\n", "suites: 22\n")
    code, out, _ = inkaccord("run", finished)
    assert code == 3
    assert "no zip is made until it is approved again" in out
    assert not list((finished / "out").glob("*/*.zip"))


def test_what_keeps_the_run_after_it_from_its_end_takes_nothing_back(finished, monkeypatch):
    def broken(*_given, **_options):
        raise FileError.of("held", "report.html is held by another program")

    monkeypatch.setattr("inkaccord.runs.run_order", broken)
    code, out, err = inkaccord("approve", finished, "--by", "Ada", "--json")
    assert code == 0
    assert json.loads(out)["files"]
    assert err == f"Next: inkaccord run {finished}\n"
    assert json.loads((finished / "order.diary.json").read_text("utf-8"))["approvals"]


@pytest.mark.parametrize(
    ("words", "code"), [(("--code", "0000-0000"), "other-page"), (("--by", " "), None)]
)
def test_what_was_not_shown_is_not_approved(finished, words, code):
    exit_code, out, err = inkaccord("approve", finished, "--by", "Ada", *words, "--json")
    assert exit_code == 2
    if code is not None:
        assert json.loads(out)["findings"][0]["code"] == code
    else:
        assert "say who approved it" in err
    assert not (finished / "order.diary.json").exists()
    assert not (finished / "approved").exists()


def test_only_the_page_of_now_is_approved(finished):
    page = finished / "out" / "client.pdf"
    data = page.read_bytes()
    page.write_bytes(b"another")
    assert "is not as the run left it" in inkaccord("approve", finished, "--by", "Ada")[2]
    page.write_bytes(data)
    change(finished, "suites: 20", "suites: 21")
    assert "not of the order as it stands" in inkaccord("approve", finished, "--by", "Ada")[2]


def test_pieces_that_wait_are_not_approved(first_run):
    code, _, err = inkaccord("approve", first_run[0], "--by", "Ada")
    assert code == 2
    assert "does not yet show card and envelope as printed" in err


def test_next_seasons_order_is_approved_anew(finished, tmp_path):
    assert inkaccord("approve", finished, "--by", "Ada")[0] == 0
    code, out, _ = inkaccord("new", tmp_path / "again", "--from", finished)
    assert code == 0
    assert "this one is to be approved anew" in out
    assert not (tmp_path / "again" / "order.diary.json").exists()


@pytest.mark.parametrize("form", ["pdf", "jpg", "png", "tif", "webp"])
def test_a_signed_page_may_be_a_pdf_or_a_picture(finished, tmp_path, form):
    scan = tmp_path / f"signed.{form}"
    Image.new("RGB", (8, 8), "white").save(scan)
    code, out, err = inkaccord("approve", finished, "--by", "Ada", "--scan", scan)
    assert code == 0, err
    (kept,) = (finished / "approved").glob(f"*-signed-signed.{form}")
    assert kept.name in out
    assert kept.read_bytes() == scan.read_bytes()


def test_what_is_no_scan_of_a_page_is_refused_and_nothing_taken_down(finished, tmp_path):
    scan = tmp_path / "signed.txt"
    scan.write_text("yes, fine", "utf-8")
    code, _, err = inkaccord("approve", finished, "--by", "Ada", "--scan", scan)
    assert code == 5
    assert "signed.txt: this is no PDF and no picture" in err
    assert not (finished / "order.diary.json").exists()
    assert not (finished / "approved").exists()
