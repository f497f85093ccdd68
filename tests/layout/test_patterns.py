"""The list of maximal mixes, against the plain definition."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from inkaccord.layout.patterns import Mixes, _maximal

MIXES = st.tuples(st.integers(1, 40), st.integers(1, 20), st.sampled_from([3, 127, 128, 30_000]))


def plainly_maximal(mixes: Mixes) -> set[tuple[int, ...]]:
    rows = {tuple(row) for row in mixes.tolist()}
    return {
        row
        for row in rows
        if not any(
            other != row and all(a >= b for a, b in zip(other, row, strict=True)) for other in rows
        )
    }


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_mix_that_is_kept_lies_under_another(data: st.DataObject) -> None:
    count, parts, most = data.draw(MIXES)
    mixes = data.draw(arrays.arrays(np.int16, (count, parts), elements=st.integers(0, most)))
    kept = _maximal(mixes)
    assert {tuple(row) for row in kept.tolist()} == plainly_maximal(mixes)
    assert len(kept) == len(plainly_maximal(mixes))
    sums = kept.sum(axis=1).tolist()
    assert sums == sorted(sums, reverse=True)
