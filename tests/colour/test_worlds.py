"""Ways in which swatches may truly lie: as the model doubts, and as their steps lead."""

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.chart import EvenChart
from inkaccord.colour.looks import Offered
from inkaccord.colour.picks import offered_on
from inkaccord.colour.press.model import fit
from inkaccord.colour.worlds import WORLDS, draw_printed, world_near
from inkaccord.knowledge.pairs import paper_readings

MIDDLE = np.array([58.0, -14.0, 16.0])
BUILDS = np.array([[40.0, 20, 30, 0], [44.0, 20, 30, 0], [40.0, 20, 30, 0], [90.0, 80, 0, 0]])


@pytest.fixture(scope="module")
def unread():
    return fit(paper_readings(Drive.CMYK, (94.0, 0.0, -2.0)))


def test_neighbours_err_alike_and_a_twin_not_otherwise(unread):
    offered = offered_on(unread, BUILDS)
    printed = draw_printed(unread, [offered])[offered]
    assert printed.shape == (WORLDS, 4, 3)
    assert printed[:, 2] == pytest.approx(printed[:, 0])
    off = np.linalg.norm(printed - offered.labs, axis=2)
    steps = np.linalg.norm((printed - offered.labs)[:, 1] - (printed - offered.labs)[:, 0], axis=1)
    far = np.linalg.norm((printed - offered.labs)[:, 3] - (printed - offered.labs)[:, 0], axis=1)
    assert np.median(off[:, 0]) > 1.0
    assert np.median(steps) < 0.3 * np.median(far)


def test_the_same_swatches_lie_alike_on_whichever_sheet(unread):
    one, other = offered_on(unread, BUILDS), offered_on(unread, BUILDS[::-1])
    printed = draw_printed(unread, [one, other])
    assert printed[one] == pytest.approx(printed[other][:, ::-1])


def test_steps_that_lead_otherwise_are_found():
    chart = EvenChart.round(MIDDLE)
    places = 3.0 * np.vstack([np.zeros(3), np.eye(3), -np.eye(3)])
    bent = np.array([[2.0, 0.3, 0.0], [0.0, 0.5, 0.0], [0.0, 0.2, 1.5]])
    offered = Offered(places, chart.lab(places), paper=np.array([94.0, 0.0, -2.0]))
    world = world_near(MIDDLE, chart, {offered: chart.lab(places @ bent.T + 4.0)})
    assert world.turn == pytest.approx(bent, abs=0.1)
    # All of it shifted alike says nothing of a thing that is known by the swatches alone.
    assert world.place(np.zeros(3)) == pytest.approx(np.zeros(3), abs=0.01)
