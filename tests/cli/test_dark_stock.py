"""A dark stock: its sheet is planned, set and spoken of as one."""

import json

import numpy as np
import pytest

from inkaccord.cli.main import run_main
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.shelf.store import Shelf

pytestmark = pytest.mark.slow

DARK = (25.0, 2.0, -8.0)


@pytest.fixture(scope="module")
def planned(tmp_path_factory, write_order):
    """The record of a first run for white paper and a dark envelope, and both sheets."""
    order = write_order(tmp_path_factory.mktemp("dark"))
    path = order / "order.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("a7-envelope}", f"a7-envelope, colour: {[*DARK]}}}", 1), "utf-8")
    assert run_main(["-q", "run", str(order)]) == 3
    run = json.loads((order / "out" / "run.json").read_text("utf-8"))
    with Shelf.open(order / "shelf.sqlite") as shelf:
        sheets = {kept.sheet.pair.stock: kept.sheet for kept in shelf.sheets()}
    return run, sheets["white"], sheets["cream"]


def test_the_run_says_what_to_know_before_printing(planned):
    run, _, _ = planned
    (said,) = [it for it in run["findings"] if it["code"] == "dark-stock"]
    assert "the stock cream is dark (L* 25)" in said["message"]
    steps = [it["text"] for it in run["next"] if it["pair"] == "press@cream"]
    assert "read its ids under a strong light" in steps[0]
    assert sum("strong light" in it["text"] for it in run["next"]) == 1


def test_type_is_larger_on_the_dark_sheet(planned):
    _, light, dark = planned
    assert dark.settings.label_pt > light.settings.label_pt


def test_swatches_lie_where_the_paper_lets_colours_differ(planned):
    """Half tones that the dark paper swallows are not printed on it."""
    _, light, dark = planned
    press = GenericPress.of(dark.drive, DARK)

    def nearest(sheet):
        lab = press.predict_lab(np.array([swatch.build.values for swatch in sheet.swatches]))
        own = [at for at, swatch in enumerate(sheet.swatches) if not swatch.control]
        return np.array([np.sort(delta_e_2000(lab[at], lab))[1] for at in own])

    # Printed on the dark stock, some swatches of the white paper's sheet could not be told apart.
    assert nearest(light).min() < 0.5
    assert nearest(dark).min() > 1.0
