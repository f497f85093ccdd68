"""Sheets that are printed already: what their readings or picks would tell, and who is to look."""

from collections.abc import Iterable, Iterator

import numpy as np

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.planning.unknowns import Unknowns
from inkaccord.run.bench import Bench
from inkaccord.run.plan import NextStep, PlannedSheet, StepKind
from inkaccord.words import joined, quoted

SHOWS_WITHIN = 2.0
"""ΔE00 from an aim within which a swatch that was read can stand in for the thing itself: about a
close match side by side (common practice, no source)."""


def record_steps(
    order: Order, unknowns: Unknowns, translations: Translations, bench: Bench
) -> Iterator[NextStep]:
    """Yield what sheets that are printed already would tell, were they read or picked from."""
    for pair, colours in unknowns.at_hand.items():
        sheet = bench.pair(pair).picked_sheets[-1]
        yield NextStep(
            kind=StepKind.RECORD,
            text=f"Read sheet {sheet} of {pair} with an instrument, or pick the swatches on it "
            f"that match best{_beside(colours, translations, bench)}: {joined(colours)} "
            f"{'is' if len(colours) == 1 else 'are'} not known there yet.",
            command=quoted("inkaccord", "record", sheet, "READINGS-FILE"),
            sheet=sheet,
            pair=pair,
            colours=tuple(colours),
        )
    for colour, sheets in unknowns.picks.items():
        thing, first, *rest = order.colours[colour].aim.by_eye, *sheets
        more = f" (or beside {joined(rest)}; each pick makes it surer)" if rest else ""
        yield NextStep(
            kind=StepKind.RECORD,
            text=f"Lay {thing} beside sheet {first}{more} and pick the swatch that matches "
            f"{colour} best.",
            command=quoted("inkaccord", "look", first),
            sheet=first,
            colours=(colour,),
        )


def still_to_read(
    steps: Iterable[NextStep], knowns: Iterable[PairKnowledge], planned: Iterable[PlannedSheet] = ()
) -> Iterator[PlannedSheet]:
    """Yield the printed sheets whose readings are asked for: their tables are still to be filled.

    They were picked from, so they wait no more, and cost no paper. What is ``planned`` is left out.
    """
    there = {it.sheet.id for it in planned}
    ids = {step.sheet for step in steps if step.kind is StepKind.RECORD}
    ids.update(sheet for step in steps for choice in step.choices for sheet in choice.sheets)
    for known in knowns:
        for sheet in known.sheets:
            if sheet.id in ids - there and sheet.id not in known.read_sheets:
                yield PlannedSheet(
                    sheet=sheet, why="printed already; its readings would tell", printed=True
                )


def _beside(colours: list[str], translations: Translations, bench: Bench) -> str:
    """Say which printed swatches show colours that no thing shows, for whoever has to pick."""
    shown = []
    for colour in colours:
        aim = next((it.aim_lab for it in translations.known if it.colour == colour), None)
        if aim is not None and (swatch := _nearest_read(aim, bench)) is not None:
            shown.append(f"{swatch} for {colour}")
    return f", beside {joined(shown)}" if shown else ""


def _nearest_read(aim: Lab, bench: Bench) -> str | None:
    """Return the swatch nearest to an aim among all that the order's pairs have read."""
    read = [
        (float(delta_e_2000(np.array(reading.lab), np.array(aim))), reading.swatch, kept.sheet.id)
        for pair in bench.order.pairs_needed()
        for kept in bench.pair(pair).kept
        for reading in kept.readings.readings
    ]
    if not read or min(read)[0] > SHOWS_WITHIN:
        return None
    _, swatch, sheet = min(read)
    return f"swatch {swatch} of sheet {sheet}"
