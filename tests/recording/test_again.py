"""An order from last season's: what it keeps, what it changes, and what it says to think about."""

import datetime
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import cast

import numpy as np
import pytest
import yaml

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.errors import OrderError
from inkaccord.order.book import BookColour
from inkaccord.order.colours import Aim
from inkaccord.order.loading import load_order
from inkaccord.recall.recall import Recall
from inkaccord.recall.recent import Recent
from inkaccord.recording.again import LastSeason, begin_again, to_think
from inkaccord.recording.from_book import uses_of, with_book
from inkaccord.sheets.model import Pick, SampleSheet
from inkaccord.shelf.store import Shelf
from recording_kit import DATE, printed_lab, readings_of, sheet_of
from run_kit import inkaccord
from web_kit import studio

TODAY = DATE + datetime.timedelta(days=700)


def last_of(order: Path, artworks: dict[str, str] | None = None) -> LastSeason:
    loaded = load_order(order / "order.yaml", {})
    return LastSeason(loaded, order / "shelf.sqlite", artworks or {})


@pytest.fixture
def last(tmp_path: Path) -> Path:
    order = studio(tmp_path)
    path = order / "order.yaml"
    text = path.read_text("utf-8").replace("date:", "due: 2036-04-01  # firm\n# ours\ndate:", 1)
    path.write_text(f"# yaml-language-server: x\n{text}title: Spring\n", "utf-8")
    return order


def test_all_is_taken_over_but_name_and_dates(last: Path, tmp_path: Path) -> None:
    before = (last / "order.yaml").read_text("utf-8")
    made = begin_again(tmp_path / "next", last_of(last), TODAY, {})
    text = (tmp_path / "next" / "order.yaml").read_text("utf-8")
    assert text.startswith("# yaml-language-server: x\n# From 'tags' of ")
    kept = [it for it in text.splitlines() if it in before.splitlines()]
    changed = [it for it in before.splitlines() if it not in kept]
    assert [it.partition(":")[0] for it in changed] == ["order", "due", "date"]
    assert "# due: 2036-04-01  # firm   # last time's" in text
    again = load_order(tmp_path / "next" / "order.yaml", {}).order
    assert (again.order, again.date, again.due, again.title) == ("next", TODAY, None, "Spring")
    assert (tmp_path / "next" / "tag.pdf").read_bytes() == (last / "tag.pdf").read_bytes()
    assert any("1 April 2036" in it.message for it in made.to_think)
    assert any("knows nothing" in it.message for it in made.to_think)


def test_findings_that_were_accepted_are_told_together(last: Path, tmp_path: Path) -> None:
    path = last / "order.yaml"
    accepted = "pieces.tag.waive: {no-bleed: white rim, thin-line: held}\n"
    path.write_text(path.read_text("utf-8") + accepted, "utf-8")
    said = [it.message for it in begin_again(tmp_path / "next", last_of(last), TODAY, {}).to_think]
    assert "tag: no-bleed and thin-line were accepted then, and still are" in said


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_each_season_has_its_own_list_alone(last: Path, tmp_path: Path, end: str) -> None:
    """Last season's list stood below this one's, and that of the season before below that."""
    path = last / "order.yaml"
    path.write_bytes(path.read_text("utf-8").replace("\n", end).encode())
    begin_again(tmp_path / "autumn", last_of(last), TODAY, {})
    once = (tmp_path / "autumn" / "order.yaml").read_bytes().decode()
    begin_again(tmp_path / "winter", last_of(tmp_path / "autumn"), TODAY, {})
    twice = (tmp_path / "winter" / "order.yaml").read_bytes().decode()
    assert (once.count("Think about"), twice.count("Think about")) == (1, 1)
    assert f"# From 'autumn' of {TODAY}." in twice
    assert "# ours" in twice
    assert len(twice.splitlines()) == len(once.splitlines())


@pytest.mark.parametrize("line", ["accept_by_eye: true", "release: regardless"])
def test_what_was_accepted_for_a_whole_order_is_told(last: Path, line: str) -> None:
    """It was an answer about last time's devices and stocks, and went on for others unasked."""
    path = last / "order.yaml"
    bare = re.sub(r"(?m)^(accept_by_eye|release):.*\n", "", path.read_text("utf-8"))
    path.write_text(bare, "utf-8")
    before = to_think(last_of(last), TODAY)
    path.write_text(f"{bare}{line}\n", "utf-8")
    (said,) = [it for it in to_think(last_of(last), TODAY) if it not in before]
    assert said.message.startswith(f"{line.partition(':')[0]}: last time")
    assert "take it out" in (said.hint or "")


def test_old_readings_and_changed_artwork_are_to_be_thought_about(
    last: Path, tmp_path: Path
) -> None:
    sheet = sheet_of(30, pair=load_order(last / "order.yaml", {}).order.pairs_needed()[0])
    with Shelf.open(last / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet, read_on=DATE))
    made = begin_again(tmp_path / "next", last_of(last, {"tag": "0" * 64}), TODAY, {})
    said = {it.code: it.message for it in made.to_think}
    assert "700 days" in said["again-stale"]
    assert "was changed since" in said["again-artwork"]
    with Shelf.open(tmp_path / "next" / "shelf.sqlite") as shelf:
        assert len(shelf.readings_of_sheet(sheet.id)) == 1


