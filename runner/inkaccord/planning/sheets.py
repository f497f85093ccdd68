"""The sheets that a plan asks for: which swatches stand on them."""

from collections.abc import Sequence

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.matching.match import match
from inkaccord.colour.picks import guides
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.eye_set import COARSE, eye_set, steps_of
from inkaccord.colour.sampling.planning import MOST, scouting_set
from inkaccord.knowledge.aims import artwork_look
from inkaccord.knowledge.elsewhere import ANY_GREY, picked_here, told_elsewhere
from inkaccord.knowledge.pairs import PairKnowledge, paper_readings
from inkaccord.knowledge.values import Evidence, Translation, Translations
from inkaccord.order.model import Order
from inkaccord.planning.paper import Paper
from inkaccord.planning.sample_pages import sample_pages, sample_settings
from inkaccord.planning.where_to_look import for_the_eye
from inkaccord.run.bench import Bench
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import SCOUTING, plan_sheet, scouting_count

PER_AIM = (20, 8)
"""Swatches beside the usual ones for each colour whose aim is known, the first of these that costs
no further page: they lie where its build may turn out to be, and often spare a second round."""


def first_sheet(
    order: Order,
    known: PairKnowledge,
    colours: Sequence[str],
    translations: Translations,
    bench: Bench,
) -> SampleSheet | None:
    """Plan the first sheet for a pair, shared by all of its colours.

    Colours that have to be looked for here have a group of their own on it, and a build that is an
    aim is on the sheet of its own pair.
    """
    drive = known.drive
    looks = (expected_look(order, it, translations, bench) for it in colours)
    aims = [lab for lab in looks if lab is not None]
    found = known.recall(
        scouting_set,
        drive,
        known.policy,
        min(SCOUTING + PER_AIM[0] * len(aims), MOST),
        paper_lab=known.paper,
        focus_lab=aims or None,
        beside=np.array([build.values for build in control_builds(drive)]),
    )
    builds = builds_of(drive, found)
    pages, settings = sample_pages(order, known.pair), sample_settings(order, known)
    usual = scouting_count(pages, settings, builds)
    own = [
        SwatchGroup(colour=colour, builds=(build,))
        for colour in colours
        if (build := order.aim_on(colour, known.pair)) is not None
        and known.policy.allows(build.values, drive)
    ]
    own += [
        SwatchGroup(colour=colour, builds=ladder(order, known, colour, bench), for_eye=True)
        for colour in for_the_eye(order, known.pair, colours, translations, bench)
    ]
    # They come in the order of what they teach, so that the first ones are the usual set.
    sheets = [
        _sheet(order, known, Purpose.SCOUTING, [SwatchGroup(builds=some), *own])
        for some in (builds[: usual + each * len(aims)] for each in PER_AIM)
    ]
    return min((it for it in sheets if it is not None), key=lambda it: it.pages, default=None)


def expected_look(
    order: Order, colour: str, translations: Translations, bench: Bench
) -> np.ndarray | None:
    """Return CIELAB (3,) about which a colour will lie: its aim, or what its build may print."""
    aim = order.colours[colour].aim
    if (lab := translations.aims[colour].lab) is not None:
        return np.array(lab)
    if aim.build is None or aim.on is None:
        return None
    return bench.pair(order.pair(aim.on)).lab_of(aim.build)


def closing_sheet(
    order: Order,
    known: PairKnowledge,
    to_read: Sequence[Translation],
    to_pick: Sequence[tuple[str, tuple[Build, ...]]],
    paper: Paper,
) -> SampleSheet | None:
    """Plan a few swatches round each build that is to be read, and those to be picked from."""
    groups = [
        SwatchGroup(
            colour=translation.colour, builds=builds_of(known.drive, paper.swatches(translation))
        )
        for translation in to_read
    ]
    groups += [
        SwatchGroup(colour=colour, builds=builds, for_eye=True) for colour, builds in to_pick
    ]
    return _sheet(order, known, Purpose.CLOSING_IN, groups) if groups else None


