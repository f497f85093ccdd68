"""Fields of an order changed in its text: the rest stays byte for byte."""

import pytest
import yaml

from inkaccord.errors import OrderError
from inkaccord.order.amending import amended, as_written, renamed, written_at

ORDER = """\
# Ours.
order: tags   # its name

suites: 10
colours:
  # The leaf's.
  green:
    aim: {lab: [40, -22, 4]}
    in_artwork: [cmyk 85 20 60 30]
# Smaller ones: cmyk 1 2 3 4

stocks:
  card: {size: a4}   # thick

pieces:
  tag:
    artwork: tag.pdf
    trim: 100pt x 100pt   # with a hole
    fold:
      line: vertical

  # The last one.
  card:
    artwork: card.pdf
    trim: a6
pieces.card.extra: 3
"""


@pytest.mark.parametrize(
    ("path", "value", "was", "now"),
    [
        (("suites",), "25", "suites: 10", "suites: 25"),
        (("due",), "2026-12-01", "its name\n", "its name\ndue: 2026-12-01\n"),
        (("stocks", "card", "weight"), "300 g/m2", "a4}", "a4, weight: 300 g/m2}"),
        (
            ("colours", "red"),
            {"aim": {"by_eye": "a leaf, dried"}, "in_artwork": ["spot Red"]},
            "30]\n",
            '30]\n  red:\n    aim: {by_eye: "a leaf, dried"}\n    in_artwork: [spot Red]\n',
        ),
        (("colours", "green", "in_artwork"), ["#FFE873"], "[cmyk 85 20 60 30]", '["#FFE873"]'),
        (("pieces", "tag", "fold"), "4in", "fold:\n      line: vertical", "fold: 4in"),
        (("pieces", "tag", "fold"), None, "    fold:\n      line: vertical\n", ""),
        (("pieces", "tag", "fold", "line"), None, "    fold:\n      line: vertical\n", ""),
        (("pieces", "tag", "device"), "press", "hole\n", "hole\n    device: press\n"),
        (("pieces", "card", "extra"), "4", "extra: 3", "extra: 4"),
        (("pieces", "card", "extra"), None, "pieces.card.extra: 3\n", ""),
        (("tolerances", "to_aim"), "3", "a6\n", "a6\ntolerances: {to_aim: 3}\n"),
    ],
)
def test_one_field_is_changed_and_no_other_byte(path, value, was, now):
    assert ORDER.count(was) == 1
    assert amended(ORDER, {path: value}) == ORDER.replace(was, now)
    assert written_at(amended(ORDER, {path: value}), path) == value


@pytest.mark.parametrize(
    "text",
    ["null", "a: b", "#1", "- a", "*a", "{", "two\nlines", "it's", '"', "a, b", "x #y", " a", "é"],
)
def test_any_text_is_read_again_as_it_was_typed(text):
    made = amended(ORDER, {("deliver_to",): text, ("stocks", "card", "description"): text})
    read = yaml.safe_load(made)
    assert (read["deliver_to"], read["stocks"]["card"]["description"]) == (text, text)


def test_a_name_is_written_otherwise_and_nothing_else():
    assert renamed(ORDER, ("stocks", "card"), "thick") == ORDER.replace("  card: {", "  thick: {")


def test_what_is_typed_in_braces_is_fields():
    assert as_written(" {line: vertical, at: 4in} ") == {"line": "vertical", "at": "4in"}
    assert as_written("{odd") == "{odd"
    assert as_written(" ") is None


def test_a_value_that_stands_for_another_is_left_to_the_person():
    shared = "order: x\nstocks:\n  one: &it {size: a4}\n  two: *it\n"
    with pytest.raises(OrderError, match=r"stocks\.two\.size can't be changed here"):
        amended(shared, {("stocks", "two", "size"): "a5"})
