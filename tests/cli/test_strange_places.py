"""Folders that no record could name, and homes that nobody has."""

import os
import shutil
import sys

import pytest


@pytest.mark.skipif(sys.platform != "linux", reason="only there a name may be any bytes")
def test_a_folder_whose_name_is_no_text_is_refused(asked, inkaccord, tmp_path):
    folder = tmp_path / os.fsdecode(b"caf\xe9")
    shutil.copytree(asked, folder)
    shutil.rmtree(folder / "out")
    code, _, err = inkaccord("run", folder)
    assert (code, "is no UTF-8 text" in err) == (5, True)
    assert "caf\\udce9" in err
    assert not (folder / "out").exists()


@pytest.mark.skipif(sys.platform != "linux", reason="only there a name may be any bytes")
def test_neither_artwork_nor_a_new_order_lies_in_such_a_folder(asked, inkaccord, tmp_path):
    folder = tmp_path / os.fsdecode(b"caf\xe9")
    folder.mkdir()
    artwork = folder / "card.pdf"
    shutil.copy(next(asked.rglob("*.pdf")), artwork)
    for words in (
        ["colours", artwork],
        ["new", folder / "order"],
        ["new", tmp_path / "x", "--from", artwork],
    ):
        code, _, err = inkaccord(*words)
        assert (code, "is no UTF-8 text" in err) == (5, True), words
    assert [it.name for it in folder.iterdir()] == ["card.pdf"]


@pytest.mark.parametrize(
    ("shelf", "said"),
    [
        ("~nobody-here/shelf.sqlite", "is no place for a shelf"),
        ("../shelf.sqlite", "an order may write in its own folder only"),
    ],
)
def test_what_a_run_refuses_check_refuses_too(asked, inkaccord, shelf, said):
    path = asked / "order.yaml"
    before = path.read_text("utf-8").splitlines()
    text = [line for line in before if not line.startswith("shelf:")]
    path.write_text("\n".join([*text, f"shelf: {shelf}", ""]), "utf-8")
    for command in ("check", "run"):
        code, _, err = inkaccord(command, path)
        assert (code, said in err) == (2, True), command
    code, _, err = inkaccord("--shelf", asked / "own.sqlite", "check", path)
    assert code == 0, err


def test_a_home_that_nobody_has_is_no_place_for_a_shelf(asked, inkaccord):
    path = asked / "order.yaml"
    before = path.read_text("utf-8").splitlines()
    text = [line for line in before if not line.startswith("shelf:")]
    path.write_text("\n".join([*text, "shelf: ~nobody-here/shelf.sqlite", ""]), "utf-8")
    code, _, err = inkaccord("run", path)
    assert code == 2
    assert "~nobody-here/shelf.sqlite is no place for a shelf" in err
    assert not (asked / "~nobody-here").exists()
