"""Colours that can't be translated yet: first contact, a sheet to read, a swatch to pick."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order
from inkaccord.planning.where_to_look import by_eye_alone, by_what_they_tell, lacking, looked_for_on
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected, colours_on_pairs


@dataclass
class Unknowns:
    """What is missing altogether, sorted by what would tell it.

    Attributes
    ----------
    first
        Pairs that have never been read, or not since they drifted, with the colours missing there.
    at_hand
        Pairs with a printed sheet that was only picked from, with the colours missing there that
        a reading of it would tell.
    picks
        Colours that only the eye can judge, with printed sheets that have swatches for them.
    ladders
        The same without such a sheet: the pairs whose next sheet gets swatches to pick from.
    """

    first: dict[Pair, list[str]] = field(default_factory=dict)
    at_hand: dict[Pair, list[str]] = field(default_factory=dict)
    picks: dict[str, list[str]] = field(default_factory=dict)
    ladders: list[tuple[Pair, str]] = field(default_factory=list)


def unknowns_of(order: Order, translations: Translations, bench: Bench) -> Unknowns:
    """Sort what is missing by what would tell it."""
    found = Unknowns()
    blind: dict[str, list[Pair]] = {}
    for pair, colours in missing_by_pair(order, translations, bench).items():
        known = bench.pair(pair)
        by_eye = by_eye_alone(order, colours, translations)
        if not known.is_read and (known.waits_for_new_sheet or not known.picks):
            found.first[pair] = colours
            continue
        for colour in by_eye:
            blind.setdefault(colour, []).append(pair)
        to_read = [it for it in colours if it not in by_eye and not known.is_read]
        if to_read:
            found.at_hand[pair] = to_read
    for colour, pairs in blind.items():
        in_turn = [bench.pair(pair) for pair in by_what_they_tell(order, colour, pairs, bench)]
        if sheets := [sheet for known in in_turn for sheet in _offering(known, colour)]:
            found.picks[colour] = sheets
        else:
            on = looked_for_on(order, colour, lacking(colour, translations), bench)
            found.ladders += [(known.pair, colour) for known in in_turn if known.pair in on]
    return found


def missing_by_pair(
    order: Order, translations: Translations, bench: Bench
) -> dict[Pair, list[str]]:
    """Return the colours that can't be translated yet, pair by pair.

    An aim that is a build on a pair is known to no other pair until that one is read.
    """
    missing: dict[Pair, list[str]] = {}
    for pair in order.pairs_needed():
        colours = [it.colour for it in translations.unknown if it.pair == pair]
        if not bench.pair(pair).is_read:
            colours += [it for it in aims_on(order, pair) if it not in colours]
        if colours:
            missing[pair] = colours
    return missing


def colours_wanted(order: Order, collected: Collected, pair: Pair) -> tuple[str, ...]:
    """Return the colours that a pair prints, or that other pairs take from it."""
    return colours_on_pairs(order, collected).get(pair) or aims_on(order, pair)


def aims_on(order: Order, pair: Pair) -> tuple[str, ...]:
    """Return the colours whose aim is a build on a pair."""
    return tuple(
        name
        for name, brand in order.colours.items()
        if brand.aim.on is not None and order.pair(brand.aim.on) == pair
    )


def _offering(known: PairKnowledge, colour: str) -> Iterator[str]:
    """Yield the printed sheets of a pair that have swatches to pick a colour from."""
    printed = {*known.read_sheets, *known.picked_sheets}
    for sheet in known.sheets:
        if sheet.id in printed and any(swatch.colour == colour for swatch in sheet.swatches):
            yield sheet.id
