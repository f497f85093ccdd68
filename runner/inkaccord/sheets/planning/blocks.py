"""Blocks: the sizes that sample sheets come in, whatever sheets a device takes.

A block that is smaller than the device's sheet is cut out of it. All marks lie inside the block,
so that it is scanned and kept alone.
"""

from collections.abc import Iterator, Sequence

from inkaccord.errors import OrderError
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size
from inkaccord.units import inch

_METRIC = ("a6", "a5", "a4")
_INCH = ("4.25in x 5.5in", "half-letter", "letter")


def block_pages(
    sheets: Sequence[SheetFormat], asked: Size | None = None
) -> tuple[SheetFormat, ...]:
    """Return the pages that a sample sheet may have, the smallest first.

    Parameters
    ----------
    sheets
        What the device takes.
    asked
        The one size that a person wants.

    Usual sizes are A6, A5 and A4, or a quarter, a half and a whole letter sheet, by what the first
    of the device's sheets is measured in; and a device's own sheet no larger than those. Where
    none of them can be had, the sheets are the pages. Raises OrderError ``sample-size`` when the
    asked one fits on none of the sheets.
    """
    if asked is not None:
        page = _page(asked, sheets)
        if page is None:
            listed = ", ".join(str(sheet.size) for sheet in sheets)
            raise OrderError.of(
                "sample-size",
                f"sample sheets of {asked} fit on no sheet that the device takes: {listed}",
                hint="give a smaller sample_size, or leave it out",
            )
        return (page,)
    usual = [Size.parse(name) for name in (_INCH if _in_inches(sheets[0].size) else _METRIC)]
    own = [sheet.size for sheet in sheets if _area(sheet.size) <= _area(usual[-1])]
    sizes = sorted({*usual, *own}, key=lambda size: (_area(size), size.width_pt))
    pages = tuple(page for size in sizes if (page := _page(size, sheets)) is not None)
    return pages or tuple(sorted(sheets, key=lambda sheet: _area(sheet.size)))


def is_cut_out(size: Size, sheets: Sequence[SheetFormat]) -> bool:
    """Tell whether a block of a size is cut out of a larger sheet: the device takes none such."""
    return not any(_same(size, sheet.size) for sheet in sheets)


def _page(size: Size, sheets: Sequence[SheetFormat]) -> SheetFormat | None:
    """Return a page of a size: a sheet as it is, or a block cut out of one; None if it is neither.

    A block has no margins of its own beyond the safe area, which keeps its print clear of the cut.
    """
    for sheet in sheets:
        if size.same_as(sheet.size):
            return sheet
        if size.turned.same_as(sheet.size):
            return sheet.turned
    bleed = sheets[0].bleed_pt
    fits = any(size.fits_in(turn) for sheet in sheets for turn in _printable(sheet))
    return SheetFormat(size=size, bleed_pt=bleed) if fits else None


def _printable(sheet: SheetFormat) -> Iterator[Size]:
    """Yield the size of what a device prints of a sheet, both ways round."""
    edges = sheet.unprintable
    width = sheet.size.width_pt - edges.left - edges.right
    height = sheet.size.height_pt - edges.bottom - edges.top
    if min(width, height) > 0:
        yield from ((one := Size(width_pt=width, height_pt=height)), one.turned)


def _same(one: Size, other: Size) -> bool:
    return one.same_as(other) or one.turned.same_as(other)


def _area(size: Size) -> float:
    return size.width_pt * size.height_pt


def _in_inches(size: Size) -> bool:
    """Tell whether both sides are whole eighths of an inch."""
    eighths = [8 * inch(side) for side in (size.width_pt, size.height_pt)]
    return all(abs(side - round(side)) < 1e-2 for side in eighths)
