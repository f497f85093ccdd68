"""Stage 2: every brand colour as a build on every pair that carries it."""

from collections.abc import Sequence

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.hooks import hookimpl
from inkaccord.knowledge.aims import resolve_aim
from inkaccord.knowledge.alike import weigh
from inkaccord.knowledge.drift import drift_findings, steadiness, wider_findings
from inkaccord.knowledge.tints import with_tints
from inkaccord.knowledge.translating import held_against_one_thing, match_ahead, translated
from inkaccord.knowledge.values import (
    Steadiness,
    Trade,
    Translation,
    Translations,
    Unknown,
)
from inkaccord.order.colours import Prefer
from inkaccord.order.model import Order
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected, colours_on_pairs
from inkaccord.words import joined


@hookimpl
def inkaccord_translate(order: Order, collected: Collected, bench: Bench) -> Translations:
    """Find the builds, pair by pair."""
    aims = {colour: resolve_aim(order, colour, bench) for colour in order.colours}
    known: list[Translation] = []
    unknown: list[Unknown] = []
    findings: list[Diagnostic] = []
    needed = colours_on_pairs(order, collected)
    for pair, colours in needed.items():
        bench.progress(f"matching colours on {pair}")
        match_ahead(order, aims, colours, bench.pair(pair))
        for colour in colours:
            came_out = translated(order, colour, aims[colour], bench.pair(pair), bench)
            if isinstance(came_out, Unknown):
                unknown.append(came_out)
            else:
                known.append(came_out)
        findings += bench.pair(pair).reading_findings()
        findings += wider_findings(bench.pair(pair), (it for it in known if it.pair == pair))
        for colour in colours:
            picked = bench.pair(pair).picked(colour)
            findings += picked.findings if picked is not None else ()
    known = held_against_one_thing(known)
    for aim in aims.values():
        findings += aim.findings
    seen: list[Steadiness] = []
    for pair in order.pairs_needed():
        findings += drift_findings(order, bench.pair(pair), bench)
        if (steady := steadiness(order, bench.pair(pair))) is not None:
            seen.append(steady)
    trades: list[Trade] = []
    for colour in order.colours:
        carrying = _carrying(order, collected, known, colour)
        if any(not it.reachable for it in carrying.values()):
            bench.progress(f"weighing {colour} alike against true")
            found, points = weigh(order, colour, aims[colour], carrying, bench)
            trades += points
            known = [found.get((it.colour, it.pair), it) for it in known]
    for translation in known:
        accepted = _accepted(order, collected, translation)
        findings += _remarks(translation, bench, order.prefers(translation.colour), accepted)
    return Translations(
        known=tuple(with_tints(order, known, bench)),
        aims=aims,
        trades=tuple(trades),
        unknown=tuple(unknown),
        steadiness=tuple(seen),
        findings=tuple(findings),
    )


def _carrying(
    order: Order, collected: Collected, known: list[Translation], colour: str
) -> dict[str, Translation]:
    """Return the pieces that carry a colour, with their translations by readings."""
    by_pair = {it.pair: it for it in known if it.colour == colour}
    return {
        name: by_pair[job.pair]
        for name, job in order.jobs.items()
        if colour in collected.of(name).brand_colours and job.pair in by_pair
    }


def _accepted(order: Order, collected: Collected, translation: Translation) -> list[str]:
    """Return the pieces that carry a colour on a pair, if the order accepts it on all of them."""
    carrying = [
        name
        for name, job in order.jobs.items()
        if job.pair == translation.pair and translation.colour in collected.of(name).brand_colours
    ]
    return carrying if all(order.accepts(translation.colour, it) for it in carrying) else []


def _remarks(
    translation: Translation, bench: Bench, prefer: Prefer, accepted: Sequence[str]
) -> list[Diagnostic]:
    if translation.reachable:
        return []
    way, other = "accept it on its pieces ('accept')", "choose another stock"
    if accepted:
        hint = f"it is accepted on {joined(accepted)}"
    elif prefer is Prefer.ALIKE:
        hint = f"{way}, or {other}"
    else:
        hint = f"{way}, {other}, or let the pieces stay alike with 'prefer: alike'"
    return [
        warning(
            "out-of-reach",
            f"{translation.colour} is {translation.reach} on {translation.pair}: the nearest is "
            f"predicted {translation.delta_e_00:.1f} ΔE00 from the aim "
            f"({translation.lost}), sure to ±{translation.uncertainty:.1f}",
            place=bench.place("colours", translation.colour),
            hint=hint,
        )
    ]
