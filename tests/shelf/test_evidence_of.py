"""All that a pair's sheets tell comes in a few queries, however many sheets there are."""

import datetime

import pytest
import sqlalchemy as sa

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Pick
from inkaccord.shelf.store import Shelf
from recording_kit import DATE, PAIR, readings_of, sheet_of

OTHER = Pair(device=PAIR.device, stock="another")
STRANGER = Pair(device=f"{PAIR.device}-2", stock=PAIR.stock)


@pytest.fixture
def shelf(tmp_path):
    with Shelf.open(tmp_path / "shelf.sqlite") as opened:
        yield opened


def put(shelf, number, pair=PAIR, *, read=True):
    sheet = sheet_of(14, name=f"AAA-{number:03}", pair=pair)
    shelf.add_sheet(sheet)
    if read:
        day = DATE + datetime.timedelta(days=number)
        shelf.record_readings(readings_of(sheet, read_on=day))
    return sheet


def test_it_is_what_the_single_questions_give(shelf):
    first = put(shelf, 1)
    put(shelf, 2, OTHER)
    put(shelf, 3, read=False)
    retired = put(shelf, 4)
    shelf.record_picks([Pick(sheet=first.id, colour="leaf", swatch=first.swatches[0].id)])
    shelf.retire(retired.id)
    evidence = shelf.evidence_of([PAIR])[PAIR]
    assert evidence.sheets == shelf.sheets(PAIR)
    assert evidence.readings == shelf.readings_of(PAIR)
    assert evidence.picks == shelf.picks_of(PAIR)
    assert [len(part) for part in (evidence.sheets, evidence.readings, evidence.picks)] == [2, 1, 1]
    assert evidence.readings[0].sheet == first


def test_more_sheets_take_no_more_queries(shelf):
    asked = []
    sa.event.listen(
        shelf.database._engine, "before_cursor_execute", lambda *given: asked.append(given[2])
    )
    put(shelf, 1)
    asked.clear()
    shelf.evidence_of([PAIR])[PAIR]
    few = len(asked)
    for number in range(2, 8):
        put(shelf, number)
    asked.clear()
    shelf.evidence_of([PAIR])[PAIR]
    assert len(asked) == few


def test_readings_are_counted_by_pair_of_one_device(shelf):
    sheet = put(shelf, 1)
    put(shelf, 2)
    put(shelf, 3, OTHER)
    put(shelf, 4, STRANGER)
    put(shelf, 5, OTHER, read=False)
    shelf.retire(put(shelf, 6).id)
    each = len(sheet.swatches)
    assert shelf.readings_counted([PAIR.device]) == {
        (OTHER, Drive.CMYK): each,
        (PAIR, Drive.CMYK): 2 * each,
    }
