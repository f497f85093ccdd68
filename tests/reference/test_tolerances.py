"""Tolerances: the published numbers, each with its source beside it."""

import pytest

from inkaccord.colour.agreement.tolerances import PUBLISHED


@pytest.mark.parametrize(
    ("name", "limit", "source"),
    [
        # ISO 12647-2:2013, via Rochester Institute of Technology, scholarworks 854.
        ("solid, C M Y", 3.5, "ISO 12647-2:2013"),
        ("solid, K", 5.0, "ISO 12647-2:2013"),
        # ISO 12647-7:2016, from memory.
        ("proof, paper", 3.0, "from memory"),
        ("proof, mean", 2.5, "from memory"),
        ("proof, largest", 5.0, "from memory"),
        ("proof, spot colour", 2.5, "from memory"),
        # Common practice, no source; disputed.
        ("just seen", 1.0, "no source"),
        ("close match", 2.0, "no source"),
    ],
)
def test_published_limits(name, limit, source):
    (found,) = [one for one in PUBLISHED if one.name == name]
    assert found.delta_e_00 == limit
    assert source in found.source
