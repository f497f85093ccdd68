"""What the screen shows: within its width, whole where it matters, coloured only on a terminal."""

import contextlib
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from artwork_kit import document
from inkaccord.cli.main import COMMANDS
from inkaccord.cli.one_run import FinishedRun
from inkaccord.cli.run_summary import MOST_ROWS, show_run
from inkaccord.cli.shared import Settings
from large_order_kit import large_desk
from report_kit import Desk, mid_flight

WIDTHS = (80, 120, 160)
SGR = re.compile(r"\x1b\[[0-9;]*m")


@pytest.fixture(scope="module")
def desk() -> Desk:
    return mid_flight()


def shown(
    desk: Desk,
    width: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    **settings: bool,
) -> list[str]:
    monkeypatch.setenv("COLUMNS", str(width))
    ran = FinishedRun(desk.run, desk.order, Path("out"), "", "inkaccord run desk")
    show_run(Settings(**settings), ran)
    return [line.rstrip() for line in capsys.readouterr().out.splitlines()]


@pytest.mark.parametrize("width", WIDTHS)
def test_a_run_fits_the_screen_and_no_build_is_torn(desk, width, monkeypatch, capsys):
    lines = shown(desk, width, monkeypatch, capsys)
    tables = lines[: lines.index("What to do next")]
    # Findings are sentences: the terminal wraps them, so that they can be copied whole.
    tables = [it for it in tables if not it.startswith(("warning", "error", "      "))]
    assert max(map(len, tables)) <= width
    text = "\n".join(lines)
    for it in desk.run.translations:
        assert str(it.build) in text
        assert f"±{it.uncertainty:.1f}" in text
    names = [f"{it.device}@{it.stock}" for it in desk.run.pieces]
    for name in names:
        assert name in text or (width == 80 and name.split("@")[0] in text)
    for torn in ("natural-cotto\n", "@nat\n", "envelope\ns"):
        assert torn not in text
    if width == 80:
        assert len(lines) < 80


@pytest.mark.slow
def test_a_large_order_is_told_in_short_unless_all_is_asked_for(monkeypatch, capsys):
    desk = large_desk()
    lines = shown(desk, 80, monkeypatch, capsys)
    # Two lines a colour, and one for each vendor that something is sent to.
    assert len(lines) < 2 * len(desk.order.colours) + len(desk.order.vendors) + 60
    assert f"{len(desk.run.pieces)} of {len(desk.run.pieces)} pieces are ready." in lines
    row = next(it for it in lines if it.startswith("colour-07 ") and "read" in it)
    own = [it for it in desk.run.translations if it.colour == "colour-07"]
    farthest = max(it.delta_e_00 or 0 for it in own)
    assert row.split() == ["colour-07", "30", "30", "read", f"{farthest:.1f}", "±1.0"]
    whole = shown(desk, 80, monkeypatch, capsys, verbose=True)
    assert len(desk.run.translations) > MOST_ROWS
    assert sum("cmyk " in it or "rgb " in it for it in whole) >= len(desk.run.translations)


def test_every_sheet_to_print_is_named_with_its_file(desk, monkeypatch, capsys):
    lines = shown(desk, 80, monkeypatch, capsys)
    waiting = {step.sheet for step in desk.run.next if step.sheet}
    files = [str(Path("out") / it.path) for it in desk.run.samples if it.id in waiting]
    assert files
    assert [it.strip() for it in lines if it.endswith(".pdf")] == files


def test_quiet_leaves_the_result(desk, monkeypatch, capsys):
    lines = shown(desk, 80, monkeypatch, capsys, quiet=True)
    assert "What to do next" in lines
    assert not any("cmyk" in it for it in lines)


def test_other_commands_fit_too(first_run, inkaccord, monkeypatch):
    order, _ = first_run
    for width, words in product(
        ("80", "120"),
        (
            ["check", order],
            ["shelf", "--order", order, "list"],
            ["colours", order / "card.pdf", "--order", order],
            ["plugins"],
        ),
    ):
        monkeypatch.setenv("COLUMNS", width)
        code, out, _ = inkaccord(*words)
        assert code == 0
        tables = [it for it in out.splitlines() if not it.startswith(("Shelf", "Next", "note"))]
        assert max(len(it.rstrip()) for it in tables) <= int(width), words


