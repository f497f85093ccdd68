"""The day on which a person works: the one place that asks for it."""

import datetime


def today() -> datetime.date:
    """Return the day, where this computer is."""
    return datetime.datetime.now().astimezone().date()
