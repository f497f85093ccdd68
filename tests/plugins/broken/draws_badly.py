"""Offers a layout of sample sheets that fails at every sheet."""

from inkaccord.hooks import hookimpl


class Torn:
    name = "torn"

    def draw(self, sheet, *, notes):
        raise ZeroDivisionError(sheet.id, notes)


@hookimpl
def inkaccord_sheet_layouts():
    return [Torn()]
