"""Which shelf a command is about, and that what is printed works as it is printed."""

import json
import re
import shlex
import shutil

import pytest

from inkaccord.shelf.register import known_shelves
from inkaccord.shelf.store import Shelf
from pdf_words import words_of
from recording_kit import fill_in

NO_SHELF = "shelf: shelf.sqlite\n"
"""The line by which the small order names a shelf of its own."""


@pytest.fixture
def user(_own_user_folder):
    """Where this test's person keeps what is theirs."""
    return _own_user_folder / "inkaccord"


@pytest.fixture
def planned(asked, inkaccord):
    """The small order after its first run, known here: two sheets wait on its own shelf."""
    assert inkaccord("run", asked)[0] == 3
    return asked


def tables(order):
    return sorted((order / "out" / "samples").glob("*.txt"))


def readings_on(shelf):
    with Shelf.open(shelf) as store:
        return {kept.sheet.id for it in store.pairs() for kept in store.readings_of(it)}


def test_the_command_on_the_paper_works_from_another_folder(
    planned, inkaccord, tmp_path, monkeypatch, user
):
    one, _ = tables(planned)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    fill_in(one, elsewhere / "FILE")
    monkeypatch.chdir(elsewhere)
    printed = words_of(next(one.parent.glob(f"*/*{one.stem}.pdf")).read_bytes())
    typed = re.search(rf"inkaccord (record {one.stem} FILE)", printed)
    assert typed is not None
    code, out, err = inkaccord(*typed[1].split())
    assert code == 0, err
    assert out.endswith(f"Next: inkaccord run {planned}\n")
    assert readings_on(planned / "shelf.sqlite") == {one.stem}
    assert "swatch" in inkaccord("shelf", "show", one.stem)[1]
    assert not (user / "shelf.sqlite").exists()


@pytest.mark.slow
def test_the_commands_on_the_screen_name_the_order(order, inkaccord, monkeypatch):
    monkeypatch.chdir(order.parent)
    shown = inkaccord("run", order.name, "--out", "results")[1]
    typed = [
        line.strip() for line in shown.splitlines() if re.search("inkaccord (record|run) ", line)
    ]
    sheets = [path.stem for path in (order.parent / "results" / "samples").glob("*.txt")]
    assert sorted(typed[:-1]) == sorted(
        f"inkaccord record {sheet} READINGS-FILE --order order" for sheet in sheets
    )
    assert typed[-1].endswith(": inkaccord run order --out results")
    pair = "press@white"
    for command in (("controls", pair), ("swatches", pair, "--count", "100")):
        out = inkaccord(*command, "--order", "order")[1]
        step = re.search(r"inkaccord (record \S+) READINGS-FILE (.*)", out)
        assert step is not None
        assert step[2] == "--order order"
        code, _, err = inkaccord(*step[1].split(), "none.txt", *shlex.split(step[2]))
        assert code == 5  # the sheet is found, the file is not there
        assert "none.txt" in err


