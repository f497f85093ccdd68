"""One order in mid-flight, built once: nothing here changes it."""

import pytest

from report_kit import Desk, mid_flight


@pytest.fixture(scope="session")
def desk() -> Desk:
    return mid_flight()
