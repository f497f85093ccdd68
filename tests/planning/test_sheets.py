"""Which swatches the first sheet of a pair carries."""

from types import SimpleNamespace

import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.model import fit
from inkaccord.knowledge.pairs import paper_readings
from inkaccord.knowledge.values import ResolvedAim
from inkaccord.planning.sheets import PER_AIM, closing_sheet, first_sheet
from inkaccord.sheets.planning.plan import SCOUTING
from inkaccord.units import millimetres
from planning_kit import LASER, PRESS, bench_of, order_of

PAPER = (95.0, 0.0, 0.0)
AIM = Build.cmyk(37, 23, 11, 4)
ORDER = order_of(
    colours={
        "butter": {"aim": {"lab": [90, 0, 30]}, "in_artwork": ["cmyk 3 8 45 0"]},
        "heron": {
            "aim": {"build": "cmyk 37 23 11 4", "on": "laser@card"},
            "in_artwork": ["cmyk 37 23 11 4"],
        },
    }
)


@pytest.fixture(scope="module")
def first():
    """Return the first sheet of a pair that is known by its paper, for some colours."""

    def unread(pair):
        model = fit(paper_readings(Drive.CMYK, PAPER))
        return SimpleNamespace(
            pair=pair,
            drive=Drive.CMYK,
            policy=InkPolicy(),
            paper=PAPER,
            paper_lightness=PAPER[0],
            model=model,
            lab_of=lambda build: model.predict_lab([build.values])[0],
            recall=lambda function, *given, **named: function(*given, **named),
        )

    bench = bench_of(ORDER, {pair: unread(pair) for pair in (LASER, PRESS)})
    aims = {"butter": ResolvedAim(lab=(90.0, 0.0, 30.0)), "heron": ResolvedAim(lab=None)}
    translations = SimpleNamespace(aims=aims)

    def first(pair, *colours, order=ORDER):
        return first_sheet(order, bench.pair(pair), colours, translations, bench)

    return first


def swatches_of(sheet):
    return [it for it in sheet.swatches if not it.control]


@pytest.mark.slow
def test_a_build_that_is_an_aim_stands_on_the_first_sheet_of_its_own_pair_alone(first):
    here, elsewhere = first(LASER, "heron"), first(PRESS, "heron")
    assert [it.build for it in here.swatches if it.colour == "heron"] == [AIM]
    assert AIM not in [it.build for it in elsewhere.swatches]


@pytest.mark.slow
def test_each_colour_brings_swatches_where_they_cost_no_page_even_if_its_aim_is_a_print(first):
    plain, one, two = first(PRESS), first(PRESS, "heron"), first(PRESS, "heron", "butter")
    assert len(swatches_of(plain)) == SCOUTING
    assert len(swatches_of(one)) == SCOUTING + PER_AIM[0]
    assert len(swatches_of(two)) == SCOUTING + 2 * PER_AIM[0]
    assert (plain.pages, one.pages, two.pages) == (1, 1, 1)


@pytest.mark.slow
def test_swatches_are_as_large_as_the_instrument_asks(first):
    wide = first(PRESS, "butter", order=ORDER.model_copy(update={"aperture": millimetres(16)}))
    boxes = [it.box_pt for it in wide.swatches]
    assert min(right - left for left, _, right, _ in boxes) >= millimetres(19) - 0.01
    assert min(top - bottom for _, bottom, _, top in boxes) >= millimetres(19) - 0.01
    assert len(wide.swatches) == len(first(PRESS, "butter").swatches)


@pytest.mark.parametrize("on_glass", [True, False])
def test_a_thing_that_is_laid_on_glass_has_a_field_on_the_sheet_of_its_swatches(on_glass):
    aim = {"by_eye": "the roof", "on_glass": on_glass}
    order = order_of(colours={"slate": {"aim": aim, "in_artwork": ["cmyk 60 30 20 10"]}})
    known = SimpleNamespace(
        pair=LASER,
        drive=Drive.CMYK,
        policy=InkPolicy(),
        paper_lightness=PAPER[0],
        known_builds=lambda: (),
        model=fit(paper_readings(Drive.CMYK, PAPER)),
    )
    builds = tuple(Build.cmyk(60 + step, 30, 20, 10) for step in range(0, 24, 3))
    sheet = closing_sheet(order, known, [], [("slate", builds)], None)
    assert [berth.colour for berth in sheet.berths] == (["slate"] if on_glass else [])
    for berth in sheet.berths:  # a thing reaches beyond its frame, and must cover no swatch
        left, bottom, right, top = berth.box_pt
        for box in [it.box_pt for it in sheet.swatches if it.page == berth.page]:
            level = box[1] < top + 12 and box[3] > bottom - 12
            assert not (level and box[0] < right + 12 and box[2] > left - 12)


def test_only_a_thing_is_laid_on_glass():
    aim = {"lab": [50, 0, 0], "on_glass": True}
    with pytest.raises(ValueError, match="'on_glass' says where the thing is laid"):
        order_of(colours={"slate": {"aim": aim, "in_artwork": ["cmyk 60 30 20 10"]}})
