"""The text of another shelf on the page: shown, taken in as by the command, and taken back."""

import io
import zipfile
from pathlib import Path

import pytest

from inkaccord.order.book import BookColour
from inkaccord.sheets.model import Pick
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of, sheet_of
from run_kit import inkaccord
from web_kit import PageHere, studio, upload, value_on

THEIRS = sheet_of(20, name="N3W-N3W")
"""A sheet of another studio."""


@pytest.fixture
def opened(tmp_path: Path) -> PageHere:
    (tmp_path / "studio").mkdir()
    with Shelf.open(studio(tmp_path / "studio") / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet_of(30))
    return PageHere(tmp_path / "studio")


@pytest.fixture
def exported(tmp_path: Path) -> Path:
    """The folder of an export, by someone whose name means no good."""
    with Shelf.open(tmp_path / "theirs.sqlite", by="Eve & <Ida>") as shelf:
        shelf.add_sheet(THEIRS)
        shelf.record_readings(readings_of(THEIRS))
        shelf.record_picks([Pick(sheet=THEIRS.id, colour="kelp", swatch="B3", by="Ida")])
        shelf.copies.export(tmp_path / "theirs")
    return tmp_path / "theirs"


def packed(folder: Path, above: str = "", **more: bytes) -> bytes:
    with io.BytesIO() as out:
        with zipfile.ZipFile(out, "w") as package:
            for path in sorted(folder.rglob("*.*")):
                package.write(path, above + path.relative_to(folder).as_posix())
            for name, data in more.items():
                package.writestr(name, data)
        return out.getvalue()


def on_shelf(folder: Path) -> dict[str, tuple[int, int]]:
    """The sheets in use, with how many readings and looks each has."""
    with Shelf.open(folder / "tags" / "shelf.sqlite") as shelf:
        names = [it.sheet.id for it in shelf.sheets()]
        return {
            name: (len(shelf.readings_of_sheet(name)), len(shelf.picks_of_sheet(name)))
            for name in names
        }


@pytest.mark.parametrize("above", ["", "shelf/"])
def test_it_is_shown_then_taken_in_and_taken_back(
    opened: PageHere, exported: Path, above: str
) -> None:
    at, before = f"{opened.order}/another", on_shelf(opened.folder)
    shown = upload(opened, at, packed(exported, above))
    assert shown.status == 200, shown.text
    assert "New here: 1 sheet, 1 reading, 1 look" in shown.text
    assert THEIRS.id in shown.text
    assert "Eve &amp; &lt;Ida&gt;" in shown.text
    assert on_shelf(opened.folder) == before
    kept = opened.post(at, {"held": value_on(shown.text, "held"), "do": "keep"})
    assert kept.status == 303, kept.text
    assert on_shelf(opened.folder) == before | {THEIRS.id: (1, 1)}
    page = opened.get(kept.headers["location"]).text
    assert "Taken in: 1 sheet, 1 reading, 1 look." in page
    assert "Nothing of it is new here" in upload(opened, at, packed(exported)).text
    back = opened.post("/undo", {"word": value_on(page, "word")})
    assert back.status == 303
    assert on_shelf(opened.folder) == before
    taken = opened.get(back.headers["location"]).text
    assert "The shelf is as it was before." in taken
    again = opened.post("/undo", {"word": value_on(taken, "word")})
    assert on_shelf(opened.folder) == before | {THEIRS.id: (1, 1)}
    assert "What was taken back is done again." in opened.get(again.headers["location"]).text


def test_what_is_taken_back_leaves_the_shelf_as_it_was_to_the_byte(
    opened: PageHere, tmp_path: Path
) -> None:
    ours = opened.folder / "tags" / "shelf.sqlite"
    with Shelf.open(ours) as shelf:  # theirs is ours, with what became of it since
        shelf.book.add(BookColour.model_validate({"name": "Kelp", "aim": {"lab": [40, -22, 4]}}))
        before = text_of(shelf, tmp_path / "before")
        shelf.copies.back_up(tmp_path / "theirs.sqlite")
    with Shelf.open(tmp_path / "theirs.sqlite") as theirs:
        (sheet,) = theirs.sheets()
        theirs.paper.move(sheet.sheet.id, MoveKind.LENT, "Ben")
        theirs.retire(sheet.sheet.id, "mouldy")
        theirs.book.add(BookColour.model_validate({"name": "Kelp", "aim": {"lab": [41, -22, 4]}}))
        theirs.copies.export(tmp_path / "theirs")
    at = f"{opened.order}/another"
    word = value_on(upload(opened, at, packed(tmp_path / "theirs")).text, "held")
    kept = opened.post(at, {"held": word, "do": "keep"})
    with Shelf.open(ours) as shelf:
        assert text_of(shelf, tmp_path / "after") != before
    taken = opened.get(kept.headers["location"]).text
    assert opened.post("/undo", {"word": value_on(taken, "word")}).status == 303
    with Shelf.open(ours) as shelf:
        assert text_of(shelf, tmp_path / "back") == before


