"""The day on which a person works: the one place that asks for it."""

import datetime


def today() -> datetime.date:
    """Return the day, where this computer is."""
    return datetime.datetime.now().astimezone().date()


def come(day: datetime.date) -> datetime.date:
    """Return a day on which something was done. Raises ValueError for one that is still to come."""
    if day > today():
        raise ValueError(f"{day} is still to come: write the day on which it was done")
    return day
