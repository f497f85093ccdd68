"""Looks that are kept all at once, from a scan or a photograph, and how they are taken back."""

from collections.abc import Callable, Sequence

import numpy as np

from inkaccord.knowledge.apart import look_of
from inkaccord.report.screen import ScreenColour, screen_colours
from inkaccord.sheets.model import SampleSheet
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.schema import picks
from inkaccord.shelf.store import Shelf
from inkaccord.web.undoing import Doing, done_on_shelf
from inkaccord.words import counted

Coloured = tuple[tuple[str, ScreenColour], ...]
"""Swatches of a sheet with the colours in which its pair prints them."""


def coloured_by(shelf: Shelf, sheet: SampleSheet) -> Callable[[Sequence[str]], Coloured]:
    """Return what gives swatches of a sheet, by name, their colours."""
    model = look_of(sheet, shelf.readings_of(sheet.pair))
    builds = {it.id: it.build.values for it in sheet.swatches}

    def coloured(swatches: Sequence[str]) -> Coloured:
        labs = model.predict_lab(np.array([builds[it] for it in swatches]))
        return tuple(zip(swatches, screen_colours(labs), strict=True))

    return coloured


def kept_looks(
    place: ShelfPlace, shelf: Shelf, sheet: str, keep: Callable[[], object], at: str
) -> Doing | None:
    """Keep looks at a sheet, and return how to take back those that are new; None without any."""
    with shelf.noting() as noted:
        keep()
    new = sum(len(change.after[picks.name]) for change in noted)
    words = f"{counted(new, 'look')} at sheet {sheet} kept."
    return done_on_shelf(words, at, place, noted) if new else None
