"""Working days: Monday to Friday. Public holidays differ from place to place and aren't known."""

import datetime
from typing import cast

import numpy as np


def files_needed_by(due: datetime.date, lead_days: int) -> datetime.date:
    """Return the last day on which a vendor can start, ``lead_days`` working days before ``due``.

    Without lead days it is the due date itself.
    """
    if not lead_days:
        return due
    start = np.busday_offset(np.datetime64(due), -lead_days, roll="forward")
    return cast("datetime.date", start.item())
