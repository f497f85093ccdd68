"""Draws sample sheets, and fails at every one."""

from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_draw_sheet(sheet, notes):
    raise ZeroDivisionError(sheet.id, notes)
