"""The builds of a brand colour's tints on a pair."""

from collections.abc import Iterable, Iterator
from functools import partial

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import Black
from inkaccord.colour.matching.match import match, match_together
from inkaccord.colour.matching.matches import Matches
from inkaccord.colour.tone_value import tint_lab
from inkaccord.knowledge.black import policy_for
from inkaccord.knowledge.sources import Sources
from inkaccord.knowledge.values import Evidence, TintBuild, Translation
from inkaccord.order.model import Order
from inkaccord.order.vendors import Tints
from inkaccord.recall.recall import ask

TINT_STEPS = tuple(float(tint) for tint in range(10, 100, 10))
"""Tints, in percent, that every colour gets a build for; gradients run through them."""


def with_tints(
    order: Order, translations: Iterable[Translation], bench: Sources
) -> Iterator[Translation]:
    """Yield translations with the builds of their tints.

    A tint's aim is the tint of that tone value (ISO 20654) between the pair's own paper and its
    own print of the solid. Without readings, or where the vendor asks for it, it is the scaled
    build. What is its own aim is printed as it is, and gets none.
    """
    found = [(it, _matching(order, it, bench)) for it in translations]
    bench.recall.ahead((call for _, call in found if call is not None), match_together)
    for translation, call in found:
        if order.aim_on(translation.colour, translation.pair) is not None:
            yield translation
            continue
        builds = _scaled(translation.build).round(1)
        if call is not None:
            builds = ask(bench.recall, call).builds
        tints = (
            TintBuild(tint=tint, build=Build(drive=translation.build.drive, values=tuple(row)))
            for tint, row in zip(TINT_STEPS, builds.tolist(), strict=True)
        )
        yield translation.model_copy(update={"tints": tuple(tints)})


def _matching(order: Order, translation: Translation, bench: Sources) -> partial[Matches] | None:
    """Return the match of a colour's tints; None where they are not matched."""
    colour, known = translation.colour, bench.pair(translation.pair)
    matched = order.on(known.pair).vendor.tints is Tints.MATCHED and known.is_read
    if not matched or order.aim_on(colour, known.pair) is not None:
        return None
    solid = np.array(translation.predicted_lab)
    aims = tint_lab(known.model.paper_lab, solid, np.array(TINT_STEPS))
    picked = translation.evidence is Evidence.PICKED
    policy = known.policy if picked else policy_for(order, colour, known, bench)
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "channel_floors": (0.0,) * 4}
    )
    return partial(match, known.model, aims, near, _scaled(translation.build))


def _scaled(build: Build) -> Array:
    """Return the tints of a build in proportion, from bare paper."""
    white = 0.0 if build.drive is Drive.CMYK else 255.0
    return white + np.array(TINT_STEPS)[:, None] / 100.0 * (np.array(build.values) - white)
