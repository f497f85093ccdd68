"""Working days: Monday to Friday. Public holidays differ from place to place and aren't known."""

import datetime

_A_DAY = datetime.timedelta(days=1)
_SATURDAY = 5


def files_needed_by(due: datetime.date, lead_days: int) -> datetime.date:
    """Return the last day on which a vendor can start, ``lead_days`` working days before ``due``.

    Without lead days it is the due date itself.
    """
    day = due
    while lead_days and day.weekday() >= _SATURDAY:  # due on a weekend is due on Monday
        day += _A_DAY
    for _ in range(lead_days):
        day -= _A_DAY
        while day.weekday() >= _SATURDAY:
            day -= _A_DAY
    return day
