"""The halftone equations against numbers worked out by hand from the published formulae.

Demichel's weights (M. E. Demichel, Procédé 26, 1924), Yule–Nielsen (TAGA Proceedings 3, 1951):
formulae from memory, the numbers computed apart from this code.
"""

import numpy as np
import pytest

from inkaccord.colour.press.kin import substrate_correction
from inkaccord.colour.press.neugebauer import demichel, mix, overprints


def test_demichel_weights_of_four_inks():
    weights = demichel(np.array([0.4, 0.3, 0.2, 0.1]))
    inks = overprints(4)
    named = {
        "".join(n for n, on in zip("CMYK", row, strict=True) if on): i for i, row in enumerate(inks)
    }
    expected = {"": 0.3024, "C": 0.2016, "M": 0.1296, "Y": 0.0756, "K": 0.0336, "CMYK": 0.0024}
    for name, share in expected.items():
        assert weights[named[name]] == pytest.approx(share, abs=1e-12)
    assert weights.sum() == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("n", "reflectance"), [(1.0, 0.425), (1.7, 0.33368), (2.0, 0.3125), (4.0, 0.25313), (1e7, 0.2)]
)
def test_yule_nielsen_half_tone(n, reflectance):
    result = mix(np.array([[0.5]]), np.array([0.80, 0.05]) ** (1 / n)) ** n
    assert result[0] == pytest.approx(reflectance, abs=5e-6)


def test_substrate_correction():
    """ISO 13655, informative annex (formula from memory, algebra checked)."""
    moved = substrate_correction(
        np.array([[40.0, 30.0, 20.0]]),
        np.array([84.0, 87.0, 72.0]),
        np.array([80.0, 82.0, 60.0]),
        np.array([1.2, 1.25, 1.0]),
    )
    assert moved[0] == pytest.approx([38.1256, 28.3236, 16.7887], abs=5e-5)
