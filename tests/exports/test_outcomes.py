"""Every export through colours, recolouring and a whole order: exact, or refused with a reason.

``outcomes.json`` says of each what happens, and ``docs/exports-tested.md`` is made from it. What is
wrong today stands in ``misses.py``; mending it makes these tests fail until the entry is gone.
"""

import pytest

from exports.harness import INDEX
from exports.misses import MISSES
from exports.order_kit import DEVICES, ordered
from exports.outcomes import (
    ANSWERED,
    ORDERS,
    QUESTIONS,
    WRONG,
    answer,
    recorded,
    verdict,
    whole_orders,
)
from outside import need_program

QUICK = {
    "colours": (
        "cairo-map",
        "web-cmyk-ticket",
        "typst-cmyk-map",
        "tikz-cmyk-invitation",
        "layout-x4-ticket",
        "gs-profiled-tikz-invitation",
    ),
    "same kind": ("inkscape-map", "office-ticket", "tikz-cmyk-blends", "layout-plain-invitation"),
    "to CMYK": ("inkscape-ticket", "layout-x4-ticket"),
}
"""What is asked in every run of the tests; all else is slow."""
CASES = [(name, asked) for name in INDEX for asked in QUESTIONS]


@pytest.fixture(scope="module")
def ghostscript():
    """Skip, or fail in CI, where no Ghostscript judges."""
    return need_program("gs", "ghostscript")


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        pytest.param(
            *case, marks=() if case[0] in QUICK[case[1]] else pytest.mark.slow, id="-".join(case)
        )
        for case in CASES
    ],
)
def test_an_export_comes_out_as_recorded(request, name, asked):
    if asked != "colours":
        request.getfixturevalue("ghostscript")
    said = answer(name, asked)
    assert verdict(said) == verdict(recorded()[name][asked]), said


@pytest.mark.slow
def test_whole_orders_come_out_as_recorded(ghostscript, tmp_path):
    """Those of refused pieces too, with the lines that their findings ask for."""
    kept = recorded()
    for name, answers in whole_orders(tmp_path / "order", INDEX).items():
        orders = {asked: said for asked, said in kept[name].items() if asked not in QUESTIONS}
        assert answers.keys() == orders.keys(), name
        for asked, said in answers.items():
            assert verdict(said) == verdict(orders[asked]), (name, asked, said)


@pytest.mark.slow
def test_a_whole_order_prints_an_export_for_two_vendors(ghostscript, tmp_path):
    found = ordered(tmp_path, ["web-cmyk-invitation"])["web-cmyk-invitation"]
    assert [found[device] for device in DEVICES] == ["exact", "exact"]


def test_every_export_has_every_answer():
    assert set(recorded()) == set(INDEX)
    for answers in recorded().values():
        refused = {
            ANSWERED[device]
            for device, asked in ORDERS.items()
            if answers[asked].startswith("refused")
        }
        assert set(answers) == {*QUESTIONS, *ORDERS.values(), "said", *refused}


def test_whatever_comes_out_wrong_is_known_with_its_reason():
    wrong = {
        (name, asked)
        for name, answers in recorded().items()
        for asked, said in answers.items()
        if said.startswith(WRONG)
    }
    known = {(name, asked) for name, reasons in MISSES.items() for asked in reasons}
    assert wrong == known
