"""Compare ink-exact renderings of a file and its recoloured copy."""

from __future__ import annotations

import shutil

from inkaccord.artwork.recolour import RecolourOptions
from inkaccord.artwork.swaps import SwapTable


def ink_differences(
    before: bytes, after: bytes, table: SwapTable, options: RecolourOptions
) -> tuple[str, str, list[str]]:
    """Return the verdict, what was compared, and what is wrong."""
    del before, after, table, options
    if shutil.which("gs") is None:
        return "not run", "", ["Ghostscript is not installed"]
    return "not run", "", ["not yet"]