def test_a_sheet_of_controls_is_found_on_the_shelf_that_an_option_named(
    inkaccord, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    out = inkaccord("controls", "press@white", "--shelf", "my own.sqlite")[1]
    step = re.search(r"inkaccord record (\S+) READINGS-FILE (.*)", out)
    assert step is not None
    assert shlex.split(step[2]) == ["--shelf", "my own.sqlite"]
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert "press@white" in inkaccord("shelf", "show", step[1])[1]


def test_a_sheet_on_two_shelves_asks_which(planned, inkaccord, tmp_path):
    one, _ = tables(planned)
    shutil.copytree(planned, tmp_path / "copy")
    assert inkaccord("run", tmp_path / "copy")[0] == 3
    fill_in(one, tmp_path / "read.txt")
    code, _, err = inkaccord("record", one.stem, tmp_path / "read.txt")
    assert code == 2
    one_of_them, other = sorted((planned, tmp_path / "copy"))
    assert f"add --order {one_of_them}, or --order {other}\n" in err
    assert inkaccord("record", one.stem, tmp_path / "read.txt", "--order", planned)[0] == 0
    assert readings_on(planned / "shelf.sqlite") == {one.stem}
    assert readings_on(tmp_path / "copy" / "shelf.sqlite") == set()


def test_a_sheet_that_no_one_here_knows_says_how_to_name_its_order(planned, inkaccord, tmp_path):
    code, _, err = inkaccord("record", "999-999", tmp_path / "read.txt")
    assert code == 2
    assert "add --order DIR" in err
    one, _ = tables(planned)
    mistyped = one.stem[:-2] + one.stem[-1] + one.stem[-2]
    code, _, err = inkaccord("record", mistyped, tmp_path / "read.txt")
    assert code == 2
    assert f"did you mean {one.stem}?" in err


def test_the_register_forgets_what_is_gone_and_may_be_damaged(planned, inkaccord, tmp_path, user):
    (known,) = known_shelves()
    assert (known.order, known.file) == ("loop", planned / "order.yaml")
    (own,) = (user / "shelves").iterdir()
    own.write_text("[{", "utf-8")
    assert known_shelves() == ()
    assert inkaccord("run", planned)[0] == 3
    assert known_shelves() == (known,)
    moved = planned.rename(tmp_path / "moved")
    assert inkaccord("run", moved)[0] == 3
    assert [it.file for it in known_shelves()] == [moved / "order.yaml"]
    assert len(list((user / "shelves").iterdir())) == 1


@pytest.mark.slow
def test_the_environment_never_overrules_an_order_or_an_option(
    order, inkaccord, tmp_path, monkeypatch, user
):
    monkeypatch.setenv("INKACCORD_SHELF", str(tmp_path / "environment.sqlite"))
    _, out, err = inkaccord("run", order)
    assert err.count("INKACCORD_SHELF is set, but") == 1
    assert "INKACCORD_SHELF" not in out
    assert (order / "shelf.sqlite").exists()
    _, _, err = inkaccord("run", order, "--shelf", tmp_path / "option.sqlite")
    assert "INKACCORD_SHELF" not in err
    assert (tmp_path / "option.sqlite").exists()
    assert not (tmp_path / "environment.sqlite").exists()

    text = (order / "order.yaml").read_text("utf-8")
    (order / "order.yaml").write_text(text.replace(NO_SHELF, ""), "utf-8")
    _, _, err = inkaccord("run", order)
    assert "INKACCORD_SHELF" not in err
    assert (tmp_path / "environment.sqlite").exists()
    monkeypatch.delenv("INKACCORD_SHELF")
    assert inkaccord("run", order)[0] == 3
    assert (user / "shelf.sqlite").exists()


@pytest.mark.parametrize(
    "command",
    [
        ("{o}", "shelf", "list", "--json"),
        ("shelf", "{o}", "list", "--json"),
        ("shelf", "list", "--json", "{o}"),
    ],
)
@pytest.mark.parametrize("option", [("--order", "{order}"), ("--shelf", "{order}/shelf.sqlite")])
def test_order_and_shelf_stand_at_either_place(planned, inkaccord, command, option):
    given = [word.format(order=planned) for word in option]
    at = command.index("{o}")
    code, out, err = inkaccord(*command[:at], *given, *command[at + 1 :])
    assert code == 0, err
    assert len(json.loads(out)["sheets"]) == 2


def test_options_that_can_not_be_meant_are_refused(planned, inkaccord, tmp_path):
    code, _, err = inkaccord("--shelf", "a", "shelf", "list", "--shelf", "b")
    assert code == 2
    assert "--shelf is given twice, and not the same" in err
    code, _, err = inkaccord("--shelf", "a", "colours", planned / "card.pdf")
    assert code == 2
    assert "'colours' takes no --shelf" in err
    code, _, err = inkaccord("--order", planned, "run", planned)
    assert code == 2
    assert "'run' takes no --order" in err


@pytest.mark.parametrize(
    "command",
    [
        ("record", "K7Q-XM3", "read.txt"),
        ("record", "--pair", "laser@kraft", "read.txt"),
        ("compare", "K7Q-XM3", "K7Q-XM4", "scan.png"),
        ("swatches", "laser@kraft", "--count", "100", "--hues", "no such hue"),
        ("shelf", "show", "K7Q-XM3"),
        ("shelf", "retire", "K7Q-XM3"),
        ("shelf", "printed", "K7Q-XM3"),
        ("shelf", "import", "."),
        ("shelf", "back-up", "kept.sqlite"),
        ("shelf", "restore", "read.txt"),
    ],
)
def test_a_failed_command_leaves_no_shelf(inkaccord, tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "read.txt").write_text("nothing", "utf-8")
    code, _, err = inkaccord(*command, "--shelf", "deep/shelf.sqlite")
    assert code in {2, 5}
    assert err
    assert not (tmp_path / "deep").exists()


def test_a_look_at_no_shelf_makes_none(inkaccord, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "It is empty" in inkaccord("shelf", "list", "--shelf", "shelf.sqlite")[1]
    assert inkaccord("shelf", "verify", "--shelf", "shelf.sqlite")[0] == 0
    assert not (tmp_path / "shelf.sqlite").exists()
