import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric, delta_e_2000_parts

LAB = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


@given(LAB, LAB)
@settings(max_examples=200, deadline=None)
def test_symmetric_and_never_negative(first, second):
    there, back = delta_e_2000(first, second), delta_e_2000(second, first)
    assert there >= 0
    # Up to the jump at hues 180° apart, where rounding may choose either side.
    h_1, h_2 = np.arctan2(first[2], first[1]), np.arctan2(second[2], second[1])
    if abs(abs(h_1 - h_2) - np.pi) > 1e-3:
        assert abs(there - back) < 1e-9


@given(LAB, LAB)
@settings(max_examples=100, deadline=None)
def test_parts_add_up_to_the_difference(first, second):
    parts = delta_e_2000_parts(first, second)
    assert abs(np.linalg.norm(parts) - delta_e_2000(second, first)) < 1e-9


def test_signs_of_the_parts():
    aim = np.array([50.0, 30.0, 0.0])
    assert delta_e_2000_parts([55, 30, 0], aim)[0] > 0
    assert delta_e_2000_parts([50, 40, 0], aim)[1] > 0
    assert delta_e_2000_parts([50, 30, 2], aim)[2] > 0


def test_the_metric_is_the_limit_of_small_differences():
    rng = np.random.default_rng(3)
    lab = rng.uniform([0, -100, -100], [100, 100, 100], (5000, 3))
    step = rng.normal(0, 1e-4, lab.shape)
    metric = delta_e_2000_metric(lab)
    small = np.sqrt(np.einsum("ni,nij,nj->n", step, metric, step))
    assert np.allclose(small, delta_e_2000(lab - step / 2, lab + step / 2), rtol=1e-6)
    assert np.linalg.eigvalsh(metric).min() > 0


def test_the_metric_at_grey_is_finite():
    metric = delta_e_2000_metric([[50.0, 0.0, 0.0]])
    assert np.isfinite(metric).all()
    assert np.isclose(metric[0, 0, 0], 1.0)


def test_a_table_by_broadcasting():
    lab = np.array([[50.0, 0, 0], [60.0, 10, 0], [70.0, 0, 10]])
    table = delta_e_2000(lab[:, None], lab[None, :])
    assert table.shape == (3, 3)
    assert np.array_equal(np.diag(table), np.zeros(3))
