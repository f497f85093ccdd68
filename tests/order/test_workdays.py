"""Files are needed so many working days before the goods."""

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.order.workdays import files_needed_by


@pytest.mark.parametrize(
    ("due", "days", "wanted"),
    [
        ("2026-11-06", 0, "2026-11-06"),
        ("2026-11-06", 4, "2026-11-02"),  # Friday back to Monday
        ("2026-11-06", 5, "2026-10-30"),  # over a weekend
        ("2026-11-08", 1, "2026-11-06"),  # due on a Sunday
    ],
)
def test_known_days(due: str, days: int, wanted: str) -> None:
    found = files_needed_by(datetime.date.fromisoformat(due), days)
    assert found == datetime.date.fromisoformat(wanted)


@given(st.dates(datetime.date(2020, 1, 1), datetime.date(2040, 1, 1)), st.integers(1, 60))
@settings(max_examples=60, deadline=None)
def test_so_many_working_days_lie_between(due: datetime.date, days: int) -> None:
    """Counted day by day on the calendar."""
    found = files_needed_by(due, days)
    between = (found + datetime.timedelta(days=at) for at in range((due - found).days))
    assert found.weekday() < 5
    assert sum(day.weekday() < 5 for day in between) == days
