"""Whatever is wrong, the command says what and where, with the designed exit code."""

import os

import pytest


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "cannot be read as a PDF: it is empty"),
        (b"%PDF-1.7\n" + b"\0" * 500, "cannot be read as a PDF"),
        (b"GIF89a", "cannot be read as a PDF: it is a GIF picture"),
        (b"\xff\xd8\xff\xe0" + b"0" * 500, "it is a JPEG picture, whatever its name says"),
        (b"\n<!DOCTYPE html><p>", "it is a web page"),
    ],
)
def test_artwork_that_is_no_pdf(order, inkaccord, data, words):
    for name in ("card.pdf", "envelope.pdf"):
        (order / name).write_bytes(data)
    code, _, err = inkaccord("run", order)
    assert code == 5
    assert words in err
    assert "card.pdf" in err
    assert not (order / "out").exists()


def test_artwork_that_is_not_there(order, inkaccord):
    (order / "card.pdf").unlink()
    code, _, err = inkaccord("check", order)
    assert code == 4, "as its run ends, which makes the envelope"
    assert "card.pdf" in err
    (order / "envelope.pdf").unlink()
    assert inkaccord("check", order)[0] == 5, "as its run ends, which makes nothing"


def test_artwork_of_another_size(order, inkaccord):
    (order / "card.pdf").write_bytes((order / "envelope.pdf").read_bytes())
    code, _, err = inkaccord("check", order)
    assert code == 4
    assert "5 × 7 in" in err


def test_json_tells_the_same_findings(order, inkaccord_json):
    (order / "card.pdf").unlink()
    code, data = inkaccord_json("check", order)
    assert code == data["exit_code"] == 4
    assert data["findings"][0]["place"]["field"] == "pieces.card.artwork"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_an_out_folder_that_is_not_writable(order, inkaccord, tmp_path):
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o500)
    code, _, err = inkaccord("run", order, "--out", locked / "out")
    assert code == 5
    assert "--out" in err


def test_an_out_folder_that_is_a_file(order, inkaccord):
    (order / "out").write_text("in the way", "utf-8")
    code, _, _ = inkaccord("run", order)
    assert code == 5
    assert (order / "out").read_text("utf-8") == "in the way"


@pytest.mark.parametrize(
    "words",
    [
        ["chek", "x"],
        ["run"],
        ["run", "nowhere.yaml"],
        ["schema", "piece"],
        ["--plugin", "nope", "plugins"],
    ],
)
def test_a_wrong_command_line_exits_with_2(inkaccord, words):
    assert inkaccord(*words)[0] == 2


def test_a_near_miss_of_a_command_is_suggested(inkaccord):
    assert "check" in inkaccord("chek")[2]


def test_recolouring_a_colour_that_the_file_lacks_writes_nothing(order, inkaccord, tmp_path):
    swaps = ["--swap", "cmyk 75 20 80 10 = cmyk 1 2 3 4", "--swap", "cmyk 75 20 81 10 = gray 50"]
    code, out, err = inkaccord("recolour", order / "card.pdf", tmp_path / "out.pdf", *swaps)
    assert code == 2
    assert "does not hold 'cmyk 75 20 81 10'" in err
    assert "'cmyk 75 20 80 10'" in err
    assert "proof" not in out
    assert not (tmp_path / "out.pdf").exists()


def test_of_very_many_mistakes_the_first_are_shown(tmp_path, inkaccord):
    path = tmp_path / "order.yaml"
    path.write_text("colours:\n" + "".join(f"  c{n}: {{}}\n" for n in range(500)), "utf-8")
    code, _, err = inkaccord("check", path)
    assert (code, err.count("error ")) == (2, 100)
    assert err.splitlines()[-1].startswith("… and ")
