"""What can't be tried here, with a layer of files and fakes: other capitals, viewers, shells."""

import asyncio
import hashlib
import os
import shutil

import pytest

from artwork_kit import NEW, OLD, OLD_K, document
from inkaccord.errors import ExitCode, FileError
from inkaccord.files import is_same_file
from inkaccord.out_folder import OutFolder
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.run.files import OutFile
from inkaccord.web.running import Commands
from inkaccord.words import quoted
from run_kit import change, run_of, written
from systems_kit import heed_no_capitals, hold
from web_kit import ended


@pytest.mark.slow
@pytest.mark.parametrize("numbered", [True, False])
def test_what_is_renamed_in_capitals_only_is_all_there(finished, inkaccord, monkeypatch, numbered):
    out = finished / "out"
    heed_no_capitals(monkeypatch, out, numbered=numbered)
    before = written(out)
    change(finished, "  studio:", "  STUDIO:")
    change(finished, "  card: {", "  Card: {")
    code, said, err = inkaccord("run", finished)
    assert code == 0, said + err
    recorded = {it["path"]: it["sha256"] for it in run_of(finished)["files"]}
    assert any(path.startswith("STUDIO/") and "Card" in path for path in recorded)
    for path, digest in recorded.items():
        assert hashlib.sha256((out / path).read_bytes()).hexdigest() == digest, path
    # Nothing else is left, and what is there is what it was.
    assert {it.casefold() for it in written(out)} == {
        it.casefold() for it in (*recorded, "run.json")
    }
    assert {it.casefold() for it in before} == {it.casefold() for it in written(out)}


@pytest.mark.parametrize("numbered", [True, False])
def test_no_artwork_is_recoloured_onto_itself(tmp_path, inkaccord, monkeypatch, numbered):
    (tmp_path / "Card.pdf").write_bytes(document(OLD_K + b" 0 0 9 9 re f"))
    before = written(tmp_path)
    heed_no_capitals(monkeypatch, tmp_path, numbered=numbered)
    names = (tmp_path / "Card.pdf", tmp_path / "card.PDF")
    code, _, err = inkaccord("recolour", *names, "--swap", f"{OLD} = {NEW}")
    assert code == ExitCode.WRONG
    assert "are the same file" in err
    assert written(tmp_path) == before


def test_names_that_differ_in_capitals_are_two_files_where_those_count(tmp_path):
    for name in ("a", "A"):
        (tmp_path / name).write_bytes(b"x")
    assert not is_same_file(tmp_path / "a", tmp_path / "A")


@pytest.mark.parametrize(
    "path", ["REPORT.html", "CON", "lists/nul.txt", "a\\b.txt", "card.pdf:hidden", "lists./a.txt"]
)
def test_a_plugins_file_that_is_none_or_anothers_elsewhere_is_refused(tmp_path, path):
    given = [("mine", OutFile(path, b"x", "list"))]
    fit, trouble = OutFolder(tmp_path).fitting(given, [OutFile("report.html", b"", "report")])
    assert fit == []
    assert [it.source for it in trouble] == ["mine"]


def test_names_of_stocks_and_devices_that_differ_in_capitals_are_refused(order, inkaccord):
    change(order, "  cream: {kind", "  WHITE: {size: letter}\n  cream: {kind")
    change(order, "{press: {sheets: [letter], ink_limit: 300}}", "{press: {}, Press: {}}")
    code, _, err = inkaccord("check", order)
    assert code == 2
    assert "'WHITE' and 'white' differ in capitals only" in err
    assert "'Press' and 'press' differ in capitals only" in err


