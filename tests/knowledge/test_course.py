"""What of a pair's readings holds today, as its controls tell."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.course import Course, follow, known_today
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.shelf.kept import KeptReadings
from recording_kit import DATE, readings_of, sheet_of

FULL, SMALL = sheet_of(60, name="F5F-F5F"), sheet_of(12, name="S5S-S5S")


def taken(
    sheet: SampleSheet, day: int, *, darker: float = 0.0, noise: float = 0.3, only: str = ""
) -> KeptReadings:
    """Return a reading on a day, counted from the first, of a print that is so much darker."""
    read = readings_of(sheet, seed=day, read_on=DATE + datetime.timedelta(days=day), noise=noise)
    rng = np.random.default_rng(day)
    moved = [
        one.model_copy(
            update={"lab": tuple(np.array(one.lab) - [darker, 0, 0] + rng.normal(0, noise / 2, 3))}
        )
        for one in read.readings
        if only in one.swatch
    ]
    readings = SheetReadings(**{**dict(read), "readings": tuple(moved)})
    moment = datetime.datetime.combine(read.read_on or DATE, datetime.time(12), datetime.UTC)
    return KeptReadings(
        digest=f"{sheet.id} {day}", sheet=sheet, readings=readings, recorded_at=moment
    )


def days(records: tuple[KeptReadings, ...]) -> list[int]:
    return [(record.day - DATE).days for record in records]


def test_nothing_read_is_no_course() -> None:
    assert follow((), 2.0) == Course()


def test_prints_that_agree_are_one_state() -> None:
    course = follow([taken(FULL, 0), taken(SMALL, 90, darker=1.0), taken(SMALL, 200)], 2.0)
    assert not course.drifted
    assert days(course.now) == [0, 90, 200]
    assert [it.beyond for it in course.compared] == [False, False]
    assert [(it.since - DATE).days for it in course.compared] == [0, 0]
    assert 0.4 < course.compared[0].apart.typical < 1.3


def test_controls_beyond_the_tolerance_are_a_drift() -> None:
    kept = [taken(SMALL, 90, darker=5.0), taken(FULL, 0)]  # whatever order they come in
    course = follow(kept, 2.0)
    assert course.drifted
    assert not course.read_anew
    assert (days(course.before), days(course.now)) == ([0], [90])
    assert course.event is not None
    assert (course.event.sheet, course.event.since_sheet) == (SMALL.id, FULL.id)
    assert not follow(kept, 8.0).drifted


def test_a_whole_sheet_reads_a_drifted_pair_anew() -> None:
    kept = [taken(FULL, 0), taken(SMALL, 90, darker=5.0), taken(FULL, 91, darker=5.0)]
    course = follow(kept, 2.0)
    assert course.drifted
    assert course.read_anew
    assert (days(course.before), days(course.now)) == ([0], [90, 91])
    assert [it.beyond for it in course.compared] == [True, False]
    # What it drifts from next is the newest state that was read in full.
    later = follow([*kept, taken(SMALL, 300, darker=-4.0)], 2.0)
    assert (days(later.before), days(later.now)) == ([90, 91], [300])


def test_a_device_that_comes_back_is_known_again() -> None:
    kept = [taken(FULL, 0), taken(SMALL, 90, darker=5.0), taken(SMALL, 120)]
    course = follow(kept, 2.0)
    assert not course.drifted
    assert days(course.now) == [0, 120]
    assert not course.left_behind


def test_slow_drift_is_seen_from_where_it_began() -> None:
    kept = [taken(FULL, 0), *(taken(SMALL, 90 * n, darker=1.4 * n) for n in range(1, 4))]
    course = follow(kept, 2.0)
    assert course.drifted
    assert days(course.now)[0] > 90


def test_a_noisy_scan_alone_is_no_drift() -> None:
    for day in range(60, 80):
        course = follow([taken(FULL, 0), taken(SMALL, day, noise=3.0)], 2.0)
        assert not course.drifted


def test_readings_without_controls_go_with_their_sheet() -> None:
    kept = [taken(FULL, 0, only="B"), taken(SMALL, 1), taken(SMALL, 90, darker=5.0)]
    late = taken(FULL, 95, only="D")
    course = follow([*kept, late], 2.0)
    assert days(course.before) == [0, 1, 95]  # of a print that was made before the drift
    other = sheet_of(60, name="T7T-T7T")
    assert days(follow([*kept, taken(other, 95, only="D")], 2.0).now) == [90, 95]


def test_rgb_pairs_are_followed_too() -> None:
    rgb = Pair.parse("inkjet@kraft")
    sheets = [sheet_of(n, drive=Drive.RGB, pair=rgb, name=f"R{n}") for n in (60, 12)]
    course = follow([taken(sheets[0], 0), taken(sheets[1], 90, darker=5.0)], 2.0)
    assert course.drifted


@pytest.mark.parametrize("tolerance", [0.5, 1.0, 4.0])
def test_every_reading_is_in_at_most_one_state(tolerance: float) -> None:
    rng = np.random.default_rng(4)
    kept = [taken(FULL, 0)] + [
        taken(SMALL, int(day), darker=float(rng.normal(0, 2))) for day in range(10, 200, 20)
    ]
    course = follow(kept, tolerance)
    assert not {it.digest for it in course.now} & {it.digest for it in course.before}
    assert len(course.compared) == 10


def test_a_scan_is_not_calibrated_on_what_was_before_a_drift() -> None:
    kept = [taken(FULL, 0), taken(SMALL, 90, darker=5.0)]
    new = sheet_of(12, name="N7N-N7N")
    (today,) = known_today(new, kept, 2.0)
    (paper,) = [one for one in today.readings if one.swatch == "X1"]
    assert paper.lab == kept[1].readings.readings[0].lab
    assert len(known_today(FULL, kept, 2.0)[0].readings) == 60  # its own, whenever
