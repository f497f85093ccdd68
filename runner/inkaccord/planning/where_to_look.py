"""On which pairs a thing is looked for: first where a look tells most.

On a pair that is read, a look tells the thing's CIELAB, and so the build on every pair that is
read: one such pair and one new one are enough. It tells little where the pair can't print what the
thing may be, as kraft can't print what is light. A pair that nobody reads has to be looked at
itself.
"""

from collections.abc import Iterable
from math import inf

from inkaccord.colour.looks import SUREST
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.elsewhere import misses, thought_of
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
        if pair in looked_for_on(order, colour, lacking(colour, translations), bench)
    )


def looked_for_on(order: Order, colour: str, pairs: Iterable[Pair], bench: Bench) -> list[Pair]:
    """Return those of the pairs that lack a colour on which it is looked for, in turn.

    Where some are read, the best of them and the best other: the first sheets of three tell hardly
    more. Two others where all that is read misses the thing by more than a guess of theirs.
    """
    in_turn = by_what_they_tell(order, colour, pairs, bench)
    read = [pair for pair in in_turn if bench.pair(pair).is_read]
    new = [pair for pair in in_turn if pair not in read]
    if not read:
        return new
    return [*read[:1], *new[:1]] if in_turn[0] in read else new[:2]


def by_eye_alone(
    order: Order, colours: Iterable[str], translations: Translations
) -> tuple[str, ...]:
    """Return the colours that only the eye can judge, and that nobody has picked."""
    return tuple(
        colour
        for colour in colours
        if translations.aims[colour].lab is None and order.colours[colour].aim.by_eye is not None
    )


def by_what_they_tell(order: Order, colour: str, pairs: Iterable[Pair], bench: Bench) -> list[Pair]:
    """Return pairs in the order in which a thing is looked for on them.

    First those on which a look misses it by least. Of those that differ by less than a sure eye
    errs, the read ones come first, then those with the least trouble of a sheet: the vendor's days,
    then their place in the file.
    """
    places, thought = order.pairs_needed(), thought_of(order, colour, bench)
    off = {pair: misses(bench.pair(pair), thought) for pair in pairs}
    alike, least = {}, -inf
    for pair in sorted(off, key=lambda it: (off[it], places.index(it))):
        if off[pair] > least + SUREST:
            least = off[pair]
        alike[pair] = least
    return sorted(
        off,
        key=lambda pair: (
            alike[pair],
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
            where = joined([str(pair) for pair in looked_for_on(order, colour, on, bench)])
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