def test_a_file_that_a_viewer_holds_leaves_all_as_it_was(tmp_path, monkeypatch):
    folder = OutFolder(tmp_path)
    files = [OutFile(f"{name}.pdf", b"old", "print") for name in "abc"]
    folder.write(b"{}", files)
    before = written(tmp_path)
    new = [OutFile(f"{name}.pdf", b"new", "print") for name in "abc"]
    with monkeypatch.context() as windows:
        hold(windows, tmp_path / "b.pdf", tmp_path / "c.pdf")
        with pytest.raises(FileError) as problem:
            OutFolder(tmp_path).write(b'{"a": 1}', new)
    said = str(problem.value)
    assert "b.pdf" in said
    assert "c.pdf" in said
    assert "a.pdf" not in said
    assert "in a viewer" in said
    assert written(tmp_path) == before
    OutFolder(tmp_path).write(b'{"a": 1}', new)
    assert set(written(tmp_path).values()) == {b"new", b'{"a": 1}'}


@pytest.mark.slow
def test_a_run_says_which_file_is_open_and_can_be_done_again(finished, inkaccord, monkeypatch):
    out = finished / "out"
    removed = min(out.glob("studio/*card*.pdf"))
    before = written(out)
    change(finished, "  card: {", "  invitation: {")
    with monkeypatch.context() as windows:
        hold(windows, removed)
        code, _, err = inkaccord("run", finished)
    assert (code, removed.name in err) == (5, True)
    assert written(out) == before
    assert inkaccord("run", finished)[0] == 0
    assert not removed.exists()


@pytest.mark.parametrize(
    ("word", "prompt", "powershell"),
    [
        (r"C:\orders\tags", r"C:\orders\tags", r"C:\orders\tags"),
        ("my order", '"my order"', "'my order'"),
        ("a&calc", '"a&calc"', "'a&calc'"),
        ("$(calc)", '"$(calc)"', "'$(calc)'"),
        ("it's", '"it\'s"', "'it''s'"),
        ("it\N{RIGHT SINGLE QUOTATION MARK}s", '"it\u2019s"', "'it\u2019\u2019s'"),
        ('a"&calc', '"a""&calc"', "'a\"&calc'"),
        ("my folder\\", '"my folder\\\\"', "'my folder\\'"),
        ("", '""', "''"),
        ("@file", '"@file"', "'@file'"),
        ("-", '"-"', "'-'"),
        ("--order", "--order", "--order"),
        ("{1}", '"{1}"', "'{1}'"),
    ],
)
def test_commands_are_quoted_for_the_shell_in_use(monkeypatch, word, prompt, powershell):
    """By Microsoft's pages on CommandLineToArgvW and about_Quoting_Rules, from memory."""
    monkeypatch.delenv("MSYSTEM", raising=False)
    monkeypatch.delenv("PROMPT", raising=False)
    with monkeypatch.context() as windows:
        windows.setattr(os, "name", "nt")
        by_powershell = quoted(word)
        windows.setenv("PROMPT", "$P$G")
        by_prompt = quoted(word)
        windows.setenv("MSYSTEM", "MINGW64")
        by_bash = quoted(word)
    assert (by_prompt, by_powershell) == (prompt, powershell)
    assert by_bash == quoted(word)


def test_no_program_is_taken_from_the_current_folder(tmp_path, monkeypatch):
    (tmp_path / "gs").write_text("#!/bin/sh\n")
    (tmp_path / "gs").chmod(0o755)
    monkeypatch.chdir(tmp_path)
    usual = ghostscript_path()
    monkeypatch.setenv("PATH", os.pathsep.join(["", ".", os.environ["PATH"]]))
    assert shutil.which("gs") in {"gs", "./gs"}
    assert ghostscript_path() == usual


def test_the_page_takes_no_part_of_the_program_from_the_current_folder(tmp_path, monkeypatch):
    (tmp_path / "click.py").write_text("open('taken', 'w').close()\n")
    monkeypatch.chdir(tmp_path)

    async def run():
        running = Commands().start("order", ["run", str(tmp_path / "nowhere")])
        while running.goes_on:
            await asyncio.sleep(0.01)
        return running

    assert ended(run()).exit_code == 2  # there is no such order
    assert not (tmp_path / "taken").exists()
