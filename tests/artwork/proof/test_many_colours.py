"""Very many swapped colours are looked up as few are."""

import numpy as np
import pytest

from inkaccord.artwork.proof import ink_proof


@pytest.mark.parametrize("inks", [4, 8])
def test_many_known_colours_are_found_as_few_are(
    inks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = np.random.default_rng(inks)
    known = rng.integers(0, 65536, (600, inks), dtype=np.uint16)
    off = rng.integers(-ink_proof.CLOSE - 1, ink_proof.CLOSE + 2, known.shape)
    pixels = np.clip(known.astype(int) + off, 0, 65535).astype(np.uint16)
    apart = np.abs(pixels[:, None].astype(int) - known.astype(int)).max(axis=2).min(axis=1)
    assert 0 < np.count_nonzero(apart <= ink_proof.CLOSE) < len(pixels)
    for most in (1, 10_000):
        monkeypatch.setattr(ink_proof, "_MOST_SINGLY", most)
        found = ink_proof._among(pixels, known)
        assert np.array_equal(found, apart <= ink_proof.CLOSE)
