"""On which pairs a thing is looked for: first where a look tells most.

On a pair that is read, a look tells the thing's CIELAB, and so the build on every pair that is
read: one such pair and one new one are enough. A pair that nobody reads has to be looked at itself.
"""

from collections.abc import Iterable

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.run.bench import Bench
from inkaccord.sheets.model import Purpose
from inkaccord.words import joined


def for_the_eye(
    order: Order, pair: Pair, colours: Iterable[str], translations: Translations, bench: Bench
) -> tuple[str, ...]:
    """Return the colours that a new pair's first sheet has swatches of, to hold things against.

    Who reads sheets has none where other pairs tell, or have told, what the thing is.
    """
    by_eye = [it for it in colours if order.colours[it].aim.by_eye is not None]
    if not by_eye or not _reads_sheets(order, bench):
        return tuple(by_eye)
    return tuple(
        colour
        for colour in by_eye_alone(order, by_eye, translations)
        if pair in looked_for_on(order, lacking(colour, translations), bench)
    )


def looked_for_on(order: Order, pairs: Iterable[Pair], bench: Bench) -> list[Pair]:
    """Return those of the pairs that lack a colour on which it is looked for, in turn.

    Where some are read, one of them and one other: the first sheets of three tell hardly more.
    """
    in_turn = by_what_they_tell(order, pairs, bench)
    read = [pair for pair in in_turn if bench.pair(pair).is_read]
    return [*read[:1], *in_turn[len(read) :][:1]] if read else in_turn


def by_eye_alone(
    order: Order, colours: Iterable[str], translations: Translations
) -> tuple[str, ...]:
    """Return the colours that only the eye can judge, and that nobody has picked."""
    return tuple(
        colour
        for colour in colours
        if translations.aims[colour].lab is None and order.colours[colour].aim.by_eye is not None
    )


def by_what_they_tell(order: Order, pairs: Iterable[Pair], bench: Bench) -> list[Pair]:
    """Return pairs in the order in which a thing is looked for on them.

    Those that are read come first, then those with the least trouble of a sheet: the vendor's
    days, then their place in the file.
    """
    places = order.pairs_needed()
    return sorted(
        pairs,
        key=lambda pair: (
            not bench.pair(pair).is_read,
            order.on(pair).vendor.lead_days,
            places.index(pair),
        ),
    )


def told_of_others(
    order: Order, colours: Iterable[str], translations: Translations, bench: Bench
) -> str:
    """Say why a new pair has no swatches for colours that the eye judges; empty for none."""
    known, first = [], []
    for colour in colours:
        aim, on = translations.aims[colour], lacking(colour, translations)
        if aim.lab is not None:
            known.append(f"{colour} (to {aim.bound:.1f} ΔE00)")
        elif any(bench.pair(pair).is_read for pair in on):
            where = joined([str(pair) for pair in looked_for_on(order, on, bench)])
            first.append(f"{colour} on {where}")
    parts = []
    if known:
        parts.append(f"no look is needed at {joined(known)}, known from other pairs")
    if first:
        parts.append(f"look for {joined(first)}: that tells it for every pair that is read")
    return "; ".join(parts)


def lacking(colour: str, translations: Translations) -> list[Pair]:
    """Return the pairs on which a colour is not known yet."""
    return [missing.pair for missing in translations.unknown if missing.colour == colour]


def _reads_sheets(order: Order, bench: Bench) -> bool:
    """Tell whether sheets of the order's pairs were ever read: readings of others are no sign."""
    return any(
        record.sheet.purpose is not Purpose.IMPORTED
        for pair in order.pairs_needed()
        for record in bench.pair(pair).kept
    )
