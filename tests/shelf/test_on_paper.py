"""Where printed sheets went, on the shelf and in what it exports."""

import datetime
import json
from pathlib import Path

import pytest

from inkaccord.errors import OrderError
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, readings_of, sheet_of
from run_kit import inkaccord

SHEET = sheet_of(15)


def test_a_sheet_is_away_until_it_is_back(tmp_path: Path) -> None:
    now = iter(datetime.datetime(2026, 5, day, tzinfo=datetime.UTC) for day in range(1, 30))
    with Shelf.open(tmp_path / "shelf.sqlite", by="Ida", clock=lambda: next(now)) as shelf:
        shelf.add_sheet(SHEET)
        shelf.paper.move(SHEET.id, MoveKind.LAID, "drawer 2")
        assert (shelf.summary(SHEET.id).lies, shelf.summary(SHEET.id).sent) == ("drawer 2", None)
        sent = shelf.paper.move(SHEET.id.lower(), MoveKind.SENT, " Harbour Print ")
        away = shelf.summary(SHEET.id)
        assert (away.state, away.lies, away.sent) == ("sent", "", sent)
        assert (sent.place, sent.by) == ("Harbour Print", "Ida")
        shelf.paper.move(SHEET.id, MoveKind.BACK)
        back = shelf.summary(SHEET.id)
        assert (back.state, back.lies, back.sent) == ("printed, waiting", "drawer 2", None)
        with pytest.raises(OrderError, match="no sheet"):
            shelf.paper.move("no-such", MoveKind.SENT)


def test_what_is_lent_is_found_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    at = tmp_path / "shelf.sqlite"
    with Shelf.open(at) as shelf:
        shelf.add_sheet(SHEET)
    monkeypatch.chdir(tmp_path)
    for words in (
        ("back", SHEET.id, "--place", "drawer 2", "--copies", "2"),
        ("lent", SHEET.id, "Ada"),
        ("place", SHEET.id, "wall", "--in-light"),
    ):
        assert inkaccord("--shelf", at, "shelf", *words)[0] == 0
    shown = inkaccord("--shelf", at, "shelf", "show", SHEET.id)[1]
    assert "It lies: wall, 2 copies, 1 lent to Ada on" in shown
    assert "It lies in the light: replace it after" in shown
    with Shelf.open(at) as shelf:
        shelf.copies.export(tmp_path / "text")
    with Shelf.open(tmp_path / "other.sqlite") as other:
        other.copies.take_in(tmp_path / "text")
        assert other.summary(SHEET.id).on_paper.told.startswith("wall, 2 copies, 1 lent to Ada")
    assert inkaccord("--shelf", at, "shelf", "returned", SHEET.id)[0] == 0
    told = json.loads(inkaccord("--shelf", at, "shelf", "show", SHEET.id, "--json")[1])["on_paper"]
    assert (told["lent"], told["in_light"], told["copies"]) == ([], True, 2)
    assert inkaccord("--shelf", at, "shelf", "label", SHEET.id)[0] == 0
    assert (tmp_path / "sheets" / f"label-{SHEET.id}.pdf").exists()
    small = inkaccord("--shelf", at, "shelf", "label", SHEET.id, "--size", "2cm x 2cm")
    assert small[0] == 2
    assert "no room" in small[2]


def test_what_is_told_later_of_one_day_stands_in_its_order(tmp_path: Path) -> None:
    noon = datetime.datetime(2026, 11, 3, 12, tzinfo=datetime.UTC)
    with Shelf.open(tmp_path / "shelf.sqlite", clock=lambda: noon) as shelf:
        shelf.add_sheet(SHEET)
        shelf.paper.move(SHEET.id, MoveKind.LAID, "drawer 2", copies=3)
        shelf.paper.move(SHEET.id, MoveKind.LENT, "Ada")
        ben = shelf.paper.move(SHEET.id, MoveKind.LENT, "Ben")
        assert "lent to Ada" in shelf.summary(SHEET.id).on_paper.told
        assert "Ben" in shelf.summary(SHEET.id).on_paper.told
        assert ben.at.date() == noon.date()


def test_moves_are_exported_and_taken_in_once(tmp_path: Path) -> None:
    with Shelf.open(tmp_path / "one.sqlite") as shelf:
        shelf.add_sheet(SHEET)
        before = {path: path.read_bytes() for path in shelf.copies.export(tmp_path / "plain")}
        assert b"moves" not in b"".join(before.values())
        shelf.paper.move(SHEET.id, MoveKind.LAID, "drawer 2")
        shelf.copies.export(tmp_path / "moved")
    with Shelf.open(tmp_path / "other.sqlite") as shelf:
        for folder in ("plain", "moved", "moved"):
            shelf.copies.take_in(tmp_path / folder)
        assert [it.place for it in shelf.kept_sheet(SHEET.id).moves] == ["drawer 2"]


def test_what_was_retired_comes_back_into_use(tmp_path: Path) -> None:
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        shelf.add_sheet(SHEET)
        shelf.record_readings(readings_of(SHEET))
        (kept,) = shelf.readings_of(PAIR)
        for retire, again in (
            (lambda: shelf.retire(SHEET.id), lambda: shelf.use_again(SHEET.id)),
            (
                lambda: shelf.retire_readings(SHEET.id, kept.digest),
                lambda: shelf.use_readings_again(SHEET.id, kept.digest[:8]),
            ),
        ):
            assert retire()
            assert shelf.readings_of(PAIR) == ()
            assert again()
            assert not again()
            assert shelf.readings_of(PAIR) == (kept,)


def test_the_command_line_says_it_too(tmp_path: Path) -> None:
    at = tmp_path / "shelf.sqlite"
    with Shelf.open(at) as shelf:
        shelf.add_sheet(SHEET)
    for words in (("sent", "--to", "Harbour Print"), ("back",), ("place", "drawer [2]")):
        verb, *more = words
        given = [more[0]] if verb == "place" else more
        assert inkaccord("--shelf", at, "shelf", verb, SHEET.id, *given)[0] == 0
    told = json.loads(inkaccord("--shelf", at, "shelf", "show", SHEET.id, "--json")[1])
    assert told["lies"] == "drawer [2]"
    assert [it["kind"] for it in told["moves"]] == ["sent", "back", "laid"]
    shown = inkaccord("--shelf", at, "shelf", "show", SHEET.id)[1]
    assert "Harbour Print" in shown
    assert "drawer [2]" in shown
    assert inkaccord("--shelf", at, "shelf", "retire", SHEET.id)[0] == 0
    assert "is in use" in inkaccord("--shelf", at, "shelf", "use-again", SHEET.id)[1]
