"""Proof swatches: planned, printed, read; then the build is confirmed, or corrected."""

import shutil

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.sheets.controls import control_builds
from inkaccord.testing import plain_press
from recording_kit import fill_in
from run_kit import inkaccord, run_of

CONTROLS = {build.values for build in control_builds(Drive.CMYK)}


def on_cream(builds, *, by=0.5):
    """Print weaker than plain_press does, on a yellower stock, and none too steadily."""
    unsteady = np.random.default_rng(int(builds.sum())).normal(0, by, (len(builds), 3))
    return plain_press(0.92 * builds) + np.array([-2.0, 0.0, 6.0]) + unsteady


def surprising(builds, *, by=0.5):
    """Print the controls as on_cream does, but all else a little lighter and yellower."""
    lab = on_cream(builds, by=by)
    controls = np.array([tuple(build) in CONTROLS for build in builds.tolist()])
    return np.where(controls[:, None], lab, lab + np.array([1.3, 0.0, 1.8]))


def run_again(order):
    return inkaccord("run", order)[0], run_of(order)


def record(order, sheet, press):
    read = order / f"read-{sheet['id']}.txt"
    fill_in(order / "out" / sheet["table"], read, press)
    assert inkaccord("record", sheet["id"], read, "--order", order)[0] == 0


@pytest.fixture(scope="module")
def proved(tmp_path_factory, first_run):
    """The order before its proofs, and after one like and one unlike its prediction."""
    order = shutil.copytree(first_run[0], tmp_path_factory.mktemp("proof") / "order")
    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8") + "proof: true\n", "utf-8")
    for sheet in run_of(order)["samples"]:
        record(order, sheet, plain_press if sheet["stock"] == "white" else on_cream)
    before = run_again(order)
    for sheet in before[1]["samples"]:
        record(order, sheet, plain_press if sheet["stock"] == "white" else surprising)
    after = run_again(order)
    return before, after, (order / "out" / "report.html").read_text("utf-8")


def on(run, stock):
    return next(it for it in run["translations"] if it["stock"] == stock)


def steady_lab(text):
    """What the surprising press prints of a build on the average."""
    return surprising(np.array([[float(x) for x in text.split()[1:]]]), by=0.0)[0]


def test_one_large_swatch_of_each_build_is_planned(proved):
    (code, run), _, _ = proved
    assert code == 3
    assert {it["purpose"] for it in run["samples"]} == {"proof"}
    assert {it["swatches"] for it in run["samples"]} == {13}  # the controls, and one
    assert all("proof swatch of leaf" in it["why"] for it in run["samples"])


def test_a_proof_like_its_prediction_confirms_the_build(proved):
    (_, before), (_, after), page = proved
    now = on(after, "white")
    assert now["build"] == on(before, "white")["build"]
    assert now["note"].startswith("confirmed by its proof swatch: 0.")
    assert now["note"] in page


def test_a_proof_unlike_its_prediction_corrects_the_build(proved):
    (_, before), (_, after), page = proved
    old, new = on(before, "cream"), on(after, "cream")
    assert new["build"] != old["build"]
    assert new["note"].startswith(f"corrected by its proof swatch: {old['build']} read ")
    assert new["note"] in page
    aim = np.array(new["aim_lab"])
    missed, now = (float(delta_e_2000(steady_lab(it["build"]), aim)) for it in (old, new))
    assert missed > 1.0
    assert now < 0.9 * missed  # one swatch among many that were read otherwise


def test_no_proof_is_asked_for_twice(proved):
    _, (_, after), _ = proved
    assert [it for it in after["samples"] if it["purpose"] == "proof"] == []
