"""The list of what lies on the shelf."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Pick, SheetReadings
from inkaccord.shelf.overview import ListPage
from inkaccord.shelf.store import Shelf
from recording_kit import DATE, PAIR, readings_of, sheet_of

LATER = DATE + datetime.timedelta(days=120)


def darker(readings: SheetReadings, by: float) -> SheetReadings:
    return readings.model_copy(
        update={
            "readings": tuple(
                r.model_copy(update={"lab": (r.lab[0] - by, *r.lab[1:])}) for r in readings.readings
            )
        }
    )


def test_a_line_says_age_evidence_drift_and_use(tmp_path: object) -> None:
    first, second, third = (sheet_of(30, name=name) for name in ("B2B-B2B", "C3C-C3C", "D4D-D4D"))
    other = sheet_of(20, name="F5F-F5F", pair=Pair.parse("inkjet@kraft"))
    now = readings_of(first, read_on=DATE)
    later = darker(readings_of(second, seed=1, read_on=LATER, noise=1.4), 3.0)
    with Shelf.open(f"{tmp_path}/shelf.sqlite") as shelf:
        for sheet in (first, second, third, other):
            shelf.add_sheet(sheet)
        shelf.record_readings(later)
        shelf.record_readings(now)
        shelf.record_picks([Pick(sheet=third.id, colour="kelp", swatch="B5")])
        shelf.serve("members-evening", {PAIR: ["kelp", "slate"]})
        shelf.retire(other.id)
        lines = {line.id: line for line in shelf.overview()}
        assert list(lines) == [first.id, second.id, third.id]
        assert {line.id for line in shelf.overview(retired=True)} == {*lines, other.id}

    one, two, three = lines.values()
    assert (one.swatches, one.readings, one.picks, one.served) == (30, 1, 0, 2)
    assert (one.last_read, one.age_days(LATER), one.noise) == (DATE, 120, 0.3)
    assert one.drift is None  # it was read first, though it was recorded last
    controls = slice(0, 12)
    apart = delta_e_2000(
        [r.lab for r in now.readings[controls]], [r.lab for r in later.readings[controls]]
    )
    noise = 0.3**2 + 1.4**2  # of the two readings, taken off
    assert two.drift == pytest.approx(float(np.sqrt(np.mean(apart**2) - noise)), abs=0.006)
    assert two.drift > 1.5
    assert (three.readings, three.picks, three.last_read, three.drift) == (0, 1, None, None)


def test_a_retired_reading_counts_no_more(tmp_path: object) -> None:
    sheet = sheet_of(30)
    with Shelf.open(f"{tmp_path}/shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet, read_on=DATE))
        shelf.record_readings(readings_of(sheet, seed=1, read_on=LATER))
        newest = max(shelf.readings_of(PAIR), key=lambda kept: kept.readings.read_on or DATE)
        assert shelf.overview()[0].drift is not None
        shelf.retire_readings(sheet.id, newest.digest)
        (line,) = shelf.overview()
    assert (line.readings, line.last_read, line.drift) == (1, DATE, None)


@pytest.mark.about_its_file
def test_a_page_of_the_list_is_that_part_of_it_and_reads_no_more(tmp_path: object) -> None:
    pairs = [Pair.parse(f"press-{at}@kraft") for at in (1, 2, 3)]
    sheets = [
        sheet_of(16, pair=pair, name=f"S{at}-{number}")
        for at, pair in enumerate(pairs)
        for number in (1, 2, 3)
    ]
    with Shelf.open(f"{tmp_path}/shelf.sqlite") as shelf:
        for at, sheet in enumerate(sheets):
            shelf.add_sheet(sheet)
            if at % 3 < 2:
                day = DATE + datetime.timedelta(days=at)
                shelf.record_readings(darker(readings_of(sheet, seed=at, read_on=day), at % 3))
        whole = shelf.overview()
        assert shelf.number_of_sheets() == len(whole) == 9
        assert [line.drift is None for line in whole] == [True, False, True] * 3
        pages = [shelf.overview(page=ListPage(start, 2)) for start in range(0, 10, 2)]
        assert [line for page in pages for line in page] == list(whole)
        assert shelf.overview(page=ListPage(10, 2)) == ()
        assert [shelf.summary(line.id.lower()) for line in whole] == list(whole)
        with shelf.database.writing() as connection:  # what is read of it would fall
            connection.exec_driver_sql(
                "UPDATE sheets SET layout = '' WHERE pair <> 'press-1@kraft'"
            )
            connection.exec_driver_sql(
                "UPDATE readings SET lab_l = 'x' WHERE sheet_id NOT LIKE 'S0-%'"
            )
        assert shelf.overview(page=ListPage(0, 3)) == whole[:3]
