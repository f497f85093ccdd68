"""A suite is packed as a hand would: a card with its envelope, a band round, the rest beside."""

import pytest
import yaml

from inkaccord.errors import OrderError
from inkaccord.order.enclosing import packing_of
from inkaccord.order.loading import load_order
from inkaccord.report.packing import _assembly

SUITE = {
    "invitation": ("5in x 7in", "card"),
    "envelope": ("a7-envelope", "a7"),
    "reply-card": ("4.25in x 5.5in", "card"),
    "reply-envelope": ("a2-envelope", "a2"),
    "tag": ("2in x 3.5in", "card"),
    "band": ("11in x 1.5in", "card"),
    "poster": ("11in x 17in", "card"),
}
STOCKS = {
    "card": {"size": "13x19"},
    "a7": {"kind": "envelope", "size": "a7-envelope"},
    "a2": {"kind": "envelope", "size": "a2-envelope"},
}


@pytest.fixture
def load(tmp_path):
    def load(suite=SUITE, goes=None):
        pieces = {
            name: {"artwork": f"{name}.pdf", "trim": trim, "device": "press", "stock": stock}
            for name, (trim, stock) in suite.items()
        }
        for name, how in (goes or {}).items():
            pieces[name]["goes"] = how
        order = {
            "order": "suite", "date": "2026-11-28", "suites": 4,
            "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": "cmyk 75 20 80 10"}},
            "stocks": {name: STOCKS[name] for name in {stock for _, stock in suite.values()}},
            "vendors": {"shop": {"devices": {"press": {}}}}, "pieces": pieces,
        }  # fmt: skip
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        return load_order(tmp_path / "order.yaml", {}).order

    return load


def steps(order):
    return [(step.piece, step.place) for step in _assembly(order)]


def test_a_suite_is_packed_by_what_fits_where(load):
    assert steps(load()) == [
        ("invitation", "at the back"),
        ("reply-envelope", "on invitation"),
        ("reply-card", "with reply-envelope, tucked under its flap"),
        ("tag", "on reply-envelope"),
        ("band", "round those before it, as a band"),
        ("envelope", "round the others"),
        ("poster", "beside the envelope, being larger than envelope"),
    ]


def test_the_order_says_otherwise(load):
    order = load(goes={"tag": "with reply-card", "band": "beside", "reply-card": "within",
                       "poster": "round"})  # fmt: skip
    said = dict(steps(order))
    assert said["tag"] == "with reply-card"
    assert said["band"] == "beside the envelope"
    assert said["reply-card"] == "on reply-envelope"
    assert said["poster"] == "round those before it, as a band"
    assert [name for name, _ in steps(order)].index("tag") == 1 + [
        name for name, _ in steps(order)
    ].index("reply-card")


@pytest.mark.parametrize(
    ("strip", "how"),
    [
        ("11in x 1.5in", "round"),  # twice 5 in, and an inch over
        ("15in x 2in", "round"),  # the other way round
        ("10in x 1.5in", "beside"),  # its ends just meet
        ("12.5in x 1.5in", "beside"),
        ("11in x 5in", "beside"),  # no strip
    ],
)
def test_a_band_is_as_long_as_the_suite_is_round(load, strip, how):
    assert packing_of(load(SUITE | {"band": (strip, "card")}))["band"].goes == how


def test_a_card_that_leaves_most_of_an_envelope_empty_is_not_its_own(load):
    suite = {name: it for name, it in SUITE.items() if name != "reply-card"}
    assert packing_of(load(suite))["tag"].goes == "within"


@pytest.mark.parametrize(
    ("goes", "code", "words"),
    [
        ({"tag": "with reply-crad"}, "unknown-piece", "did you mean 'reply-card'"),
        ({"tag": "with tag"}, "unknown-piece", "known here"),
        ({"tag": "with reply-card", "reply-card": "with envelope"}, "goes-with-another", "'tag'"),
        ({"tag": "on top"}, "bad-value", "is no place in a suite"),
        ({"tag": "with"}, "bad-value", "takes the name of a piece"),
    ],
)
def test_a_place_that_cannot_be(load, goes, code, words):
    with pytest.raises(OrderError) as problem:
        load(goes=goes)
    (finding,) = problem.value.findings
    assert finding.code == code
    assert finding.place.field == "pieces.tag.goes"
    assert words in f"{finding.message} {finding.hint}"
