"""Two sheets of two pairs on one glass: what was chosen on one is found on the other, and kept.

The second printer is the first one with more dot gain, so that what it must be asked for to print
the same is known beforehand.
"""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

import scan_kit
from glass_kit import PLAIN, glass, sheet_with_berths
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.recording.comparing import take_in_comparison
from inkaccord.sheets.model import Pick
from inkaccord.sheets.planning.plan import named
from recording_kit import DATE, printed_lab

HERE = sheet_with_berths(berths=())
THERE = named(HERE.model_copy(update={"pair": Pair.parse("press@smooth-ivory")}))
GAIN = 1.12
"""How much more ink the second printer lays down than it is asked for."""


def there_lab(builds):
    return printed_lab(np.clip(GAIN * builds, 0, 100), HERE.drive)


def builds_of(sheet):
    return np.array([swatch.build.values for swatch in sheet.swatches])


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    """Both sheets side by side on one glass."""
    how = replace(PLAIN, dirt=0)
    one = glass(HERE, {}, how=how, turned=0).pixels
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scan_kit, "lab_of", lambda sheet: there_lab(builds_of(sheet)))
        other = glass(THERE, {}, how=how, turned=0).pixels
    path = tmp_path_factory.mktemp("glass") / "both.png"
    Image.fromarray(np.hstack([one, other])).save(path)
    return path


@pytest.fixture
def both(shelf):
    shelf.add_sheet(HERE)
    shelf.add_sheet(THERE)
    return shelf


@pytest.mark.slow
def test_what_was_picked_on_one_is_found_on_the_other(both, scan):
    both.record_picks([Pick(sheet=HERE.id, colour="slate", swatch="C2", sure=1.0)])
    done = take_in_comparison(both, HERE.id, THERE.id, scan, today=DATE, by="Ida")
    (brought,) = done.compared.together
    build = HERE.swatch("C2").build
    wanted = printed_lab(np.array([build.values]), HERE.drive)[0]
    came, same = (
        float(delta_e_2000(there_lab(np.array([it.values]))[0], wanted))
        for it in (brought.other, build)
    )
    assert came < 0.8 < same  # measured 0.4, and 2.7 were nothing done
    assert brought.apart == pytest.approx(same, abs=0.6)
    (kept,) = both.picks_of(THERE.pair)
    assert (kept.pick.build, kept.pick.colour) == (brought.other.values, "slate")
    assert kept.pick.light == f"a scanner's lamp, beside C2 of {HERE.id}"
    # the eye that picked on the first sheet errs too, and the scanner comes on top
    assert kept.pick.error > np.hypot(1.5, 1.0)
    assert take_in_comparison(both, HERE.id, THERE.id, scan, today=DATE, by="Ida").new_picks == 0


def test_without_a_choice_it_only_tells_how_far_apart_they_are(both, scan):
    done = take_in_comparison(both, HERE.id, THERE.id, scan, today=DATE)
    assert (done.new_picks, done.compared.together) == (0, ())
    builds = np.array([each.one.build.values for each in done.compared.swatches])
    truth = delta_e_2000(printed_lab(builds, HERE.drive), there_lab(builds))
    seen = np.array([each.delta_e_00 for each in done.compared.swatches])
    assert np.mean(np.abs(seen - truth) <= done.compared.bound) >= 0.95


def test_a_sheet_is_not_compared_with_itself(both, scan):
    with pytest.raises(OrderError, match="another one"):
        take_in_comparison(both, HERE.id, HERE.id, scan, today=DATE)
