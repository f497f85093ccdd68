"""What a pair reaches: outlines that hold what the model prints."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from example_pairs_kit import model_of
from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import lab_to_lch
from inkaccord.report.gamut import convex_hull, gamut_of

PAIRS = ["north-quay-press@natural-cotton", "inkjet@smooth-ivory", "laser@kraft"]


@pytest.mark.parametrize("text", PAIRS)
def test_no_build_is_stronger_than_the_outline_at_its_hue(text: str) -> None:
    pair = Pair.parse(text)
    model = model_of(pair)
    outline = np.array(gamut_of(model, model.drive).outline_ab())
    assert len(outline) == 72
    dice = np.random.default_rng(3)
    builds = dice.random((400, 4 if model.drive is Drive.CMYK else 3))
    labs = model.predict_lab(builds * (100 if model.drive is Drive.CMYK else 255))
    centre = outline.mean(axis=0)
    angle = np.unwrap(np.arctan2(*(outline - centre).T[::-1]))
    radius = np.hypot(*(outline - centre).T)
    for lab in labs:
        off = lab[1:] - centre
        at = np.arctan2(off[1], off[0])
        near = np.argsort(np.abs(np.angle(np.exp(1j * (angle - at)))))[:3]
        assert np.hypot(*off) <= radius[near].max() + 2.0


def inside(outline: tuple[tuple[float, float], ...], point: tuple[float, float]) -> bool:
    """Tell whether a point lies within a convex outline that runs against the clock."""
    x, y = point
    return all(
        (to_x - at_x) * (y - at_y) - (to_y - at_y) * (x - at_x) >= -1e-9
        for (at_x, at_y), (to_x, to_y) in pairwise([*outline, outline[0]])
    )


@pytest.mark.parametrize("text", PAIRS)
def test_a_slice_holds_what_is_printed_at_its_hue(text: str) -> None:
    model = model_of(Pair.parse(text))
    gamut = gamut_of(model, model.drive)
    build = [[85.0, 20, 60, 10]] if model.drive is Drive.CMYK else [[40.0, 120, 90]]
    light, chroma, hue = lab_to_lch(model.predict_lab(np.array(build)))[0]
    outline = gamut.slice(float(hue))
    middle = np.mean(outline, axis=0)
    # The outline joins sampled builds by straight lines, so it may cut a curved edge a little.
    inner = middle + 0.95 * (np.array([chroma, light]) - middle)
    assert inside(outline, (float(inner[0]), float(inner[1])))
    assert not inside(outline, (float(chroma) + 60, float(light)))


@given(st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=5, max_size=40))
@settings(max_examples=60, deadline=None)
def test_the_hull_is_scipys(points: list[tuple[int, int]]) -> None:
    """scipy.spatial.ConvexHull (Qhull: Barber, Dobkin, Huhdanpaa 1996) is the reference."""
    places = [(float(x), float(y)) for x, y in points]
    array = np.unique(np.array(places), axis=0)
    spread = array - array[0]
    if np.linalg.matrix_rank(spread) < 2:
        return
    wanted = {tuple(array[at]) for at in ConvexHull(array).vertices}
    found = convex_hull(places)
    assert wanted == set(found)
    assert all(inside(found, place) for place in places)
