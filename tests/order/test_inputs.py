"""What a run of an order depends on."""

import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.order.inputs import OrderInputs
from inkaccord.order.loading import load_order


@pytest.fixture
def inputs(write_order):
    path = write_order(
        ("    delivers: sheets\n", "    delivers: sheets\n    pdf: {output_profile: press.icc}\n"),
        ("suites: 20\n", "suites: 20\nevidence: read\n"),
    )
    return OrderInputs.of(load_order(path, {}))


def test_they_are_all_that_the_order_names_and_its_pairs(inputs, tmp_path):
    assert inputs.order == tmp_path / "order.yaml"
    assert inputs.artworks == {"card": tmp_path / "card.pdf"}
    assert inputs.profiles == {"studio": tmp_path / "press.icc"}
    assert inputs.pairs == (Pair.parse("laser@natural-cotton/card"),)


def test_what_lies_in_the_folder_of_evidence_is_among_the_files(inputs, tmp_path):
    named = [tmp_path / name for name in ("order.yaml", "card.pdf", "press.icc", "read")]
    assert list(inputs.files()) == named
    within = tmp_path / "read" / "sheets"
    within.mkdir(parents=True)
    (within / "one.json").write_text("{}", "utf-8")
    assert list(inputs.files()) == [*named, within, within / "one.json"]
