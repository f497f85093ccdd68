"""Readings, model, build, print, bound: the whole chain on prints that no equation of ours made.

A build is put back through a profile by LittleCMS (absolute colorimetric), which stands for the
press. What the press prior, the usual residual and the bounds were chosen on is in ``LEARNED``:
figures on those are somewhat optimistic. ``JUDGED`` was used for none of that.
"""

import itertools

import numpy as np
import pikepdf
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from outside import (
    GHOSTSCRIPT_CMYK,
    KRITA_CMYK,
    SCRIBUS_COATED,
    SHARED_PDFS,
    need_file,
    need_program,
)

LEARNED = {
    "a chemical proof": (KRITA_CMYK, "krita-data"),
    "coated offset, FOGRA39": (SCRIBUS_COATED, "scribus-data"),
    "ghostscript's own": (GHOSTSCRIPT_CMYK, "libgs-common"),
}
JUDGED = {"coated offset, FOGRA27": SHARED_PDFS / "vera-6-1-7-t01-fail-a.pdf"}
"""By the output intent of a public test file of PDF/A, where that lies beside the checkout."""

# Median and 95th percentile ΔE00 from 60 aims, some half above what was measured with three seeds:
# 0.53 to 0.63 / 1.35 to 1.51 on the proof, 0.29 to 0.38 / 0.56 to 0.76 on the others.
BARS = {"a chemical proof": (0.95, 2.3)}
USUAL_BAR = (0.55, 1.1)
_TELLING = np.array(
    [
        *np.vstack([np.zeros(4), 100 * np.eye(4), 50 * np.eye(4)]),
        (100, 100, 0, 0),
        (0, 100, 100, 0),
        (100, 0, 100, 0),
        (50, 40, 40, 0),
    ]
)
"""Paper, solids, half tones, overprints and a grey tell one printing condition from another."""


@pytest.fixture(scope="module")
def press(do, tmp_path_factory):
    """Return a function from a name to the press of that name."""
    from virtual_pairs import profile_pair

    def find(name):
        need_program("transicc", "liblcms2-utils")
        if name in LEARNED:
            return profile_pair(need_file(*LEARNED[name]))
        if not JUDGED[name].exists():
            pytest.skip(f"{JUDGED[name].name} lies beside the checkout only where it was put there")
        profile = tmp_path_factory.mktemp("intents") / "intent.icc"
        with pikepdf.open(JUDGED[name]) as document:
            (intent,) = document.Root.OutputIntents
            profile.write_bytes(intent.DestOutputProfile.read_bytes())
        return profile_pair(profile)

    return find


@pytest.mark.parametrize("name", [*LEARNED, *JUDGED])
def test_builds_from_one_sheet_of_forty_print_the_aims_within_their_bounds(do, press, name):
    pair, rng = press(name), np.random.default_rng(21)
    model = do.fit(do.read(pair, do.scouting(pair, 40), rng))
    aims = do.even_aims(pair, 60, rng)
    builds = do.match(model, aims, do.policy(whole=True)).builds
    printed = pair.lab(builds)
    missed = delta_e_2000(printed, aims)
    median, high = BARS.get(name, USUAL_BAR)
    assert np.median(missed) < median
    assert np.percentile(missed, 95) < high
    off = delta_e_2000(printed, model.predict_lab(builds))
    assert np.mean(off <= model.bound(builds)) >= 0.93
    assert np.median(model.bound(builds)) < 3.0 * np.percentile(off, 95)


@pytest.mark.parametrize(("file", "package", "median", "high"), [
    (KRITA_CMYK, "krita-data", 1.2, 3.7),
    (SCRIBUS_COATED, "scribus-data", 0.4, 1.3),
])  # fmt: skip
def test_readings_that_were_held_out_lie_within_their_bounds(do, file, package, median, high):
    """Spectral and CIELAB readings of ISO 12642 targets; 40 train, 300 are told beforehand."""
    from virtual_pairs import raw_set

    raw = raw_set(need_file(file, package))
    off, bound = do.held_out(raw, np.random.default_rng(3), 40)
    assert np.median(off) < median
    assert np.percentile(off, 95) < high
    assert np.mean(off <= bound) >= 0.9


def test_what_judges_is_none_of_what_was_learned_from(press):
    for judged, learned in itertools.product(JUDGED, LEARNED):
        apart = delta_e_2000(press(judged).lab(_TELLING), press(learned).lab(_TELLING))
        assert np.median(apart) > 1.0, (judged, learned)
