import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.spaces import (
    D50_WHITE,
    lab_jacobian,
    lab_to_lch,
    lab_to_srgb,
    lab_to_xyz,
    paper_relative_lab,
    xyz_to_lab,
)

LAB = st.tuples(st.floats(-5, 110), st.floats(-120, 120), st.floats(-120, 120))


@given(LAB)
@settings(max_examples=200, deadline=None)
def test_there_and_back(lab):
    assert np.allclose(xyz_to_lab(lab_to_xyz(lab)), lab, atol=1e-9)
    lightness, chroma, hue = lab_to_lch(lab)
    back = [lightness, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))]
    assert np.allclose(back, lab, atol=1e-9)


def test_the_slopes_are_those_of_small_steps():
    rng = np.random.default_rng(1)
    xyz = rng.uniform(0.05, 95, (200, 3))
    step = 1e-5
    for i in range(3):
        moved = np.eye(3)[i] * step
        slope = (xyz_to_lab(xyz + moved) - xyz_to_lab(xyz - moved)) / (2 * step)
        assert np.allclose(lab_jacobian(xyz)[..., i], slope, rtol=1e-5, atol=1e-5)


def test_paper_is_white_when_relative_to_itself():
    paper = np.array([93.0, 1.0, 6.0])
    assert np.allclose(paper_relative_lab(paper, paper), [100, 0, 0])
    assert np.allclose(paper_relative_lab([40, 20, -30], [100, 0, 0]), [40, 20, -30])


def test_screen_colours():
    rgb, shown = lab_to_srgb([[100, 0, 0], [0, 0, 0], [50, 0, 0], [55, -60, -50]])
    assert np.allclose(rgb[0], 1.0, atol=2e-3)
    assert np.allclose(rgb[1], 0.0)
    assert np.ptp(rgb[2]) < 2e-3
    assert shown.tolist() == [True, True, True, False]
    assert rgb.min() >= 0
    assert rgb.max() <= 1
    assert D50_WHITE[1] == 100.0
