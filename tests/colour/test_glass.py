"""What looks alike to a scanner: numbers alone, from an invented printer and a crooked scanner."""

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import (
    METAMERISM,
    SwatchesSeen,
    assumed_lab,
    like_on_glass,
    press_as_seen,
)
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.sheets.controls import control_builds
from recording_kit import printed_lab

POLICY = InkPolicy(total_ink_limit=300)
MIXES = np.array([[1.9, -0.5, -0.3], [-0.9, 1.9, 0.0], [0.1, -0.2, 1.4]])
"""What this scanner makes of XYZ: nobody's primaries."""
MIDDLES = {Drive.CMYK: (55, 40, 28, 16), Drive.RGB: (120, 140, 90)}


def linear_of(lab):
    return np.maximum(0.9 * (lab_to_xyz(lab) / 100 @ MIXES.T) ** 1.1 + 0.01, 1e-4)


def seen_round(drive):
    rng = np.random.default_rng(3)
    spread = [9, 9, 9, 2] if drive is Drive.CMYK else [22, 22, 22]
    middle = np.array(MIDDLES[drive])
    own = np.round(np.clip(middle + rng.normal(0, spread, (16, len(middle))), 0, 255))
    builds = np.concatenate([own, [build.values for build in control_builds(drive)]])
    if drive is Drive.CMYK:
        builds = np.clip(builds, 0, 100)
    linear = linear_of(printed_lab(builds, drive))
    return SwatchesSeen(drive, builds, linear, np.full(len(builds), 0.2))


@pytest.mark.parametrize("drive", list(Drive))
def test_the_build_that_looks_alike_prints_alike(drive):
    seen = seen_round(drive)
    model = press_as_seen(seen)
    rng = np.random.default_rng(8)
    missed = []
    for _ in range(4):
        steps = rng.normal(0, 5, len(MIDDLES[drive])) * (1 if drive is Drive.CMYK else 2.5)
        if drive is Drive.CMYK:
            steps[3] = 0.0
        lab = printed_lab((MIDDLES[drive] + steps)[None], drive, seed=5)[0]
        found = like_on_glass(model, seen, assumed_lab(linear_of(lab)), POLICY, noise=0.2)
        missed.append(float(delta_e_2000(printed_lab(found.build[None], drive, seed=6)[0], lab)))
        assert METAMERISM < found.error < METAMERISM + 0.3
        assert found.short < 0.4
        assert list(found.distances) == sorted(found.distances)
    assert max(missed) < 1.0  # measured 0.3 to 0.7, of which the printer's own noise is 0.3


def test_what_the_pair_can_not_print_widens_the_error():
    seen = seen_round(Drive.CMYK)
    vivid = assumed_lab(linear_of(np.array([60.0, 95.0, 80.0])))
    found = like_on_glass(press_as_seen(seen), seen, vivid, POLICY, noise=0.2)
    assert found.short > 3.0
    assert found.error > np.hypot(METAMERISM, found.short) - 1e-9
    assert found.bound > 1.5 * found.error
