"""A brand colour as a build on a pair: from the aim itself, from a pick, or from readings."""

from collections.abc import Iterable, Mapping
from functools import partial

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import as_lab
from inkaccord.colour.matching.match import match, match_together
from inkaccord.colour.matching.matches import Match, Matches
from inkaccord.knowledge.black import black_words, policy_for
from inkaccord.knowledge.elsewhere import picked_here
from inkaccord.knowledge.matched import from_match
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.proofs import AS_GOOD, proof_of, settled, with_build
from inkaccord.knowledge.sources import Sources
from inkaccord.knowledge.values import Evidence, ResolvedAim, Translation, Unknown
from inkaccord.order.model import Order
from inkaccord.recall.recall import ask


def translated(
    order: Order, colour: str, resolved: ResolvedAim, known: PairKnowledge, sources: Sources
) -> Translation | Unknown:
    """Return a colour as a build on a pair, or why it can't be known yet.

    In turn: the build that is the aim itself; what a person picked, where nothing better is known;
    what the readings say, a build that was seen in print before one that was not.
    """
    if (aim := order.aim_on(colour, known.pair)) is not None:
        return _aim_itself(colour, aim, known)
    picked = known.picked(colour) if known.is_read else picked_here(order, known, colour, sources)
    if picked is not None and not picked.outdated and (resolved.lab is None or not known.is_read):
        return _as_picked(colour, picked, resolved, known)
    if resolved.lab is None:
        return Unknown(colour=colour, pair=known.pair, why=resolved.why)
    if not known.is_read:
        why = (
            "it has drifted since its sheets were read"
            if known.waits_for_new_sheet
            else "no sample sheet of this pair has been read"
        )
        return Unknown(colour=colour, pair=known.pair, why=why)
    return _by_readings(order, colour, resolved, picked, known, sources)


def match_ahead(
    order: Order, resolved: Mapping[str, ResolvedAim], colours: Iterable[str], known: PairKnowledge
) -> None:
    """Match colours at once that readings of a pair are going to be asked for."""
    if known.is_read:
        calls = (
            _match(resolved[colour], known, known.policy)
            for colour in colours
            if resolved[colour].lab is not None and order.aim_on(colour, known.pair) is None
        )
        known.recall.ahead(calls, match_together)


def held_against_one_thing(known: list[Translation]) -> list[Translation]:
    """Return the translations with one look for a colour that was picked on unread pairs alone.

    What such pairs print nobody knows; but all that was picked was held against the same thing, so
    it differs by what the eye errs, and not by what a general model makes of the builds.
    """
    looks: dict[str, Translation] = {}
    for translation in known:
        if translation.evidence is Evidence.PICKED and translation.aim_lab is None:
            first = looks.get(translation.colour)
            if first is None or translation.uncertainty < first.uncertainty:
                looks[translation.colour] = translation
    return [
        translation.model_copy(update={"predicted_lab": looks[translation.colour].predicted_lab})
        if translation.evidence is Evidence.PICKED and translation.aim_lab is None
        else translation
        for translation in known
    ]


def _aim_itself(colour: str, build: Build, known: PairKnowledge) -> Translation:
    """Translate a colour on the pair that its aim is defined on: the build is the aim."""
    lab = as_lab(known.lab_of(build))
    return Translation(
        colour=colour,
        **known.pair.parts,
        build=build,
        evidence=Evidence.READ if known.is_read else Evidence.ESTIMATED,
        aim_lab=lab if known.is_read else None,
        predicted_lab=lab,
        delta_e_00=0.0 if known.is_read else None,
        uncertainty=round(known.bound_of(build), 3),
        sheets=known.read_sheets,
        known_since=known.last_read,
        note="the aim is this build on this pair",
    )


def _as_picked(
    colour: str, picked: Picked, resolved: ResolvedAim, known: PairKnowledge
) -> Translation:
    return Translation(
        colour=colour,
        **known.pair.parts,
        build=picked.build,
        evidence=Evidence.PICKED,
        aim_lab=resolved.lab,
        # Whoever picked says that it matches; only a reading of this pair knows better.
        predicted_lab=picked.lab if known.is_read or resolved.lab is None else resolved.lab,
        delta_e_00=None,
        uncertainty=round(picked.bound, 3),
        aim_uncertainty=round(resolved.bound, 3),
        aim_by_eye=resolved.by_eye,
        sheets=picked.sheets,
        known_since=picked.since,
        note="picked by eye",
    )


def _by_readings(
    order: Order,
    colour: str,
    resolved: ResolvedAim,
    picked: Picked | None,
    known: PairKnowledge,
    sources: Sources,
) -> Translation:
    policy = policy_for(order, colour, known, sources)
    plain = best = ask(known.recall, _match(resolved, known, known.policy))[0]
    if policy != known.policy:
        best = ask(known.recall, _match(resolved, known, policy))[0]
    proof = proof_of(known, colour, order.order)
    if proof is not None and not _allows(policy, proof.build):
        proof = None
    found, proved = settled(best, proof, known)
    if not proved:
        found, proved = _as_seen(colour, found, resolved, picked, known, policy)
    translation = from_match(colour, resolved, known, found)
    black = black_words(order.colours[colour].black, known, policy, best, plain)
    anchored = "re-anchored by the controls" if known.drift else ""
    notes = "; ".join(text for text in (translation.note, black, proved, anchored) if text)
    return translation.model_copy(update={"note": notes})


def _match(resolved: ResolvedAim, known: PairKnowledge, policy: InkPolicy) -> partial[Matches]:
    return partial(match, known.model, np.array([resolved.lab]), policy)


def _as_seen(
    colour: str,
    found: Match,
    resolved: ResolvedAim,
    picked: Picked | None,
    known: PairKnowledge,
    policy: InkPolicy,
) -> tuple[Match, str]:
    """Return a match with a build that was seen in print, where one is as near to the aim.

    The one that a person picked comes first; then those that were read on swatches for the colour.
    A build that nobody has seen is no better for its last digit, and less sure.
    """
    read = set(known.known_builds())
    seen: list[tuple[Build, str]] = []
    if picked is not None and resolved.by_eye and not picked.outdated:
        seen.append((picked.build, "the build that was picked"))
    seen += [
        (swatch.build, "a build that was read")
        for record in reversed(known.course.now)
        for swatch in record.sheet.swatches
        if swatch.colour == colour and swatch.build in read
    ]
    usable = [it for it in seen if _allows(policy, it[0])]
    if not usable:
        return found, ""
    labs = known.model.predict_lab(np.array([build.values for build, _ in usable]))
    apart = delta_e_2000(labs, np.array(resolved.lab))
    good = np.flatnonzero(apart <= found.delta_e_00 + AS_GOOD)
    if not good.size:
        return found, ""
    best = 0 if 0 in good and usable[0][1].endswith("picked") else int(good[apart[good].argmin()])
    build, words = usable[best]
    return with_build(found, build, known), words


def _allows(policy: InkPolicy, build: Build) -> bool:
    return bool(policy.allows(build.values, build.drive))
