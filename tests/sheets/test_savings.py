"""What a sheet costs and what the shelf saved, in numbers that can be checked by hand."""

import datetime

import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.savings import Cost, cost_of, coverage, savings
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_MM


def sheet(*builds: Build) -> SampleSheet:
    side = 20 * PT_PER_MM  # 4 cm² each
    return SampleSheet(
        id="K7Q-XM3",
        pair=Pair.parse("laser@kraft"),
        drive=Drive.CMYK,
        purpose=Purpose.SCOUTING,
        swatches=tuple(
            Swatch(id=f"A{n}", build=build, box_pt=(0, 0, side, side))
            for n, build in enumerate(builds, start=1)
        ),
        size=Size.parse("letter"),
        date=datetime.date(2026, 5, 14),
    )


def test_ink_is_area_times_coverage() -> None:
    cost = cost_of([sheet(Build.cmyk(85, 20, 60, 30), Build.cmyk(0, 0, 0, 0)), None])
    assert (cost.swatches, cost.pages) == (2, 1)
    assert cost.area_cm2 == pytest.approx(8)
    assert cost.ink_cm2 == pytest.approx(4 * 1.95)
    assert coverage(Build.rgb(255, 255, 255)) == 0
    assert coverage(Build.rgb(0, 255, 0)) == pytest.approx(2)


def test_white_under_all_of_a_page_is_ink_too() -> None:
    live = (0.0, 0.0, 180 * PT_PER_MM, 250 * PT_PER_MM)  # 450 cm²
    bare = sheet(Build.cmyk(85, 20, 60, 30)).model_copy(update={"live_pt": live, "pages": 2})
    white = bare.settings.model_copy(update={"white_under": "White"})
    before, with_white = cost_of([bare]), cost_of([bare.model_copy(update={"settings": white})])
    assert with_white.ink_cm2 - before.ink_cm2 == pytest.approx(2 * 450)
    assert with_white.area_cm2 == before.area_cm2, "of the swatches"


def test_swatches_that_save_no_page_are_not_said_to_lie_on_none() -> None:
    assert str(Cost(swatches=130, area_cm2=52.0, ink_cm2=80.0)) == (
        "130 swatches, 52 cm² printed, with as much ink as 80 cm² of one solid ink"
    )
    assert str(Cost(swatches=1, pages=1)).startswith("1 swatch on 1 page,")


def test_savings_are_the_difference_to_an_empty_shelf() -> None:
    kelp, slate = Build.cmyk(85, 20, 60, 30), Build.cmyk(60, 40, 30, 20)
    found = savings([sheet(kelp)], [sheet(kelp, slate), sheet(slate)])
    assert (found.saved.swatches, found.saved.pages) == (2, 1)
    assert found.saved.ink_cm2 == pytest.approx(2 * 4 * 1.5)
    assert str(found.saved) == (
        "2 swatches on 1 page, 8 cm² printed, with as much ink as 12 cm² of one solid ink"
    )
    assert savings([sheet(kelp)], [sheet(kelp)]).saved.swatches == 0
