"""Colours of artwork named anew: joined, parted, called otherwise, left as they are."""

import pytest

from inkaccord.colour.paints import Paint
from inkaccord.order.loading import load_order
from inkaccord.order.naming import kept_anew, named_anew
from run_kit import tags_order

GREEN, SLIP, RED = map(Paint.parse, ("cmyk 85 20 60 30", "cmyk 84 20 60 30", "cmyk 0 90 80 10"))
WAS = {GREEN: "green", SLIP: "green-2"}
AIM = {"by_eye": "a leaf"}


@pytest.fixture
def order(tmp_path):
    text = tags_order(
        "cmyk 85 20 60 30",
        "tag: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: card}",
    )
    path = tmp_path / "order.yaml"
    name = next(iter(_loaded(path, text).colours))
    text = text.replace(f"{name}:", "green:", 1)
    second = "colours.green-2: {aim: {by_eye: it}, in_artwork: [cmyk 84 20 60 30]}\n"
    return _loaded(path, text + second + "keep: [gray 50]\n")


def _loaded(path, text):
    path.write_text(text, "utf-8")
    return load_order(path, {}).order


@pytest.mark.parametrize(
    ("names", "renamed", "changes"),
    [
        ({GREEN: "green", SLIP: "green-2"}, {}, {}),
        ({GREEN: "leaf", SLIP: "green-2"}, {"green": "leaf"}, {}),
        (
            {GREEN: "green", SLIP: "green"},
            {},
            {
                ("colours", "green", "in_artwork"): [str(GREEN), str(SLIP)],
                ("colours", "green-2"): None,
            },
        ),
        (
            {GREEN: "leaf", SLIP: "leaf"},
            {"green": "leaf"},
            {
                ("colours", "leaf", "in_artwork"): [str(GREEN), str(SLIP)],
                ("colours", "green-2"): None,
            },
        ),
        (
            {GREEN: "green", SLIP: "green-2", RED: "brick"},
            {},
            {("colours", "brick"): {"aim": AIM, "in_artwork": [str(RED)]}},
        ),
        ({GREEN: "green", SLIP: ""}, {}, {("colours", "green-2"): None}),
    ],
)
def test_what_is_named_anew_changes_and_nothing_else(order, names, renamed, changes):
    assert named_anew(order, WAS, names, lambda _: AIM) == (renamed, changes)


def test_what_stays_is_listed_and_what_is_not_asked_about_stays_listed(order):
    assert kept_anew(order, {RED: True}) == {("keep",): ["gray 50", str(RED)]}
    assert kept_anew(order, {Paint.parse("gray 50"): False}) == {("keep",): None}
    assert kept_anew(order, {RED: False}) == {}
