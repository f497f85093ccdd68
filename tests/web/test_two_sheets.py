"""Two sheets in one scan on the page: read beside each other or compared, shown and then kept."""

import datetime
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Pick
from inkaccord.sheets.planning.plan import named
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of
from run_kit import inkaccord
from scan_kit import drawn_sheet, on_one_glass
from web_kit import OpenPage, open_page, studio, upload, value_on

pytestmark = pytest.mark.slow  # a page and commands beside it, for each

CARD = drawn_sheet("a7-envelope", colours=1, each=5, pair="press@card")
LATER = drawn_sheet("a7-envelope", colours=2, each=2, pair="press@card")
THERE = named(CARD.model_copy(update={"pair": Pair.parse("jet@card")}))


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """An order whose shelf has a sheet that was read, one that waits, and one of another pair."""
    folder = tmp_path_factory.mktemp("studio")
    with Shelf.open(studio(folder) / "shelf.sqlite") as kept:
        for sheet in (CARD, LATER, THERE):
            kept.add_sheet(sheet)
        kept.record_readings(readings_of(CARD, read_on=datetime.date(2026, 3, 14)))
        kept.record_picks([Pick(sheet=CARD.id, colour="kelp", swatch="A2", sure=1.0)])
    yield from open_page(folder)


def evidence(folder: Path) -> tuple[object, ...]:
    """What the order's shelf knows of the sheets, but when and from which file."""
    with Shelf.open(folder / "tags" / "shelf.sqlite") as shelf:
        read = shelf.readings_of_sheet(LATER.id)
        looks = shelf.picks_of_sheet(THERE.id)
    return (
        tuple((it.readings, it.recorded_by) for it in read),
        tuple((it.pick, it.digest) for it in looks),
    )


def test_a_sheet_is_read_beside_a_known_one_as_the_command_reads_it(
    opened: OpenPage, tmp_path: Path
) -> None:
    shutil.copytree(opened.folder / "tags", tmp_path / "tags")
    both = on_one_glass(CARD, LATER)
    at = f"{opened.order}/read/{LATER.id}"
    asked = opened.get(at).text
    assert f'<option value="{CARD.id}">press@card' in asked
    assert LATER.id not in asked.partition("<datalist")[2].partition("</datalist")[0]
    nothing_known = upload(opened, f"{opened.order}/read/{CARD.id}", both, beside=LATER.id)
    assert nothing_known.status == 409
    assert f"nothing is known of sheet {LATER.id}" in nothing_known.text
    assert value_on(nothing_known.text, "beside") == LATER.id

    shown = upload(opened, at, both, beside=CARD.id.lower(), by="Ida")
    assert shown.status == 200, shown.text
    assert f"{len(LATER.swatches)} readings of sheet {LATER.id}" in shown.text
    before = evidence(opened.folder)
    form = {name: value_on(shown.text, name) for name in ("file", "columns", "beside", "by")}
    kept = opened.post(f"{at}/keep", form | {"do": "keep"})
    assert kept.status == 303, kept.text
    (tmp_path / "both.png").write_bytes(both)
    words = ("--beside", CARD.id, "--by", "Ida", "--order", tmp_path / "tags")
    assert inkaccord("record", LATER.id, tmp_path / "both.png", *words)[0] == 0
    assert evidence(opened.folder) == evidence(tmp_path) != before
    word = kept.headers["location"].partition("done=")[2]
    assert opened.post("/undo", {"word": word}).status == 303
    assert evidence(opened.folder) == before


def test_two_sheets_are_compared_as_the_command_compares_them(
    opened: OpenPage, tmp_path: Path
) -> None:
    shutil.copytree(opened.folder / "tags", tmp_path / "tags")
    both = on_one_glass(CARD, THERE)
    at = f"{opened.order}/compare"
    assert f'<option value="{THERE.id}">jet@card' in opened.get(at).text
    asked = {"one": CARD.id, "other": THERE.id, "by": "Ida"}
    same = upload(opened, at, both, **asked | {"other": CARD.id})
    assert same.status == 409
    assert "compared with another one" in same.text
    assert value_on(same.text, "by") == "Ida"
    assert "no file was dropped" in upload(opened, at, **asked).text
    absent = upload(opened, at, both, **asked | {"other": LATER.id}).text
    shows = " and ".join(sorted((CARD.id, THERE.id)))
    assert f"the scan shows sheets {shows}, not {LATER.id}" in absent
    assert f"lay {LATER.id} on the glass" in absent

    before = evidence(opened.folder)
    shown = upload(opened, at, both, **asked)
    assert shown.status == 200, shown.text
    assert f"{len(CARD.swatches)} swatches: " in shown.text
    assert "looks to the scanner like" in shown.text
    assert evidence(opened.folder) == before
    form = asked | {"file": value_on(shown.text, "file")}
    assert opened.post(f"{at}/keep", form | {"do": "discard"}).status == 303
    assert evidence(opened.folder) == before
    form = asked | {"file": value_on(upload(opened, at, both, **asked).text, "file")}
    kept = opened.post(f"{at}/keep", form | {"do": "keep"})
    assert kept.status == 303, kept.text
    (tmp_path / "both.png").write_bytes(both)
    words = ("--by", "Ida", "--order", tmp_path / "tags")
    code, _, err = inkaccord("compare", CARD.id, THERE.id, tmp_path / "both.png", *words)
    assert code == 0, err
    assert evidence(opened.folder) == evidence(tmp_path) != before
    there = opened.get(kept.headers["location"]).text
    assert "1 look at sheet" in there
    assert opened.post("/undo", {"word": value_on(there, "word")}).status == 303
    assert evidence(opened.folder) == before
