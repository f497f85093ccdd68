"""Gradients whose numbers, or sums of inks, leave their range: every device cuts them there."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import KELP, NEW, OLD, document, parsed, proven, resource, stream, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.pdf.colours.spaces import Space
from outside import plates

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
BUILD = np.array([0.78, 0.12, 0.55, 0.41])
BLACK = np.array([0.0, 0.0, 0.0, 1.0])
LIGHTER = "{ pop dup 0.2 mul exch dup 0.4 mul exch dup 0.6 mul exch 0.1 mul }"
SWAPS = (f"{OLD} = {NEW}", f"spot Kelp = {NEW}")


def _gradient(space: str, first: str, last: str, power: int, bounds: str = "") -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        function = f"/C0 [{first}] /C1 [{last}] /N {power} {bounds}"
        shading = parsed(
            "<< /ShadingType 2 /Coords [0 0 100 0] "
            f"/Function << /FunctionType 2 /Domain [0 1] {function} >> >>"
        )
        shading.ColorSpace = parsed(space)
        if "/DeviceN" in space:
            entries = "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>"
            shading.ColorSpace[3] = stream(pdf, LIGHTER.encode(), entries)
        resource(page, "/Shading", "/S", shading)

    return document(b"/S sh", setup=setup)


INKS = "[/DeviceN [/Kelp /Black] /DeviceCMYK null]"
OLD_INKS = "0.85 0.2 0.6 0.3"
CASES: dict[str, tuple[tuple[str, str, str, int], Callable[[float], object]]] = {
    "a tint from below nothing to above all": (
        (KELP, "-0.5", "1.5", 1),
        lambda t: BUILD * min(max(2 * t - 0.5, 0), 1),
    ),
    "a tint that rises by its square": ((KELP, "0", "4", 2), lambda t: BUILD * min(4 * t * t, 1)),
    "process colour": (
        ("/DeviceCMYK", OLD_INKS, "-0.85 -0.2 -0.6 -0.3", 1),
        lambda t: BUILD * max(1 - 2 * t, 0),
    ),
    "one of several inks": ((INKS, "-1 0", "1 0", 1), lambda t: BUILD * max(2 * t - 1, 0)),
    "a sum of inks": ((INKS, "0 0", "1 1", 1), lambda t: np.minimum((BUILD + BLACK) * t, 1)),
}


@pytest.mark.parametrize("case", CASES)
def test_it_prints_as_cut_off(case: str, tmp_path: Path) -> None:
    shading, inks = CASES[case]
    swap = SWAPS["/Kelp" in shading[0]]
    made = proven(_gradient(*shading), swap, options=PROCESS, render=True)
    found = plates(made.data, tmp_path)
    for x in range(2, 100, 6):
        have = [found[name][50, x] for name in ("Cyan", "Magenta", "Yellow", "Black")]
        # Ghostscript draws a gradient in cells of one colour.
        assert have == pytest.approx(100 * np.asarray(inks((x + 0.5) / 100)), abs=2.5), x


def test_a_range_of_its_own_cuts_a_function_too(tmp_path: Path) -> None:
    source = _gradient(KELP, "0", "1", 1, "/Range [0.2 0.6]")
    made = proven(source, SWAPS[1], options=PROCESS, render=True)
    found = plates(made.data, tmp_path)["Cyan"][50]
    for x in range(2, 100, 6):
        assert found[x] == pytest.approx(78 * min(max((x + 0.5) / 100, 0.2), 0.6), abs=2.5), x


@pytest.mark.parametrize("case", ["a tint from below nothing to above all", "process colour"])
def test_the_proof_refuses_a_straight_line_instead(
    case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the objects nor the pixels of the copy may pass."""
    source, wanted = _gradient(*CASES[case][0]), swaps(SWAPS["/Kelp" in CASES[case][0][0]])
    monkeypatch.setattr(Space, "inside", lambda _, numbers: numbers)
    made = recolour(source, wanted, options=PROCESS)
    monkeypatch.undo()
    proof = prove(source, made.data, wanted, PROCESS, render=True)
    assert proof.structure.details
    assert proof.rendering.details
