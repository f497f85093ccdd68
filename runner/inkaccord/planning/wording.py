"""How plans speak: what to print, what it costs, what it may tell."""

from collections.abc import Sequence

from inkaccord.order.model import Order
from inkaccord.planning.doubts import Doubt
from inkaccord.planning.sample_pages import is_laid
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.savings import cost_of
from inkaccord.words import counted


def thing(order: Order, colour: str) -> str:
    """Name what a colour is held against: ``the roof (slate)``; its own name where no thing is."""
    words = order.colours[colour].aim.by_eye
    return colour if words is None else f"{words} ({colour})"


def price(order: Order, sheet: SampleSheet) -> str:
    """Say what a sheet costs: pages, swatches, printed area, days; and how little paper does."""
    cost = cost_of([sheet])
    days = order.on(sheet.pair).vendor.lead_days
    parts = [counted(cost.pages, "page"), counted(cost.swatches, "swatch")]
    parts.append(f"{cost.area_cm2:.0f} cm² printed")
    if days:
        parts.append(counted(days, "working day"))
    if is_laid(order, sheet):
        parts.append(f"a cut of {sheet.size} does where the device takes one")
    return ", ".join(parts)


def to_tell(doubts: Sequence[Doubt]) -> str:
    """Say what readings may settle: 'whether butter agrees on card and tag (2.4 ±2.1 of 2.5)'."""
    first = max(doubts, key=lambda doubt: doubt.distance.uncertainty)
    where = (
        f"on {first.between()}"
        if first.distance.other
        else f"with its aim on {first.distance.piece}"
    )
    more = f", and {len(doubts) - 1} more" if len(doubts) > 1 else ""
    return f"to tell whether {first.distance.colour} agrees {where} ({numbers(first)}){more}"


def numbers(doubt: Doubt) -> str:
    """Return a distance, its bound and its limit."""
    distance = doubt.distance
    return (
        f"{distance.delta_e_00:.1f} ±{distance.uncertainty:.1f} ΔE00, limit {distance.tolerance:g}"
    )
