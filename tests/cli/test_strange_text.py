"""Text from orders, files, evidence and plugins: on the screen nothing in it acts."""

import io
import json
import shlex
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkaccord.cli.shared import CalmConsole, Settings, plain, show_findings
from inkaccord.diagnostics import Place, error
from inkaccord.sheets.model import Pick
from inkaccord.shelf.store import Shelf
from inkaccord.words import visible
from recording_kit import readings_of, sheet_of
from run_kit import run_of

ESCAPE = "\x1b[31m\x9b2J"
CONTROLS = set(map(chr, [*range(10), *range(11, 32), *range(127, 160)]))
CODES = "[bold]x[/] :smiley:"


def calm(stream):
    return CalmConsole(file=stream, width=60, emoji=False, highlight=False)


def acts(text):
    """Tell whether a terminal would obey anything in a text, lines apart."""
    return not text.replace("\n", "").isprintable()


@given(st.text())
def test_what_is_made_visible_holds_no_control(text):
    assert not set(visible(text)) & {*CONTROLS, "\n", "\u202e", "\u2028", "\ud800"}


@given(st.text(alphabet=st.characters(codec=None), max_size=40))
def test_no_control_reaches_a_screen_by_any_way(text):
    for styled in (text.replace("[", "("), plain(text)):
        stream = io.StringIO()
        calm(stream).print(styled, soft_wrap=True)
        assert not set(stream.getvalue()) & CONTROLS


@pytest.mark.parametrize("text", [CODES, "a\\", "\\[red]", "[/]", "[link=x]y", ":warning:"])
def test_codes_are_shown_as_they_are_written(text):
    stream = io.StringIO()
    calm(stream).print(plain(text) + "[bold][/]")
    assert stream.getvalue().strip() == text


class Terminal(io.StringIO):
    """A stream that says that it is a terminal."""

    def isatty(self):
        """Say so."""
        return True


def test_a_line_number_is_no_picture_wherever_it_is_shown(monkeypatch):
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    settings = Settings()
    words = "order.yaml:100: [bold]kelp[/] :smiley:"
    with settings.working(words):
        settings.say(words)
    finding = error("x", words, place=Place(file="order.yaml:100:"), hint=words)
    show_findings(settings.aside, [finding])
    assert screen.getvalue().count(words) >= 4
    assert "\N{HUNDRED POINTS SYMBOL}" not in screen.getvalue()


def test_an_orders_words_do_nothing_on_the_screen(asked, inkaccord):
    text = (asked / "order.yaml").read_text("utf-8")
    title = '"\\e[31m\\x9b2J [bold]x[/] :smiley:"'
    (asked / "order.yaml").write_text(text.replace("title: A loop", f"title: {title}"), "utf-8")
    code, out, err = inkaccord("run", asked)
    assert code == 3, err
    assert not acts(out + err)
    assert r"\x1b[31m\x9b2J [bold]x[/] :smiley:" in out


@pytest.mark.parametrize(
    "line",
    [
        '"\\e[2J": 1',
        'order: "\\e[2Jx"',
        'title: ["\\e[2J"]',
        'evidence: "\\e[2J"',
        'shelf: "no\\e[2J/such/\\x9b2J"',
    ],
)
def test_mistakes_show_what_is_wrong_visibly(asked, inkaccord, line):
    key = line.partition(":")[0]
    text = (asked / "order.yaml").read_text("utf-8").splitlines()
    kept = [it for it in text if not it.startswith(f"{key}:")]
    (asked / "order.yaml").write_text("\n".join([*kept, line, ""]), "utf-8")
    for command in ("check", "run"):
        _, out, err = inkaccord(command, asked)
        assert not acts(out + err)


def test_a_command_line_is_shown_visibly(inkaccord):
    for words in (["run", "no\x1b[2J"], ["\x1b[2J"], ["record", "\x9bX", "no\x1b[2J.txt"]):
        code, out, err = inkaccord(*words)
        assert code in {2, 5}
        assert not acts(out + err)


def test_data_shows_no_control_either(asked, inkaccord):
    _, out, _ = inkaccord("check", asked, "--json")
    assert not acts(out)
    text = (asked / "order.yaml").read_text("utf-8")
    (asked / "order.yaml").write_text(text + '"a\\x9b2J\\u202e": 1\n', "utf-8")
    _, out, _ = inkaccord("check", asked, "--json")
    assert not acts(out)
    assert "\\u009b" in out
    assert "\x9b" in json.dumps(json.loads(out), ensure_ascii=False)


def change_sheet(folder, **fields):
    (path,) = folder.glob("*/sheet.json")
    content = json.loads(path.read_text("utf-8"))
    content["sheet"] |= fields
    path.write_text(json.dumps(content), "utf-8")


@pytest.fixture
def evidence(tmp_path):
    """An exported shelf that a stranger may have worked on."""
    sheet = sheet_of()
    with Shelf.open(tmp_path / "theirs.sqlite") as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet))
        shelf.record_picks([Pick(sheet=sheet.id, colour="kelp", swatch="X1", between="X2")])
        shelf.copies.export(tmp_path / "evidence")
    return tmp_path / "evidence"


@pytest.mark.parametrize(
    "crafted", ["X;$(ID)>Y", "../../x", "-rf", "a b", "a\n", "\x1b[2J", "\ud800", "a\0b", "", "é"]
)
def test_a_strangers_id_is_refused(evidence, tmp_path, inkaccord, crafted):
    change_sheet(evidence, id=crafted)
    code, out, err = inkaccord("shelf", "import", evidence, "--shelf", tmp_path / "ours.sqlite")
    assert code in {2, 5}, out
    assert not acts(out + err)
    with Shelf.open(tmp_path / "ours.sqlite") as shelf:
        assert shelf.sheets() == ()


@pytest.mark.parametrize(
    "fields", [{"order": "\ud800"}, {"pages": 10**40}, {"bleed_pt": float("nan")}, {"order": "\0"}]
)
def test_values_that_no_shelf_can_hold_are_refused_or_kept(evidence, tmp_path, inkaccord, fields):
    change_sheet(evidence, **fields)
    code, out, err = inkaccord("shelf", "import", evidence, "--shelf", tmp_path / "ours.sqlite")
    assert code in {0, 2, 5}
    assert not acts(out + err)
    assert inkaccord("shelf", "verify", "--shelf", tmp_path / "ours.sqlite")[0] == 0


def test_a_pick_of_a_swatch_that_is_nowhere_is_refused(evidence, tmp_path, inkaccord):
    (path,) = evidence.glob("*/picks.json")
    path.write_text(path.read_text("utf-8").replace('"X2"', '"Q99"'), "utf-8")
    code, _, err = inkaccord("shelf", "import", evidence, "--shelf", tmp_path / "ours.sqlite")
    assert code == 5
    assert "shelf.json" in err


def test_suggested_commands_are_words_for_the_shell(asked):
    for step in run_of(asked)["next"]:
        assert shlex.split(step["command"])[:2] == ["inkaccord", "record"]
        assert not set(step["command"]) & set(";$`&|<>\n\\")