def text_of(shelf: Shelf, folder: Path) -> dict[str, bytes]:
    return {
        it.relative_to(folder).as_posix(): it.read_bytes() for it in shelf.copies.export(folder)
    }


def test_what_is_discarded_is_forgotten(opened: PageHere, exported: Path) -> None:
    at, before = f"{opened.order}/another", on_shelf(opened.folder)
    word = value_on(upload(opened, at, packed(exported)).text, "held")
    assert opened.post(at, {"held": word, "do": "discard"}).status == 303
    assert opened.post(at, {"held": word, "do": "keep"}).status == 409
    assert on_shelf(opened.folder) == before


def test_a_sheet_that_is_another_here_changes_nothing(opened: PageHere, exported: Path) -> None:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet_of(25, name=THEIRS.id))
    before = on_shelf(opened.folder)
    refused = upload(opened, f"{opened.order}/another", packed(exported))
    assert refused.status == 409
    assert THEIRS.id in refused.text
    assert "Nothing was taken in" in refused.text
    assert on_shelf(opened.folder) == before


def test_what_was_edited_or_is_no_export_is_refused(opened: PageHere, exported: Path) -> None:
    at = f"{opened.order}/another"
    assert "this is no zip" in upload(opened, at, b"no zip at all").text
    assert "no shelf.json in it" in upload(opened, at, packed(exported.parent / "none")).text
    assert "no file was dropped" in upload(opened, at).text
    (table,) = exported.glob("*/readings-*.txt")
    rows = table.read_text("utf-8").replace("BEGIN_DATA\n", "BEGIN_DATA\n", 1).splitlines()
    place = rows.index("BEGIN_DATA") + 1
    cells = rows[place].split()
    cells[-1] = "99"
    rows[place] = " ".join(cells)
    table.write_text("\n".join(rows) + "\n", "utf-8")
    refused = upload(opened, at, packed(exported))
    assert refused.status == 409
    assert "these readings are not the ones that were exported" in refused.text
    assert f"read-0.txt/{THEIRS.id}/{table.name}" in refused.text
    assert "inkaccord-" not in refused.text


def test_nothing_of_a_zip_is_written_elsewhere(opened: PageHere, exported: Path) -> None:
    strange = packed(exported, **{"../../out.json": b"{}", "/out.txt": b"", "a/b/c.json": b""})
    before = {it for it in opened.folder.rglob("*") if "shelf.sqlite" not in it.name}
    shown = upload(opened, f"{opened.order}/another", strange)
    assert "New here: 1 sheet" in shown.text
    assert {it for it in opened.folder.rglob("*") if "shelf.sqlite" not in it.name} == before
    assert not (opened.folder.parent / "out.json").exists()


def test_the_command_takes_the_same_zip_and_says_what_is_new_first(
    opened: PageHere, exported: Path, tmp_path: Path
) -> None:
    (tmp_path / "theirs.zip").write_bytes(packed(exported))
    words = ("shelf", "import", tmp_path / "theirs.zip", "--order", opened.folder / "tags")
    before = on_shelf(opened.folder)
    code, out, _ = inkaccord(*words, "--look")
    assert (code, out.strip()) == (0, "New: 1 sheet, 1 reading, 1 pick.")
    assert on_shelf(opened.folder) == before
    assert inkaccord(*words)[1] == out
    assert on_shelf(opened.folder) == before | {THEIRS.id: (1, 1)}
    assert inkaccord(*words)[1].strip() == "New: 0 sheets, 0 readings, 0 picks."


def test_an_order_without_a_shelf_gets_none_by_looking(tmp_path: Path, exported: Path) -> None:
    (tmp_path / "new").mkdir()
    order = studio(tmp_path / "new")
    page = PageHere(tmp_path / "new")
    assert "New here: 1 sheet" in upload(page, f"{page.order}/another", packed(exported)).text
    assert not (order / "shelf.sqlite").exists()
