"""The job file's reference says what fields hold, and its YAML is read."""

from pathlib import Path

import pytest
import yaml

from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Severity
from inkaccord.foresight.ahead import check_whole
from inkaccord.order.loading import load_order
from inkaccord.order.source import read_source
from inkaccord.plugins import load_plugins
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
PAGE = (ROOT / "docs" / "job-file.md").read_text("utf-8")
WHOLE = ROOT / "docs" / "parts" / "whole-order.yaml"

# Written by hand from the models, not by the page's own maker.
ROWS = {
    "## The order": [
        "| `colours` | names, each with fields of [brand colour](#a-colour-under-colours-name), "
        "at least 1 | **needed** |",
        "| `suites` | whole number, 1 or more | **needed** |",
        "| `due` | date |",
    ],
    "## A colour": ["| `in_artwork` | list of artwork colour, at least 1 | **needed** |"],
    "## Its aim": ["| `lab` | 3 numbers |", "| `by_eye` | text |", "| `on` | pair |"],
    "## A device": [
        "| `sheets` | list of size |",
        "| `margin` | length, 0 or more | `4.2mm` |",
        "| `ink_limit` | percent, 100 to 400 |",
    ],
    "## A piece": [
        "| `artwork` | text | **needed** |",
        "| `trim` | size | **needed** |",
        "| `sides` | `1` or `2` |",
        "| `bleed` | length, 0 or more |",
    ],
    "## A fold": ["| `at` | list of length |"],
    "### `kind: desk-cmyk`": ["| `sheets` | list of size, at least 1 | **needed** |"],
}


@pytest.mark.parametrize(("title", "rows"), list(ROWS.items()), ids=list(ROWS))
def test_a_field_holds_what_the_page_says(title, rows):
    start = PAGE.index(f"\n{title}")
    section = PAGE[start : PAGE.find("\n## ", start + 5)]
    for row in rows:
        assert row in section


def test_only_lengths_are_called_lengths():
    called = {line.split("`")[1] for line in PAGE.splitlines() if "| length" in line}
    assert called == {
        "aperture", "bleed", "safe_area", "gutter", "margin", "gripper_margin", "multi_ink_type",
        "reversed_type", "reversed_line", "line", "multi_ink_line", "gripper", "tuck", "left",
        "top",
        "width", "height", "type", "least", "frame",
    }  # fmt: skip


def blocks():
    for page in PAGES:
        for number, part in enumerate(page.read_text("utf-8").split("```yaml\n")[1:]):
            if not part.startswith(" "):  # else a line alone, which docs/first_afternoon.py plays
                yield pytest.param(part.split("```")[0], id=f"{page.name}-{number}")


def with_its_artwork(path):
    """Draw what an order's pieces name, in its colours' first build."""
    loaded = load_order(path, load_plugins().vendor_kinds())
    for piece in loaded.order.pieces.values():
        art = path.parent / piece.artwork
        art.parent.mkdir(exist_ok=True)
        width, height = piece.trim.width_pt / 72, piece.trim.height_pt / 72
        art.write_bytes(draw_artwork(f"{width}in x {height}in", Build.cmyk(85, 20, 60, 30)))
    return loaded


@pytest.mark.parametrize("text", list(blocks()))
def test_every_piece_of_yaml_in_the_docs_is_read(tmp_path, text):
    """A whole order passes the check; a part is read where it stands in one."""
    path = tmp_path / "order.yaml"
    path.write_text(text, "utf-8")
    data = read_source(path).data  # YAML 1.1 alone would take the field 'on' for true
    if "order" in data:
        loaded = load_order(path, {})
        found = (*with_its_artwork(path).findings, *check_whole(loaded, Workbench(loaded)))
        told = [it for it in found if it.severity is not Severity.NOTE]
        assert [str(it) for it in told if it.code != "unused-colour"] == []  # one build is drawn
    else:
        whole = read_source(WHOLE).data
        path.write_text(yaml.safe_dump(merged(whole, data), allow_unicode=True), "utf-8")
        load_order(path, load_plugins().vendor_kinds())


def merged(whole, part):
    """Return a mapping with another's entries laid over it."""
    if not (isinstance(whole, dict) and isinstance(part, dict)):
        return part
    return {**whole, **{key: merged(whole.get(key), it) for key, it in part.items()}}


def test_the_whole_order_means_what_it_says(tmp_path):
    path = tmp_path / "order.yaml"
    path.write_text(WHOLE.read_text("utf-8"), "utf-8")
    order = load_order(path, {}).order
    assert order.colours["kelp"].aim.lab == (34, -23, 4)
    assert order.colours["lantern"].in_artwork == (Paint.parse("cmyk 0 38 88 2"),)
    invitation = order.jobs["invitation"]
    assert (invitation.quantity, invitation.overs) == (85, 5)
    assert order.device("press").stocks == ("natural-cotton",)
