import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.sampling.even_set import Region, Spacing, even_set
from inkaccord.errors import OrderError


def _closest(lab):
    table = delta_e_2000(lab[:, None], lab[None, :])
    table[np.diag_indices(len(lab))] = np.inf
    return table.min(axis=1)


def test_a_swatch_set_is_even(cmyk_printer):
    policy = InkPolicy(total_ink_limit=260)
    found = even_set(cmyk_printer, Spacing(count=300), policy)
    assert len(found) == 300
    assert policy.allows(found.builds, cmyk_printer.drive).all()
    assert np.array_equal(found.builds, np.rint(found.builds))
    assert np.array_equal(found.builds[0], np.zeros(4))
    nearest = _closest(found.lab)
    assert np.isclose(nearest.min(), found.min_delta_e)
    assert np.percentile(nearest, 95) < 1.4 * nearest.min()
    again = even_set(cmyk_printer, Spacing(count=300), policy)
    assert again.builds.tobytes() == found.builds.tobytes()


def test_nothing_printable_is_farther_away_than_the_spacing(rgb_printer):
    found = even_set(rgb_printer, Spacing(min_delta_e=6.0), InkPolicy())
    assert found.min_delta_e >= 6.0
    builds = np.random.default_rng(0).uniform(0, 255, (3000, 3))
    gaps = delta_e_2000(rgb_printer.predict_lab(builds)[:, None], found.lab[None]).min(axis=1)
    assert np.percentile(gaps, 99) < 6.5


def test_additions_hold_only_what_the_set_lacks(cmyk_printer):
    greens = Region(hue=(120, 200), chroma=(10, 200))
    base = even_set(cmyk_printer, Spacing(min_delta_e=8.0), InkPolicy())
    more = even_set(
        cmyk_printer, Spacing(min_delta_e=4.0), InkPolicy(), region=greens, known_lab=base.lab
    )
    assert len(more) > 20
    assert greens.contains(more.lab).all()
    assert delta_e_2000(more.lab[:, None], base.lab[None]).min() >= 4.0
    assert _closest(more.lab).min() >= 4.0


def test_light_colours_go_without_black(cmyk_printer):
    found = even_set(cmyk_printer, Spacing(count=150), InkPolicy())
    light = found.lab[:, 0] > 60
    assert light.any()
    assert np.all(found.builds[light, 3] == 0)
    assert np.any(found.builds[~light, 3] > 0)


def test_a_low_ink_limit_leaves_a_full_set(cmyk_printer):
    policy = InkPolicy(total_ink_limit=70, channel_limits=(60, 60.5, 60, 40))
    found = even_set(cmyk_printer, Spacing(count=200), policy)
    assert len(found) == 200
    assert policy.allows(found.builds, cmyk_printer.drive).all()
    nearest = _closest(found.lab)
    assert np.percentile(nearest, 95) < 1.6 * nearest.min()


def test_hue_ranges_may_wrap():
    region = Region(hue=(330, 30))
    assert region.contains([[50, 30, 0], [50, 30, 10], [50, 0, 30]]).tolist() == [True, True, False]
    assert Region().contains([[50, -1, -1]]).all()


def test_what_cannot_be_had_is_said(cmyk_printer):
    with pytest.raises(OrderError, match="region"):
        even_set(
            cmyk_printer, Spacing(count=100), InkPolicy(), region=Region(lightness=(99.5, 100))
        )
    with pytest.raises(OrderError, match="count"):
        even_set(cmyk_printer, Spacing(), InkPolicy())


@pytest.mark.slow
def test_thousands(cmyk_printer):
    found = even_set(cmyk_printer, Spacing(count=5000), InkPolicy())
    assert len(found) == 5000
    assert found.min_delta_e > 1.5
