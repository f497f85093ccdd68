"""Working days: Monday to Friday. Public holidays differ from place to place and aren't known."""

import datetime

_SATURDAY = 5


def files_needed_by(due: datetime.date, lead_days: int) -> datetime.date:
    """Return the last day on which a vendor can start, ``lead_days`` working days before ``due``.

    Without lead days it is the due date itself.
    """
    day = due
    while lead_days > 0:
        day -= datetime.timedelta(days=1)
        if day.weekday() < _SATURDAY:
            lead_days -= 1
    return day
