"""Sheets that a person asks for, outside any run: a swatch set, and the controls alone."""

import datetime
from collections.abc import Iterable, Sequence

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.lab import Lab
from inkaccord.colour.matching.match import match
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.even_set import Spacing
from inkaccord.colour.sampling.ranges import ColourRange
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.knowledge.asking import Asks, near_lab
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.swatch_set import told_paper
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.wanted import Wanted
from inkaccord.sheets.drawing.mask import Mask, lay_mask
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.planning.swatch_set import SwatchSet, make_swatch_set
from inkaccord.sheets.settings import SheetFormat, SheetSettings

CONTROLS_NAME = "check of the controls"
"""What a sheet of the controls alone is called where others name their order."""
MASK_GREY = (50.0, 0.0, 0.0)
"""CIELAB of a mask. ISO 3668:2017, Paints and varnishes, Visual comparison of colour of paints, 5.2
(read in an excerpt), has L* of about 45 to 55 and a* and b* below 10 round what is compared."""
SET_COUNT, RANGE_COUNT = 1000, 40
"""Swatches of a swatch set, and of one range, of which nobody says how many, or how close."""


def plan_controls(
    known: PairKnowledge,
    pages: Sequence[SheetFormat],
    date: datetime.date,
    *,
    aperture_pt: float | None = None,
    white_under: str = "",
) -> SampleSheet:
    """Plan a sheet of a pair's control swatches alone, on the first page that holds them.

    ``aperture_pt`` is that of the instrument that will read it, where that is known;
    ``white_under`` the plate of white that lies under all ink on the stock.

    Raises OrderError as :func:`~inkaccord.sheets.planning.plan.plan_sheet` does.
    """
    sheet = plan_sheet(
        known.pair,
        Purpose.CONTROLS,
        [],
        pages,
        drive=known.drive,
        date=date,
        order=CONTROLS_NAME,
        settings=_settings(aperture_pt, known.paper_lightness, white_under),
    )
    assert sheet is not None  # noqa: S101 -- a sheet of controls is never empty
    return sheet


def _settings(aperture_pt: float | None, lightness: float, white_under: str) -> SheetSettings:
    usual = SheetSettings.suiting(aperture_pt, lightness)
    return usual.model_copy(update={"white_under": white_under})


def plan_mask(known: PairKnowledge, sheet: SampleSheet, page: SheetFormat) -> Mask:
    """Lay out a mask for a sheet's swatches, in the mid grey that is most neutral on its pair.

    Raises OrderError as :func:`~inkaccord.sheets.drawing.mask.lay_mask` does.
    """
    found = match(known.model, np.array([MASK_GREY]), known.policy)
    grey = Build(drive=known.drive, values=tuple(found.builds[0].tolist()))
    return lay_mask(sheet, page, grey)


def plan_swatch_set(
    known: PairKnowledge,
    page: SheetFormat,
    date: datetime.date,
    *,
    base: Sequence[SampleSheet] = (),
    name: str | None = None,
    count: int | None = None,
    apart: float | None = None,
    only: ColourRange | None = None,
    paper: Lab | None = None,
    aperture_pt: float | None = None,
    white_under: str = "",
) -> SwatchSet:
    """Plan a swatch set for a pair, evenly spaced by what is known of it, or an addition to one.

    Parameters
    ----------
    page
        The page that its swatches stand on.
    base
        The set that it adds to, with its earlier additions; it then has that set's name.
    count, apart
        How many swatches, or the least ΔE00 between two of them; else :data:`SET_COUNT`, or
        :data:`RANGE_COUNT` of one range.
    only
        The range of colours, where not all are wanted.
    paper
        CIELAB of a stock that is not read, where a person told it.
    aperture_pt
        Of the instrument that will read it, where that is known.
    white_under
        The plate of white that lies under all ink on the stock.

    Raises
    ------
    OrderError
        As :func:`~inkaccord.sheets.planning.swatch_set.make_swatch_set` does.
    """
    usual = None if apart else RANGE_COUNT if only else SET_COUNT
    return make_swatch_set(
        known.pair,
        known.model,
        page,
        Spacing(count=count or usual, min_delta_e=apart),
        known.policy,
        name=name or (base[0].order if base else ""),
        date=date,
        only=only,
        base=base,
        settings=_settings(aperture_pt, float(known.model.paper_lab[0]), white_under),
        paper_lab=None if known.is_read else paper or told_paper(base),
    )


def range_near(known: PairKnowledge, what: str, reach: float, source: Asks) -> ColourRange:
    """Return the range within ``reach`` ΔE00 of a colour in words, as the pair prints it.

    A build without a pair is on this one; RGB numbers are, on a pair in CMYK, what a screen shows
    of them. Raises OrderError as :func:`~inkaccord.knowledge.asking.resolve_colour` does.
    """
    wanted = Wanted.parse(what)
    return ColourRange.near(wanted.said, near_lab(wanted, known, source), reach)


def stranger_findings(
    known: PairKnowledge, shelved: Iterable[Pair], order: Order | None
) -> tuple[Diagnostic, ...]:
    """Return what to say of a pair that neither an order nor the shelf knows: a slip, perhaps.

    ``shelved`` are the pairs that the shelf has sheets of.
    """
    ordered = order.pairs_needed() if order is not None else ()
    if known.sheets or known.pair in ordered:
        return ()
    others = {str(pair) for pair in (*ordered, *shelved)}
    where = "the shelf does not know" if order is None else "neither the order nor its shelf knows"
    near = f"{suggest(str(known.pair), others)} " if others else ""
    return (
        warning(
            "unknown-pair",
            f"{where} {known.pair}, so nothing that was read serves this sheet",
            hint=f"{near}If it is a new pair, all is well; 'inkaccord shelf retire' undoes it",
        ),
    )
