"""Two values have one digest when they are equal in kind and content, and only then."""

from decimal import Decimal
from itertools import combinations

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.recall.digests import digest_of, digest_of_code

APART = [
    None,
    0,
    False,
    0.0,
    Decimal(0),
    Decimal("0.0"),
    -0.0,
    "0",
    "",
    b"",
    b"0",
    (),
    ("a", "b"),
    ("ab", ""),
    (("a",), "b"),
    {"a": 1},
    {"b": 1},
    np.zeros(2),
    np.zeros(2, dtype=np.int_),
    np.zeros((1, 2)),
    np.zeros(0),
    Drive.CMYK,
    "cmyk",
    Build.cmyk(1, 2, 3, 4),
    Build.rgb(1, 2, 3),
    (1, 2.0, "3"),
    ("(1, 2.0, '3')",),
    (1, (2.0, "3")),
    {1: 2.0},
    {1: (2.0,)},
]


def test_different_values_have_different_digests():
    for (_, one), (_, other) in combinations([(it, digest_of(it)) for it in APART], 2):
        assert one != other


def test_equal_values_have_the_same_digest():
    assert digest_of(Build.cmyk(1, 2, 3, 4)) == digest_of(Build.cmyk(1.0, 2.0, 3.0, 4.0))
    assert digest_of((1, "a")) == digest_of([1, "a"])  # read alike by every function of ours


def test_what_has_no_contents_is_refused():
    for value in (object(), len, {1, 2}):
        with pytest.raises(TypeError):
            digest_of(value)


def test_code_is_told_by_the_program_and_by_a_plugins_own_file(tmp_path, monkeypatch):
    own = digest_of_code("inkaccord.colour.matching.match")
    assert own == digest_of_code("inkaccord.artwork.proof.prove")
    monkeypatch.syspath_prepend(tmp_path)
    plugins = []
    for name, text in (("one_plugin", "A = 1"), ("other_plugin", "A = 2")):
        (tmp_path / f"{name}.py").write_text(text, "utf-8")
        __import__(name)
        plugins.append(digest_of_code(name))
    assert len({own, *plugins}) == 3
