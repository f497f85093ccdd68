"""Screen colours against the independent colour-science library."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.report.screen import luminance, screen_colour, screen_colours

LAB = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


def outside_library(labs: np.ndarray) -> np.ndarray:
    """Return sRGB, unclipped, as colour-science computes it: D50 to D65 by Bradford."""
    import colour

    white = colour.XYZ_to_xy(np.array([0.96422, 1.0, 0.82521]))
    xyz = colour.Lab_to_XYZ(labs, illuminant=white)
    return np.asarray(
        colour.XYZ_to_sRGB(xyz, illuminant=white, chromatic_adaptation_transform="Bradford")
    )


def test_a_grid_of_print_colours_is_what_colour_science_says() -> None:
    axis = np.linspace(-60, 60, 7)
    labs = np.array([[lum, a, b] for lum in (15, 40, 65, 90) for a in axis for b in axis])
    wanted = outside_library(labs)
    found = screen_colours(labs)
    clipped = np.rint(np.clip(wanted, 0, 1) * 255)
    given_rgb = np.array([colour.rgb for colour in found])
    assert np.abs(given_rgb - clipped).max() <= 1
    # Near the edge of the screen's range the two may round apart; away from it they must agree.
    margin = np.minimum(wanted, 1 - wanted).min(axis=1)
    shown = np.array([colour.shown for colour in found])
    assert shown[margin > 0.01].all()
    assert not shown[margin < -0.01].any()
    assert (~shown).any()
    assert shown.any()


@given(LAB)
@settings(max_examples=60, deadline=None)
def test_type_on_a_colour_always_has_the_contrast_that_wcag_asks_for(
    lab: tuple[float, float, float],
) -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for running text."""
    colour = screen_colour(lab)
    type_luminance = 0.0 if colour.ink == "#000000" else 1.0
    light, dark = sorted((luminance(colour), type_luminance), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_luminance_of_black_and_white_is_0_and_1() -> None:
    assert screen_colour((0, 0, 0)).hex == "#000000"
    assert luminance(screen_colour((0, 0, 0))) == 0
    assert luminance(screen_colour((100, 0, 0))) > 0.99