def looked_at(last: Path) -> SampleSheet:
    """Keep a sheet of the order's first pair that was read, and on which kelp was picked."""
    pair = load_order(last / "order.yaml", {}).order.pairs_needed()[0]
    sheet = sheet_of(30, pair=pair)
    with Shelf.open(last / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet, read_on=DATE))
        shelf.record_picks([Pick(sheet=sheet.id, colour="kelp", swatch="B5", picked_on=DATE)])
    return sheet


def test_an_aim_that_rests_on_looks_is_told_with_how_to_hold_it(last: Path, tmp_path: Path) -> None:
    """With a vendor that is gone its looks went too, and the colour with them, unsaid."""
    sheet = looked_at(last)
    said = {it.code: it for it in to_think(last_of(last), TODAY)}["again-by-eye"]
    assert said.message.startswith(
        f"kelp: what a dried leaf looks like was picked on {sheet.pair};"
    )
    given = yaml.safe_load((said.hint or "").partition("write aim: ")[2])["lab"]
    swatch = sheet.swatch("B5")
    assert swatch is not None
    (printed,) = printed_lab(np.array([swatch.build.values]), Drive.CMYK)
    assert delta_e_2000(np.array(given), printed) < 3.0


def test_what_the_pairs_print_is_recalled_and_not_found_out_anew(last: Path) -> None:
    """The page asks at each look: a suite of five pairs took seconds."""
    looked_at(last)
    recent = Recent(10)
    season = replace(last_of(last), recall=recent)
    first = to_think(season, TODAY)
    nothing = recent.before(cast("Recall", None))  # whoever asks it fails
    assert to_think(replace(season, recall=nothing), TODAY) == first


def test_what_can_not_be_taken_over_writes_nothing(last: Path, tmp_path: Path) -> None:
    (last / "tag.pdf").rename(tmp_path / "tag.pdf")
    path = last / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("tag.pdf", "../tag.pdf"), "utf-8")
    begin_again(tmp_path / "beside", last_of(last), TODAY, {})
    with pytest.raises(OrderError, match="would not find it"):
        begin_again(tmp_path / "far" / "away", last_of(last), TODAY, {})
    path.write_text(path.read_text("utf-8").replace("date:", "'date':"), "utf-8")
    with pytest.raises(OrderError, match="can't be changed in its text"):
        begin_again(tmp_path / "odd", last_of(last), TODAY, {})
    assert not (tmp_path / "far").exists()
    assert not (tmp_path / "odd").exists()


def test_the_command_says_what_to_think_about(last: Path, tmp_path: Path) -> None:
    code, said, _ = inkaccord("new", tmp_path / "next", "--from", last)
    assert code == 0
    assert "Think about:" in said
    assert "no longer" not in said
    shutil.rmtree(tmp_path / "next")
    assert inkaccord("new", tmp_path / "next", "--from", last, "--from", last)[0] == 2


def test_a_colour_that_the_book_has_redefined_is_told_with_how_to_keep_it(
    last: Path, tmp_path: Path
) -> None:
    """Another order begins with the newest edition: its prints would not match last season's."""
    path = last / "order.yaml"
    order = yaml.safe_load(path.read_text("utf-8"))
    order["colours"]["kelp"]["aim"] = {"from_book": "Harbour green"}
    path.write_text(yaml.safe_dump(order), "utf-8")

    def says(*lab: float, struck: bool = False) -> None:
        with Shelf.open(last / "shelf.sqlite") as shelf:
            shelf.book.add(BookColour(name="Harbour green", aim=Aim(lab=lab), struck=struck))

    def told() -> list[tuple[str, str | None]]:
        thoughts = to_think(last_of(last), TODAY)
        return [(it.message, it.hint) for it in thoughts if it.code == "again-book"]

    says(41, -20, 8)
    assert not told()  # it was never run
    with Shelf.open(last / "shelf.sqlite") as shelf:
        loaded = with_book(last_of(last).loaded, shelf)
        shelf.book.use(uses_of(loaded))
    assert not told()
    says(38, -22, 6)
    ((message, hint),) = told()
    assert message == (
        "kelp: the book says otherwise of 'Harbour green' now: CIELAB 38, -22, 6 (D50, 2°) "
        "(edition 2); last time CIELAB 41, -20, 8 (D50, 2°)"
    )
    assert hint == "for last time's, write 'edition: 1' beside 'from_book'"
    begin_again(tmp_path / "next", last_of(last), TODAY, {})
    text = (tmp_path / "next" / "order.yaml").read_text("utf-8")
    assert "# - kelp: the book says otherwise" in text
    kept = text.replace("from_book: Harbour green", "edition: 1\n      from_book: Harbour green")
    (tmp_path / "next" / "order.yaml").write_text(kept, "utf-8")
    with Shelf.open(tmp_path / "next" / "shelf.sqlite") as shelf:
        again = with_book(load_order(tmp_path / "next" / "order.yaml", {}), shelf)
    assert again.order.colours["kelp"].aim.lab == (41, -20, 8)
    says(38, -22, 6, struck=True)
    assert "now: it is struck out; last time" in told()[0][0]
    says(41, -20, 8)  # as it was
    assert not told()


def test_what_names_stand_for_is_told(last: Path) -> None:
    (said,) = [it.message for it in to_think(last_of(last), TODAY) if it.code == "again-names"]
    assert "One that was replaced takes a new name" in said
