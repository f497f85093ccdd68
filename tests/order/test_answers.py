"""What a person decides in the order: in short, at length, and by lines pasted anywhere."""

import pytest
import yaml

from inkaccord.colour.paints import Paint
from inkaccord.errors import OrderError
from inkaccord.order.answers import Accepted, Limits, SwatchName
from inkaccord.order.colours import Aim
from inkaccord.order.loading import load_order

TEXT = """
order: tags
date: 2026-11-28
suites: 10
colours:
  butter: {aim: {lab: [90, 0, 30]}, in_artwork: [cmyk 3 8 45 0], tolerance: 2.8}
  slate: {aim: {by_eye: the roof}, in_artwork: [cmyk 60 30 20 10]}
stocks: {card: {size: letter}, kraft: {size: letter}}
vendors: {studio: {devices: {laser: {}}}}
pieces:
  card: {artwork: a.pdf, trim: 5in x 7in, device: laser, stock: card}
  tag.small: {artwork: b.pdf, trim: 2in x 3.5in, device: laser, stock: kraft}
tolerances: {between_pieces: 2.0, to_aim: 3.0}
"""


@pytest.fixture
def load(tmp_path):
    def loaded(*lines):
        path = tmp_path / "order.yaml"
        path.write_text(TEXT + "\n".join(lines) + "\n", "utf-8")
        return load_order(path, {})

    return loaded


def codes_of(caught):
    return [(it.code, it.place.line) for it in caught.value.findings]


def test_an_acceptance_is_a_reason_or_a_reason_and_how_far():
    assert Accepted.model_validate("never shows") == Accepted(why="never shows")
    assert Accepted.model_validate({"why": "never shows", "up_to": 6.5}).up_to == 6.5
    for wrong in ("", {"why": "x", "up_to": 0}, {"up_to": 3}, 7, ["x"]):
        with pytest.raises(ValueError, match=r"(?s)."):
            Accepted.model_validate(wrong)


def test_a_number_is_a_limit_for_both_ways_of_seeing():
    assert Limits.model_validate(3) == Limits(between_pieces=3, to_aim=3)
    assert Limits.model_validate({"to_aim": 4}).between_pieces is None
    for wrong in ({}, 0, "wide", True):
        with pytest.raises(ValueError, match=r"(?s)."):
            Limits.model_validate(wrong)


def test_a_swatch_is_named_by_sheet_and_id_and_goes_with_the_eye():
    assert Aim(by_eye="the roof", picked_on="k7q-xm3 b7").picked_on == "K7Q-XM3 B7"
    assert str(SwatchName.parse(" k7q-xm3  b7")) == "K7Q-XM3 B7"
    with pytest.raises(ValueError, match="expected the sheet's id and the swatch's"):
        Aim(by_eye="the roof", picked_on="B7")
    with pytest.raises(ValueError, match="goes with 'by_eye'"):
        Aim(lab=(50, 0, 0), picked_on="K7Q-XM3 B7")


def test_of_written_limits_the_widest_counts_and_the_orders_own_where_none_is(load):
    order = load("pieces.tag.small.tolerance: {between_pieces: 2.4, to_aim: 3.4}").order
    assert order.limit_between("butter", "card", "tag.small") == 2.8
    assert order.limit_between("slate", "card", "tag.small") == 2.4
    assert order.limit_between("slate", "card", "card") == 2.0
    assert order.limit_to_aim("slate", "tag.small") == 3.4
    assert order.limit_to_aim("slate", "card") == 3.0


def test_lines_with_dots_work_at_the_end_of_the_file_and_know_names_with_dots(load):
    loaded = load(
        "pieces.tag.small.accept.butter: {why: never shows, up_to: 6.5}",
        "pieces.tag.small.accept.slate: never shows either",
        "colours.slate.aim.picked_on: K7Q-XM3 B7",
        "colours.slate.prefer: alike",
    )
    accepted = loaded.order.pieces["tag.small"].accept
    assert accepted == {
        "butter": Accepted(why="never shows", up_to=6.5),
        "slate": Accepted(why="never shows either"),
    }
    assert loaded.order.accepts("butter", "tag.small")
    assert not loaded.order.accepts("butter", "card")
    slate = loaded.order.colours["slate"]
    assert (slate.aim.picked_on, slate.prefer) == ("K7Q-XM3 B7", "alike")
    line = loaded.source.place(("pieces", "tag.small", "accept", "butter")).line
    assert (loaded.path.read_text("utf-8").splitlines()[line - 1]).startswith("pieces.tag.small")


@pytest.mark.parametrize("line", ["[rgb 0 127.5 25.5]", "rgb 0 127.5 25.5"])
def test_a_line_of_in_artwork_adds_a_way_to_write_a_colour(load, line):
    before = load().order.colours["slate"].in_artwork
    loaded = load(f"colours.slate.in_artwork: {line}")
    added = loaded.order.colours["slate"].in_artwork
    assert added == (*before, Paint.parse("rgb 0 127.5 25.5"))


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [
        ("pieces.tag.smal.accept.butter: x", "unknown-piece", "tag.small"),
        ("colours.buter.tolerance: 3", "unknown-colour", "butter"),
        ("pieces.card.accept.buter: x", "no-such-colour", "butter"),
        ("colours.butter.tolerance: 3", "duplicate-key", "change it there"),
        ("pieces.card.stock.colour: x", "duplicate-key", "change it there"),
        ("colours.butter.tolerence: 3", "unknown-field", "tolerance"),
    ],
)
def test_a_line_that_leads_nowhere_is_told_by_its_own_place(load, line, code, says):
    with pytest.raises(OrderError) as caught:
        load(line)
    ((found, where),) = codes_of(caught)
    assert found == code
    assert where == len(TEXT.splitlines()) + 1
    assert says in str(caught.value)


def test_lines_with_dots_are_plain_yaml():
    assert yaml.safe_load("pieces.tag.accept.butter: {why: x, up_to: 6.5}") == {
        "pieces.tag.accept.butter": {"why": "x", "up_to": 6.5}
    }
