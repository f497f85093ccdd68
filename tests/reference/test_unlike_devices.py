"""Bounds on devices unlike any press, whose physics are none of the model's (all invented).

The numbers of the devices that constants were chosen on and of those that judge stand beside each
other in ``benchmarks/unlike_devices.py``; ``benchmarks/bounds.py`` measures all of them.
"""

import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000


@pytest.mark.parametrize(("kind", "number"), [("glossy", 101), ("photo", 102), ("plain", 102)])
def test_bounds_from_sixteen_swatches_hold_on_devices_that_nothing_was_chosen_on(do, kind, number):
    """Before unlike devices were noticed they held in 82, 79 and 91 of 100."""
    from bounds import from_device
    from unlike_devices import unlike

    off, bound = next(from_device(unlike(kind, number)))
    assert np.mean(off <= bound) >= 0.93


def test_no_reading_is_blamed_for_a_device_that_is_unlike_all_others(do):
    """Its solid cyan lies 30 off any press's; with that reading held for wrong, 60 in 100 held."""
    from unlike_devices import unlike

    pair, rng = unlike("glossy", 5), np.random.default_rng([5, 16])
    model = do.fit(do.read(pair, do.scouting(pair, 16), rng))
    builds = do.random_builds(pair, 300, rng)
    assert not model.suspects
    off = delta_e_2000(model.predict_lab(builds), pair.lab(builds))
    assert np.mean(off <= model.bound(builds)) >= 0.93


def test_devices_that_judge_are_none_of_those_that_constants_were_chosen_on(do):
    from unlike_devices import CHOSEN_ON, JUDGED_ON, unlike_devices

    assert not set(CHOSEN_ON) & set(JUDGED_ON)
    asked = np.vstack([100 * np.eye(4), 50 * np.eye(4)])
    chosen, judging = (
        [(pair.name.split()[0], pair.lab(asked)) for pair in unlike_devices(numbers)]
        for numbers in (CHOSEN_ON, JUDGED_ON)
    )
    for kind, printed in judging:
        alike = [np.median(delta_e_2000(printed, other)) for own, other in chosen if own == kind]
        assert min(alike) > 0.5
