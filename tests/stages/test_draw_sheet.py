import datetime
from pathlib import Path

import pytest

from inkaccord.builtin import PLUGINS
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.plugins import load_plugins
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size

NOTES = ("a note",)


@pytest.fixture
def sheet():
    planned = plan_sheet(
        Pair.parse("press@card"),
        Purpose.SCOUTING,
        [SwatchGroup(builds=(Build.cmyk(10, 20, 30, 0), Build.cmyk(60, 10, 0, 0)))],
        SheetFormat(size=Size.parse("letter")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 10, 5),
    )
    assert planned is not None
    return planned


def test_the_built_in_layout_draws_the_same_bytes_each_time(sheet):
    plugins = load_plugins(built_in=PLUGINS)
    data = plugins.draw_sheet(sheet, NOTES)
    assert data.startswith(b"%PDF")
    assert plugins.draw_sheet(sheet, NOTES) == data == draw_sheet(sheet, notes=NOTES)


def test_a_layout_that_fails_is_named_and_the_one_before_it_draws(sheet, monkeypatch):
    monkeypatch.syspath_prepend(str(Path(__file__).parents[1] / "plugins" / "broken"))
    plugins = load_plugins(["draws_badly"], built_in=PLUGINS)
    assert plugins.draw_sheet(sheet, NOTES) == draw_sheet(sheet, notes=NOTES)
    (finding,) = plugins.findings
    assert (finding.code, finding.source) == ("plugin-failed", "draws_badly")
    assert "ZeroDivisionError" in finding.message
    assert sheet.id in finding.message
