"""Odd PDF files that no one here wrote: none may crash, hang, or lose anything.

The veraPDF corpus (CC BY 4.0), pdf.js' tests (Apache-2.0) and pikepdf's own, from the optional
folder beside the checkout.
"""

from collections import Counter
from pathlib import Path

import pypdfium2
import pytest

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import (
    OverprintMode,
    RecolourOptions,
    SpotMode,
    TintMode,
    recolour,
)
from inkaccord.artwork.swaps import Swap
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.errors import FileError
from inkaccord.pdf.colours.spaces import PROCESS_INKS
from inkaccord.pdf.opening import open_artwork
from outside import shared_pdfs

NOWHERE = Swap(
    old=Paint.parse("cmyk 1.23 4.56 7.89 1"), new=Paint.parse("cmyk 2 3 4 5"), tolerance=0
)
MOST_SWAPS = 12
REFUSALS = {"needs-password", "changes-forbidden", "not-a-pdf", "bad-pages", "too-much-drawn"}
"""The last of one whose pattern steps by 10⁻³⁸."""


OF_PLATES = {"All", "None", *PROCESS_INKS}
"""Spots of these names are plates: they are refused where spots are kept."""


def own_swaps(path: Path) -> list[Swap]:
    """Return swaps of the first colours that a file really holds, each to one of its own."""
    with open_artwork(path) as pdf:
        paints = [use.colour.paint for use in walk(pdf)]
    found: dict[Paint, None] = {}
    for paint in paints:
        if paint is None or paint.kind is PaintKind.LAB or paint.name in OF_PLATES:
            continue
        found[Paint.spot(paint.name) if paint.name is not None else paint] = None
    swaps = []
    for index, paint in enumerate(list(found)[:MOST_SWAPS], start=1):
        if paint.kind is PaintKind.RGB:
            new = Paint(
                kind=paint.kind, values=(index * 37 % 256, index * 91 % 256, index * 53 % 256)
            )
        else:
            values = (index * 37 % 101, index * 91 % 101, index * 53 % 101, index * 17 % 101)
            new = Paint(kind=PaintKind.CMYK, values=values)
        swaps.append(Swap(old=paint, new=new, tolerance=0))
    return swaps


@pytest.mark.slow
@pytest.mark.parametrize("spots", SpotMode)
def test_their_own_colours_are_swapped_and_proven(spots: SpotMode) -> None:
    options = RecolourOptions(
        spots=spots,
        tints=TintMode.OFF,
        overprint=OverprintMode.OFF if spots is SpotMode.PROCESS else OverprintMode.REPORT,
    )
    outcomes: Counter[str] = Counter()
    for path in shared_pdfs():
        try:
            swaps = own_swaps(path)
            made = recolour(path, swaps, options=options)
            proof = prove(path.read_bytes(), made.data, swaps, options, render=False)
        except FileError as refusal:
            outcomes[f"refused: {refusal.findings[0].code}"] += 1
            continue
        assert proof.structure.verdict == "pass", (path.name, proof.structure.details)
        if not proof.passed:
            assert made.errors, (path.name, proof.inventory.details)
            outcomes["reported"] += 1
            continue
        outcomes["swapped" if any(one.solids for one in made.counts) else "nothing to swap"] += 1
    assert outcomes["swapped"] > 70
    refused = {name: n for name, n in outcomes.items() if name.startswith("refused: ")}
    assert set(refused) <= {f"refused: {code}" for code in REFUSALS}
    assert sum(refused.values()) < 12


def picture(data: bytes) -> bytes:
    with pypdfium2.PdfDocument(data) as document:
        page = document[0]
        bitmap = page.render(scale=0.3)
        pixels = bytes(bitmap.buffer)
        bitmap.close()
        page.close()
    return pixels


@pytest.mark.slow
def test_a_swap_of_a_colour_that_is_nowhere_changes_nothing() -> None:
    compared = 0
    for number, path in enumerate(shared_pdfs()):
        try:
            made = recolour(path, [NOWHERE])
        except FileError:
            continue
        assert prove(path.read_bytes(), made.data, [NOWHERE], render=False).passed, path.name
        assert sum(one.solids + one.tints for one in made.counts) == 0
        if number % 5 == 0:
            assert picture(path.read_bytes()) == picture(made.data), path.name
            compared += 1
    assert compared > 15


@pytest.mark.slow
def test_the_same_file_gives_the_same_bytes() -> None:
    for path in shared_pdfs()[::9]:
        try:
            swaps = own_swaps(path)
            assert recolour(path, swaps).data == recolour(path.read_bytes(), swaps).data
        except FileError:
            continue
