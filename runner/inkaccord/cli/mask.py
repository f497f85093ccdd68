"""``inkaccord mask``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import INTO, takes_page
from inkaccord.cli.shared import JSON, Settings, pass_settings, print_json
from inkaccord.cli.shelf_place import shelf_with

if TYPE_CHECKING:
    from inkaccord.planning.on_request import PageAsked


@click.command("mask")
@click.argument("sheet_id", metavar="SHEET")
@takes_page
@INTO
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    sheet_id: str,
    page: "PageAsked",
    out: Path,
    as_json: bool,
) -> None:
    """Make a mask for SHEET: a card in mid grey with two holes, for a swatch and for the thing.

    The holes suit the swatches that the sheet has for the eye. Print it on the sheet's own device;
    better still, cut it out of neutral grey card.
    """
    from inkaccord.files import safe_name
    from inkaccord.planning.on_request import make_mask
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.sheets.drawing.mask import draw_mask
    from inkaccord.sheets.saving import save_files
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_with(settings, sheet_id)) as shelf:
        sheet = shelf.sheet(sheet_id)
        mask, known = make_mask(AskedShelf(shelf, settings.named_order), sheet, page)
    (path,) = save_files({f"mask-{safe_name(sheet.id)}.pdf": draw_mask(mask)}, out)
    if as_json:
        grey = list(mask.grey.values)
        print_json({"exit_code": 0, "sheet": sheet.id, "build": grey, "files": [str(path)]})
        return
    read = "as it was read" if known.is_read else "which nobody has read yet"
    for line in (
        f"Mask for sheet {sheet.id}, in the grey that is most neutral on {sheet.pair}, {read}.",
        f"  {path}",
        "Print it at 100 %, without colour conversion; if you have neutral grey card, use that.",
        "Cut away from yourself, on a mat, by a steel rule; its maker's instructions come first.",
    ):
        settings.screen.print(line, soft_wrap=True, markup=False)
