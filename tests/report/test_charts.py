"""Charts: what is set on them covers nothing else and is not cut off."""

import datetime

import pytest

from inkaccord.report.charts import drift_chart
from inkaccord.report.graphics import Words

FIRST = datetime.date(2026, 11, 3)


@pytest.mark.parametrize(
    ("days", "said"),
    [((0, 0), ["3 November 2026"]), ((0, 21), ["3 November 2026", "24 November 2026"])],
    ids=["one day", "three weeks"],
)
def test_days_of_drift_stand_within_the_chart_and_beside_each_other(
    days: tuple[int, ...], said: list[str]
) -> None:
    chart = drift_chart(
        "press@card", [(FIRST + datetime.timedelta(it), 0.4 * it) for it in days], 2.0
    )
    words = [it for it in chart.marks if isinstance(it, Words) and it.text.endswith("2026")]
    assert [it.text for it in words] == said
    ends: list[float] = []
    for it in words:
        wide = 5.5 * len(it.text)  # at 11 px, the size of its role on the page
        left = it.x - (wide if it.anchor == "end" else 0.0)
        assert left >= max(ends, default=0.0)
        assert left + wide <= chart.width
        ends.append(left + wide)
