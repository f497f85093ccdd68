"""A thing that lies with a sheet in a picture: shown on the page before anything is kept."""

import io
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from glass_kit import PLAIN, Laid, glass
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.shelf.store import Shelf
from recording_kit import printed_lab
from run_kit import inkaccord
from web_kit import OpenPage, open_page, sheet_of_run, studio, upload

FINE = replace(PLAIN, dpi=150)
pytestmark = pytest.mark.slow  # every page of a sheet is drawn, scanned and looked through
LEAF = (0.78, 0.25, 0.66, 0.22)
"""What the thing would be printed as."""


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that was run once, and whose sheet has a field for the thing."""
    folder = tmp_path_factory.mktemp("studio")
    path = studio(folder) / "order.yaml"
    text = path.read_text("utf-8").replace("by_eye: a dried leaf", "by_eye: a leaf, on_glass: true")
    path.write_text(text, "utf-8")
    assert inkaccord("run", path.parent)[0] == 3
    yield from open_page(folder)


def scans(opened: OpenPage, lab: tuple[float, float, float] | None) -> list[bytes]:
    """Return scans of every page of the sheet, the thing on it where there is one."""
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        sheet = shelf.sheet(sheet_of_run(opened))
    laid = {} if lab is None else {"kelp": Laid(lab)}
    found = []
    for page in range(1, sheet.pages + 1):
        with io.BytesIO() as packed:
            Image.fromarray(glass(sheet, laid, how=FINE, page=page).pixels).save(packed, "PNG")
            found.append(packed.getvalue())
    return found


def looks(opened: OpenPage) -> list[tuple[str, tuple[float, ...] | None]]:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        kept = shelf.picks_of_sheet(sheet_of_run(opened))
    return [(it.pick.colour, it.pick.build) for it in kept]


def test_a_thing_on_the_sheet_is_shown_and_then_kept_as_a_look(opened: OpenPage) -> None:
    at = f"{opened.order}/read/{sheet_of_run(opened)}"
    asked = opened.get(at).text
    assert 'name="thing" value="kelp"' in asked
    assert "a leaf" in asked

    builds = 100 * np.array([LEAF])
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        drive = shelf.sheet(sheet_of_run(opened)).drive
    lab = printed_lab(builds, drive)[0]
    files = scans(opened, tuple(lab.tolist()))
    shown = upload(opened, at, *files, thing="kelp")
    assert shown.status == 200, shown.text
    assert "the eye has the last word" in shown.text
    assert "photograph both by a window" in shown.text
    assert looks(opened) == []

    word = shown.text.partition('name="file" value="')[2].partition('"')[0]
    left = opened.post(f"{at}/keep", {"do": "discard", "file": word, "thing": "kelp"})
    assert (left.status, looks(opened)) == (303, [])
    shown = upload(opened, at, *files, thing="kelp")
    word = shown.text.partition('name="file" value="')[2].partition('"')[0]
    kept = opened.post(f"{at}/keep", {"do": "keep", "file": word, "thing": "kelp"})
    look, _, undo = kept.headers["location"].partition("?done=")
    assert look == f"{opened.order}/look/{sheet_of_run(opened)}"
    ((colour, build),) = looks(opened)
    assert colour == "kelp"
    assert f"<b>cmyk {' '.join(f'{it:g}' for it in build or ())}</b>" in shown.text
    # what the invented press makes of it lies near the thing; nothing of the run was told of it
    assert delta_e_2000(printed_lab(np.array([build]), drive)[0], lab) < 6.0
    assert f'name="word" value="{undo}"' in opened.get(f"{look}?done={undo}").text
    back, _, again = opened.post("/undo", {"word": undo}).headers["location"].partition("?done=")
    assert back == look
    assert again != undo  # it can be had again
    assert looks(opened) == []


def test_a_picture_without_the_thing_is_refused_with_what_to_do(opened: OpenPage) -> None:
    at = f"{opened.order}/read/{sheet_of_run(opened)}"
    refused = upload(opened, at, *scans(opened, None), thing="kelp")
    assert refused.status == 409
    assert "nothing lies in the field for kelp" in refused.text
    assert "lay the thing face down" in refused.text
    assert 'name="thing" value="kelp"' in refused.text
    nowhere = upload(opened, at, b"1", thing="<b>nowhere</b>")
    assert nowhere.status == 404
    assert "&lt;b&gt;nowhere" in nowhere.text
