import datetime

from inkaccord.builtin import PLUGINS
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.plugins import load_plugins
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.placing import Group
from inkaccord.sheets.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size


def test_the_built_in_layout_draws_the_same_bytes_each_time():
    sheet = plan_sheet(
        Pair.parse("press@card"),
        Purpose.SCOUTING,
        [Group(builds=(Build.cmyk(10, 20, 30, 0), Build.cmyk(60, 10, 0, 0)))],
        SheetFormat(size=Size.parse("letter")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 10, 5),
    )
    assert sheet is not None
    offered = load_plugins(built_in=PLUGINS).each("inkaccord_sheet_layouts", None)
    (plugin, layout) = offered[-1]
    assert plugin == "plain-sheets"
    data = layout.draw(sheet, notes=("a note",))
    assert data.startswith(b"%PDF")
    assert layout.draw(sheet, notes=("a note",)) == data