def test_a_command_in_a_remark_is_broken_by_no_new_line(first_run, inkaccord, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    order, _ = first_run
    code, _, err = inkaccord("message", order)
    assert code == 0
    assert f"has them: inkaccord samples {order} studio --sent\n" in err


def test_how_much_is_said_can_stand_before_or_after_the_command(asked, inkaccord):
    before = inkaccord("-q", "run", asked)
    after = inkaccord("run", asked, "-q")
    assert before == after
    assert "cmyk" not in before[1]
    said = inkaccord("run", asked, "--out", asked / "again", "-v")[2]
    assert "fitting" in said or "drawing" in said


def test_whatever_reports_reports_as_data_too(asked, inkaccord, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for words in (
        ["new", "fresh"],
        ["check", asked],
        ["run", asked],
        ["shelf", "--order", asked, "list"],
        ["shelf", "--order", asked, "verify"],
        ["shelf", "--order", asked, "export", "kept"],
        ["shelf", "--order", asked, "import", "kept"],
        ["shelf", "--order", asked, "back-up", "kept.sqlite"],
        ["shelf", "--order", asked, "restore", "kept.sqlite"],
        ["colours", asked / "card.pdf"],
        ["plugins"],
        ["plugins", "new", "corner-shop"],
        ["recolour", asked / "card.pdf", "out.pdf", "--swap", "cmyk 75 20 80 10 = cmyk 1 2 3 4"],
    ):
        _, out, _ = inkaccord(*words, "--json")
        assert isinstance(json.loads(out), dict), words
    listed = json.loads(inkaccord("shelf", "--order", asked, "list", "--json")[1])
    sheet = listed["sheets"][0]["id"]
    for change, field in (("printed", "marked_now"), ("retire", "retired_now")):
        done = ["shelf", "--order", asked, change, sheet, "--json"]
        first, second = (json.loads(inkaccord(*done)[1]) for _ in range(2))
        assert (first[field], second[field]) == (True, False)
        assert f"{sheet} was " in inkaccord(*done[:-1])[1]
    for words in (["schema", "order"], ["schema", "run"]):
        assert json.loads(inkaccord(*words)[1])["$schema"]


def test_every_command_explains_itself_in_80_columns(inkaccord, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    for name in COMMANDS:
        code, out, _ = inkaccord(name, "--help")
        assert code == 0
        assert "--quiet" in out
        assert max(map(len, out.splitlines())) <= 80


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is asked for")
@pytest.mark.parametrize(
    ("variables", "coloured"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)]
)
def test_colours_appear_on_a_terminal_unless_they_are_not_wanted(order, variables, coloured):
    import pty

    (order / "card.pdf").unlink()
    ours, theirs = pty.openpty()
    environment = {**os.environ, "TERM": "xterm-256color", **variables}
    environment.pop("COLUMNS", None)
    with subprocess.Popen(
        [sys.executable, "-m", "inkaccord.cli.main", "check", str(order)],
        stdout=theirs,
        stderr=theirs,
        env=environment,
    ) as running:
        os.close(theirs)
        seen = b""
        with contextlib.suppress(OSError):  # so a terminal says that the other end has closed
            while more := os.read(ours, 65536):
                seen += more
    os.close(ours)
    assert running.returncode == 4
    text = seen.decode()
    assert "error" in text
    styles = [it for it in SGR.findall(text) if re.search(r"[349]\d", it)]
    assert bool(styles) is coloured


def test_piped_output_is_never_coloured(first_run):
    _, out = first_run
    assert "What to do next" in out
    assert "\x1b" not in out


def test_pieces_that_print_alike_get_no_table_without_rows(desk, monkeypatch, capsys):
    """On one pair nothing lies apart, and an aim that only the eye knows has no distance."""
    first, second = desk.run.pieces[0], desk.run.pieces[0].model_copy(update={"name": "twin"})
    alike = desk.run.agreement[0].model_copy(
        update={"colour": first.colours[0], "piece": first.name, "other": second.name}
    )
    run = desk.run.model_copy(update={"pieces": (first, second), "agreement": (alike,)})
    alone = replace(desk, run=run)
    assert "farthest apart" in "\n".join(shown(desk, 120, monkeypatch, capsys))
    assert "farthest apart" not in "\n".join(shown(alone, 120, monkeypatch, capsys))


def test_of_very_many_colours_the_largest_are_listed(inkaccord, asked, monkeypatch):
    """All of them stand in --json; a brand colour is listed however little there is of it."""
    (asked / "many.pdf").write_bytes(
        document(
            b" ".join(
                b"0 0 0.%d 0 k 0 %d 99 9 re f" % (n, 10 * n) for n in (8, 2, 7, 1, 6, 3, 5, 4)
            )
            + b" 0.75 0.2 0.8 0.1 k 0 90 1 1 re f"
        )
    )
    monkeypatch.setattr("inkaccord.cli.colours._MOST", 5)
    code, out, _ = inkaccord("colours", asked / "many.pdf", "--order", asked)
    assert code == 0
    assert out.count("cmyk 0 0 ") == 5
    assert "cmyk 75 20 80 10" in out
    assert "… and 3 more of less area; --json lists every colour" in out
    listed = json.loads(inkaccord("colours", asked / "many.pdf", "--json")[1])
    assert len(listed["colours"]) == 9