def proof_sheet(
    order: Order, known: PairKnowledge, translations: Translations
) -> SampleSheet | None:
    """Plan one swatch of each build that was found by readings and not yet seen in print."""
    seen = {
        swatch.colour
        for record in known.course.now
        if record.sheet.purpose is Purpose.PROOF
        for swatch in record.sheet.swatches
    }
    builds = known.known_builds()
    groups = [
        SwatchGroup(colour=translation.colour, builds=(translation.build,))
        for translation in translations.known
        if translation.pair == known.pair
        and translation.colour not in seen
        and translation.evidence is Evidence.READ
        and translation.build not in builds
    ]
    return _sheet(order, known, Purpose.PROOF, groups) if groups else None


def controls_sheet(order: Order, known: PairKnowledge) -> SampleSheet | None:
    """Plan the controls alone."""
    return _sheet(order, known, Purpose.CONTROLS, [])


def ladder(order: Order, known: PairKnowledge, colour: str, bench: Bench) -> tuple[Build, ...]:
    """Return builds to pick from by eye, round :func:`middle`.

    They stand as far apart as what is still uncertain asks for. While nothing was picked, those of
    whatever else the pair may be stand among them.
    """
    others: tuple[Predictor, ...] = ()
    picked = picked_here(order, known, colour, bench)
    if picked is not None:
        at, model, steps = picked.build, picked.model, picked.steps
    else:
        at, model, others = guess(order, known, colour, bench), known.model, known.other_models
        told = told_elsewhere(order, known, colour, bench)
        steps = steps_of(told.spread) if guides(told) else (COARSE, COARSE, COARSE)
    rows = known.recall(eye_set, model, at.values, known.policy, steps, others)
    return builds_of(known.drive, rows)


def middle(order: Order, known: PairKnowledge, colour: str, bench: Bench) -> Build:
    """Return the build that swatches for the eye lie round: what was picked, else a guess."""
    picked = picked_here(order, known, colour, bench)
    return guess(order, known, colour, bench) if picked is None else picked.build


def guess(order: Order, known: PairKnowledge, colour: str, bench: Bench) -> Build:
    """Return a build to start from: what was found elsewhere, else what the artwork itself says.

    The artwork's word is taken where two models that nobody has tried would be farther off.
    """
    told, start = told_elsewhere(order, known, colour, bench), artwork_look(order, colour, bench)
    if told is not None and (guides(told) or start is None):
        found = known.recall(match, known.model, told.lab[None], known.policy)
        return builds_of(known.drive, found.builds)[0]
    look = np.array([ANY_GREY])
    if start is not None and start.drive is known.drive:
        if known.policy.allows(start.values, start.drive):
            return start
        look = known.lab_of(start)[None]  # it carries more ink than the pair takes
    elif start is not None:
        unread = known.recall(fit, paper_readings(start.drive, known.paper))
        look = unread.predict_lab(np.array([start.values]))
    found = known.recall(match, known.model, look, known.policy)
    return builds_of(known.drive, found.builds)[0]


def builds_of(drive: Drive, rows: np.ndarray) -> tuple[Build, ...]:
    """Return rows (n, k) as builds."""
    return tuple(Build(drive=drive, values=tuple(row)) for row in np.asarray(rows).tolist())


def _sheet(
    order: Order, known: PairKnowledge, purpose: Purpose, groups: list[SwatchGroup]
) -> SampleSheet | None:
    """Lay out a sheet of what is missing; None when nothing is."""
    scouting = purpose is Purpose.SCOUTING
    return plan_sheet(
        known.pair,
        purpose,
        groups,
        sample_pages(order, known.pair),
        drive=known.drive,
        date=order.date,
        order=order.order,
        known=() if scouting else known.known_builds(),
        settings=sample_settings(order, known),
        ink_limit=known.policy.total_ink_limit if known.drive is Drive.CMYK else None,
        look=known.model,
        berths=[
            group.colour
            for group in groups
            if group.for_eye and group.colour and order.colours[group.colour].aim.on_glass
        ],
    )
