"""Lines are set as large as their field and its bounds let them."""

import pytest

from inkaccord.layout.records.faces import our_faces
from inkaccord.layout.records.model import RecordField
from inkaccord.layout.records.setting import set_field
from inkaccord.layout.records.table import read_table
from inkaccord.units import Points

FACES, _ = our_faces({"regular": "Heron "})
HERON = FACES["regular"].width("Heron")


def sizes(text, **given):
    places = {"left": 0, "top": 0, "width": 100, "height": 100, "type": 12, "least": 6} | given
    field = RecordField(**{name: Points(it) for name, it in places.items()})
    table = read_table(f'a\n"{text}"\n'.encode(), "boats.csv")
    laid = set_field("a", field, table, FACES)
    return laid.size_pt(laid.lines[0]), [finding.code for finding in laid.findings(table)]


@pytest.mark.parametrize(
    ("asked", "size", "codes"),
    [
        ({}, 12, []),
        ({"width": HERON * 0.01}, 10, []),  # in thousandths of the size
        ({"width": HERON * 0.0102}, 10, []),  # down to a quarter of a point
        ({"width": HERON * 0.0061, "least": 6.05}, 6.05, []),
        ({"width": HERON * 0.006, "least": 6.05}, 0, ["record-too-long"]),
        ({"height": 11}, 10, []),  # one line takes 1.1 of its size
        ({"height": 6}, 0, ["record-too-long"]),
    ],
)
def test_a_line_is_as_large_as_it_may_be(asked, size, codes):
    assert sizes("Heron", **asked) == (pytest.approx(size), codes)


def test_lines_take_what_stands_between_them():
    assert sizes("Heron\nHeron", height=23)[0] == pytest.approx(10)  # 1.1 and 1.2 of 10 pt
