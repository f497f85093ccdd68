"""Values go into text and come back the same, and nothing else comes out of a hostile text."""

import dataclasses
import datetime
import json
import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from hypothesis.extra import numpy as arrays

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.paints import Paint
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.diagnostics import Place, warning
from inkaccord.recall.digests import digest_of
from inkaccord.recall.packing import pack, unpack
from inkaccord.sizes import Box
from inkaccord.testing import plain_press

PLAIN = some.recursive(
    some.none()
    | some.booleans()
    | some.integers()
    | some.floats(allow_nan=False)
    | some.text()
    | some.binary()
    | some.dates(),
    lambda inner: (
        some.lists(inner).map(tuple) | some.lists(inner) | some.dictionaries(some.text(), inner)
    ),
    max_leaves=10,
)


@pytest.mark.slow
@given(PLAIN)
def test_plain_values_come_back(value):
    assert unpack(pack(value)) == value


@given(arrays.arrays(some.sampled_from(["f8", "i8", "?", "u1"]), arrays.array_shapes(min_side=0)))
def test_arrays_come_back_with_the_order_of_their_axes(array):
    for given_ in (array, np.asfortranarray(array)):
        back = unpack(pack(given_))
        assert back.dtype == given_.dtype
        assert back.shape == given_.shape
        assert back.tobytes() == given_.tobytes()
        assert back.flags.c_contiguous == given_.flags.c_contiguous
        assert back.flags.f_contiguous == given_.flags.f_contiguous
        assert back.flags.writeable


@pytest.mark.parametrize(
    "value",
    [
        Build.cmyk(10, 20, 30, 0),
        Paint.spot("Slate", 40),
        InkPolicy(total_ink_limit=280),
        Drive.RGB,
        warning("odd", "said", place=Place(file="a.pdf", page=2), hint="do"),
        (datetime.date(2026, 10, 5), math.inf),
        (Decimal("1.10"), Decimal("0.000001")),
        Box(1.0, 2.0, 3.5, 4.0),
    ],
)
def test_our_values_come_back(value):
    back = unpack(pack(value))
    assert back == value
    assert type(back) is type(value)


def read_pair() -> Readings:
    builds = np.random.default_rng(3).integers(0, 11, (20, 4)) * 10.0
    builds[0] = 0.0
    from inkaccord.colour.spaces import lab_to_xyz

    return Readings(
        drive=Drive.CMYK,
        builds=builds,
        xyz=lab_to_xyz(plain_press(builds)),
        sheet=np.zeros(20, dtype=np.int_),
        noise=np.full(20, 0.3),
    )


def test_a_press_model_that_came_back_finds_the_same_builds_to_the_last_digit():
    model = fit(read_pair())
    first, second = unpack(pack(model)), unpack(pack(model))
    assert digest_of(first) == digest_of(second)
    aims = np.array([[60.0, 20, 10]])
    policy = InkPolicy(total_ink_limit=300)
    found = match(first, aims, policy)[0]
    assert match(second, aims, policy)[0] == found
    # One that never was packed may differ in its last digits: its arrays lie otherwise in memory.
    plain = match(model, aims, policy)[0]
    assert found.build == plain.build
    assert found.predicted_lab == pytest.approx(plain.predicted_lab, abs=1e-9)
    assert found.bound == pytest.approx(plain.bound, abs=1e-9)


@dataclasses.dataclass
class Open:
    """Not frozen, and not of the package."""

    path: str


@pytest.mark.parametrize("value", [object(), {1, 2}, Open, np.array([object()]), 1j, Open("x")])
def test_what_is_no_frozen_value_is_refused(value):
    if isinstance(value, Open):
        with pytest.raises(ValueError, match="no class"):
            unpack(pack(value))
    else:
        with pytest.raises(TypeError):
            pack(value)


HOSTILE = {
    "cut off": pack((1.5, "word"))[:-3],
    "no text": b"\xff\xfe\x00",
    "pickled": b"\x80\x04\x95\x0b\x00\x00\x00",
    "no tag": b'{"fields": {}}',
    "a function": b'{"$": "inkaccord.files:inside", "fields": {"folder": "/", "relative": "x"}}',
    "another package": b'{"$": "subprocess:Popen", "fields": {"args": "true"}}',
    "through our module": b'{"$": "inkaccord.files:os.system", "fields": {"command": "true"}}',
    "a path": b'{"$": "inkaccord.files:Path", "fields": {}}',
    "an open class": b'{"$": "inkaccord.workbench:Bench", "fields": {}}',
    "unknown field": b'{"$": "inkaccord.colour.ink_policy:InkPolicy", "fields": {"colour": 1}}',
    "wrong field": b'{"$": "inkaccord.colour.builds:Build", "fields": {"drive": 7}}',
    "no such enum": b'{"$": "inkaccord.colour.builds:Drive", "value": "steam"}',
    "objects": b'{"$": "array", "dtype": "|O", "shape": [1], "columns": false, "data": "AAAA"}',
    "odd shape": b'{"$": "array", "dtype": "<f8", "shape": [9], "columns": false, "data": "AAAA"}',
    "met before all": b'{"$": "same", "number": 0}',
    "too deep": b"[" * 100_000 + b"]" * 100_000,
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_is_a_value_error(data):
    with pytest.raises(ValueError, match="packed value"):
        unpack(data)


def test_a_value_that_is_met_again_is_kept_once():
    shared, alike = Build.cmyk(10, 20, 30, 0), Build.cmyk(10, 20, 30, 0)
    packed = pack((shared, Paint.spot("Slate", 40), {"again": [shared]}, alike))
    assert packed.count(b'"fields"') == 3
    first, _, held, other = unpack(packed)
    assert held["again"][0] is first
    assert other == first
    assert other is not first


def test_what_is_packed_is_json():
    assert json.loads(pack({"a": (1, [2])})) == {
        "$": "dict",
        "items": [["a", [1, {"$": "list", "items": [2]}]]],
    }
