"""Devices driven in RGB that LittleCMS stands in for: one sheet has to tell the rest of them.

The press is a profile of Debian's ghostscript, behind drivers of several kinds
(``benchmarks/rgb_drivers.py``). The prior of presses was learned from it among others; what is
known of drivers was not.
"""

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.eye_set import eye_set
from outside import GHOSTSCRIPT_CMYK, need_file, need_program


@pytest.fixture(scope="module")
def devices(do):
    from rgb_drivers import rgb_pairs

    need_program("transicc", "liblcms2-utils")
    pairs = rgb_pairs(need_file(GHOSTSCRIPT_CMYK, "libgs-common"))
    return {pair.name.split(": ")[1]: pair for pair in pairs}


@pytest.mark.parametrize(
    ("driver", "median", "high"),
    [
        ("sRGB, perceptual", 1.4, 4.0),
        ("sRGB, black point scaled", 1.2, 3.5),
        ("wide RGB, perceptual", 1.6, 5.0),
        ("complements, late black", 0.8, 2.5),
        ("masking", 2.2, 7.0),
    ],
)
def test_one_sheet_of_forty_tells_where_builds_are_needed(do, devices, driver, median, high):
    """Bars are some half above what the benchmark measures: a guard, not a goal."""
    pair, rng = devices[driver], np.random.default_rng(11)
    model = do.fit(do.read(pair, do.scouting(pair, 40), rng))
    aims = do.even_aims(pair, 80, rng)
    builds = do.match(model, aims, do.policy(whole=False)).unrounded
    printed = pair.lab(builds)
    missed = delta_e_2000(printed, aims)
    assert np.median(missed) < median
    assert np.percentile(missed, 95) < high
    off = delta_e_2000(printed, model.predict_lab(builds))
    assert np.mean(off <= model.bound(builds)) >= 0.9
    assert np.median(model.bound(builds)) < 3.0 * np.percentile(off, 95)


@pytest.mark.parametrize("driver", ["complements, late black", "masking", "three inks"])
def test_the_first_swatches_for_an_eye_lie_nearer_where_a_driver_mixes_inks(do, devices, driver):
    """A screen is what is thought of first; the others have their say on the same sheet."""
    pair, policy = devices[driver], do.policy(whole=True)
    paper = tuple(pair.lab([[255.0, 255.0, 255.0]])[0])
    screen, others = GenericPress.of(Drive.RGB, paper), other_drivers(Drive.RGB, paper)
    things = do.even_aims(pair, 12, np.random.default_rng(12))
    nearest = [
        [
            delta_e_2000(pair.lab(eye_set(screen, build, policy, others=it)), thing).min()
            for it in ((), others)
        ]
        for thing, build in zip(things, do.match(screen, things, policy).builds, strict=True)
    ]
    alone, among = np.sort(nearest, axis=0)[-4:].mean(axis=0)
    assert among < 0.95 * alone, (alone, among)
