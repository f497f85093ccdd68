"""Deep colours near the ink limit, on a press that LittleCMS stands in for.

The press is the profile of Debian's krita-data, whose deep colours can be printed only with the
black that a policy would rather do without.
"""

import numpy as np
import pytest

from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from outside import KRITA_CMYK, need_file, need_program


@pytest.fixture(scope="module")
def model(do):
    """The press, known from one sheet of 40."""
    from virtual_pairs import profile_pair

    need_program("transicc", "liblcms2-utils")
    pair = profile_pair(need_file(KRITA_CMYK, "krita-data"))
    return do.fit(do.read(pair, do.scouting(pair, 40), np.random.default_rng(5)))


@pytest.mark.parametrize("limit", [240, 280, 300])
def test_what_can_be_printed_is_found_though_it_needs_black(model, limit):
    rng = np.random.default_rng(limit)
    deep = rng.uniform(30, 100, (2000, 4))
    total = deep.sum(axis=1)
    deep = deep[(total <= limit) & (total > limit - 30)][:100]
    policy = InkPolicy(total_ink_limit=limit, whole=False)
    found = match(model, model.predict_lab(deep), policy)
    assert policy.allows(found.builds, model.drive).all()
    assert found.in_reach.mean() >= 0.99
    assert found.delta_e_00.max() < 0.5
